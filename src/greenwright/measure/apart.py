"""Greens that stand apart from the mean of the others."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from greenwright.measure.belief import Belief, Floats
from greenwright.measure.surface import OddGreen
from greenwright.stats import chance_within

_SURE = 0.95


def odd_greens(
    today: Belief,
    greens: Sequence[str],
    in_play: Sequence[bool],
    *,
    counts: Sequence[int],
    needed: float,
) -> tuple[OddGreen, ...]:
    """Return the greens in play that surely differ noticeably from the mean of the others.

    Args:
        today: belief about the greens.
        greens, in_play: keys, and whether each is in play; fewer than three tell no odd one.
        counts: readings of each.
        needed: difference worth noticing, on the belief's own scale.
    """
    playing = np.flatnonzero(in_play)
    if len(playing) < 3:
        return ()
    found = []
    for i in playing:
        own, others = np.zeros(len(today.mean)), np.zeros(len(today.mean))
        own[i], others[playing] = 1.0, 1.0 / (len(playing) - 1)
        others[i] = 0.0
        chance = _chance_apart(today, own - others, needed)
        if chance >= _SURE:
            difference = today.difference(own, others, n=counts[i], basis="readings")
            found.append(OddGreen(greens[i], difference, chance))
    return tuple(found)


def _chance_apart(today: Belief, contrast: Floats, needed: float) -> float:
    """Return the larger chance of lying above +needed or below -needed, on the own scale."""
    middle = np.array([float(contrast @ today.mean)])
    sd = np.sqrt(np.clip([float(contrast @ today.cov @ contrast)], 1e-18, None))
    everywhere = (-1e6, 1e6)
    above = chance_within(middle, sd, band=(needed, 1e6), window=everywhere)
    below = chance_within(middle, sd, band=(-1e6, -needed), window=everywhere)
    return float(max(above[0], below[0]))
