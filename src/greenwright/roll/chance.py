"""Chance by counting: the same number for the same (seed, ball, draw), in whatever order.

A draw is a 32-bit mixing of its coordinates, so that balls may be rolled in any order, on any
number of threads, and roll the same. The lanes do the same sums in machine code.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Uints = NDArray[np.uint32]
Floats = NDArray[np.float64]

STREAM = {"heading": 1, "angle": 2, "distance": 3, "resistance": 4, "rim": 5}
"""Purpose of a draw -> number of its stream."""

WORDS = 2.0**32
"""How many 32-bit words there are."""

LAST = 0xFFFFFFFF
"""Number of the heading's draw that turns a ball as it comes to rest."""

BYTES_SD = float(np.sqrt(4 * (256**2 - 1) / 12))
"""Sd of the sum of four independent bytes."""


def mixed(words: ArrayLike) -> Uints:
    """Return 32-bit words with every bit stirred into every other (two rounds of multiply)."""
    x = np.asarray(words, dtype=np.uint32)
    x = x ^ (x >> np.uint32(16))
    x = x * np.uint32(0x7FEB352D)
    x = x ^ (x >> np.uint32(15))
    x = x * np.uint32(0x846CA68B)
    return x ^ (x >> np.uint32(16))


def keys(seed: int, balls: ArrayLike, stream: str) -> tuple[Uints, Uints]:
    """Return the two words from which a ball's draws of one stream are counted.

    Args:
        seed: any whole number.
        balls: (n,) number of each ball, 0 and up.
        stream: a key of STREAM.
    """
    mark = salt(seed, stream)
    first = mixed(mixed(np.atleast_1d(np.asarray(balls, dtype=np.uint32)) ^ mark) + mark)
    return first, mixed(first ^ np.uint32(0x68E31DA4)) | np.uint32(1)


def salt(seed: int, stream: str) -> np.uint32:
    """Return the word that tells a seed's stream from every other."""
    low, high = (int(w) for w in mixed([seed & 0xFFFFFFFF, (seed >> 32) & 0xFFFFFFFF]))
    return np.uint32((low + 2 * high + 0x9E3779B9 * STREAM[stream]) & 0xFFFFFFFF)


def nearly_normal(first: Uints, second: Uints, draw: ArrayLike) -> Floats:
    """Return draws of mean 0 and sd 1: four bytes added, normal enough to be summed up.

    Args:
        first, second: from `keys`.
        draw: which draw of the stream, 0 and up.
    """
    bits = mixed(np.asarray(draw, dtype=np.uint32) * second + first)
    pairs = (bits & np.uint32(0x00FF00FF)) + ((bits >> np.uint32(8)) & np.uint32(0x00FF00FF))
    total = (pairs & np.uint32(0xFFFF)) + (pairs >> np.uint32(16))
    return (total.astype(float) - 510.0) / BYTES_SD


def normal(seed: int, balls: ArrayLike, stream: str) -> Floats:
    """Return one normal draw for each ball."""
    first, second = keys(seed, balls, stream)
    radius = np.sqrt(-2 * np.log((first.astype(float) + 0.5) / WORDS))
    return radius * np.cos(2 * np.pi * second.astype(float) / WORDS)
