"""Noticing: the chance that a player notices a difference of the surface.

A normal psychometric curve of the size of the difference: chance = Phi((|d| - threshold) /
spread). Nothing here says what he would say of it or whether it costs him a putt.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.evidence import log_sd, value
from greenwright.stats.central_area import area_below

Floats = NDArray[np.float64]

NOTICED: dict[str, str] = {
    "green_speed": "speed",
    "smoothness": "smoothness",
    "trueness_score": "trueness",
}
"""Quantities with a noticing curve, and the word their evidence keys use."""


@dataclass(frozen=True, slots=True)
class WorstPair:
    """The two consecutive greens most likely to feel different: places in playing order."""

    first: int
    second: int
    chance: Estimate


def notice_keys(quantity: str) -> tuple[str, str]:
    """Return the evidence keys of threshold and spread of a quantity's curve.

    Raises:
        BadInput: a quantity without a curve.

    >>> notice_keys("green_speed")
    ('notice.speed_threshold', 'notice.speed_spread')
    """
    try:
        word = NOTICED[quantity]
    except KeyError:
        raise BadInput(
            f"nobody has said how much {quantity!r} a player notices",
            where="notice",
            expected=" | ".join(NOTICED),
        ) from None
    return f"notice.{word}_threshold", f"notice.{word}_spread"


def notice_chance(difference: ArrayLike, quantity: str) -> Floats | float:
    """Return the chance that a player notices a known difference, either way.

    Args:
        difference: [m] for green_speed, points of score for the others; any shape and sign.
        quantity: green_speed | smoothness | trueness_score.

    Raises:
        BadInput: a quantity without a curve, or a difference that is not a number.

    Valid for: differences met within a round or from one day to the next; elicited.

    Source keys: notice.*_threshold, notice.*_spread.

    >>> notice_chance(0.1778, "green_speed")
    0.5
    """
    threshold, spread = (value(key) for key in notice_keys(quantity))
    chance = _curve(_sizes(difference), threshold, spread)
    return float(chance) if chance.ndim == 0 else chance


def notice_belief(draws: ArrayLike, quantity: str, *, seed: int) -> Estimate:
    """Return the chance of noticing, averaged over belief and over the elicited curve.

    The value is the mean chance; low and high are the 5 % and 95 % of the chance as the
    difference and the curve vary.

    Args:
        draws: equally likely differences (n,), n >= 2 [unit of the quantity].
        quantity: green_speed | smoothness | trueness_score.
        seed: of the draws of threshold and spread.

    Raises:
        BadInput: fewer than two draws, or one that is not a number.
    """
    sizes = _sizes(draws)
    if sizes.ndim != 1 or len(sizes) < 2:
        raise BadInput("a belief about a difference needs draws (n,), at least two of them")
    threshold, spread = _curves(quantity, len(sizes), seed)
    return _as_chance(_curve(sizes, threshold, spread))


def pair_notice(levels: ArrayLike, quantity: str, *, seed: int) -> Estimate:
    """Return the chance to notice between a green and the next, mean over consecutive greens.

    Args:
        levels: draws of the levels in playing order (n, G), n and G >= 2 [unit].

    Raises:
        BadInput: another shape, or numbers missing.
    """
    return _as_chance(_steps(levels, quantity, seed).mean(axis=1))


def worst_pair(levels: ArrayLike, quantity: str, *, seed: int) -> WorstPair:
    """Return the consecutive greens between which noticing is most likely.

    Args:
        levels: draws of the levels in playing order (n, G), n and G >= 2 [unit].
    """
    chances = _steps(levels, quantity, seed)
    first = int(chances.mean(axis=0).argmax())
    return WorstPair(first, first + 1, _as_chance(chances[:, first]))


def any_two_notice(levels: ArrayLike, quantity: str, *, seed: int) -> Estimate:
    """Return the chance to notice between two greens picked at random: consistency, felt.

    Args:
        levels: draws of the levels (n, G), n and G >= 2 [unit].
    """
    held = _levels(levels)
    one, other = np.triu_indices(held.shape[1], 1)
    chances = _chances(held[:, one] - held[:, other], quantity, seed)
    return _as_chance(chances.mean(axis=1))


def _steps(levels: ArrayLike, quantity: str, seed: int) -> Floats:
    return _chances(np.diff(_levels(levels), axis=1), quantity, seed)


def _chances(differences: Floats, quantity: str, seed: int) -> Floats:
    threshold, spread = _curves(quantity, len(differences), seed)
    return _curve(np.abs(differences), threshold[:, None], spread[:, None])


def _curve(sizes: Floats, threshold: ArrayLike, spread: ArrayLike) -> Floats:
    return area_below((sizes - np.asarray(threshold)) / np.asarray(spread))


def _curves(quantity: str, n: int, seed: int) -> tuple[Floats, Floats]:
    """Return draws of threshold and spread: log-normals of the entries' mean and sd."""
    rng = np.random.default_rng(seed)
    threshold, spread = notice_keys(quantity)
    return _positive_draws(threshold, n, rng), _positive_draws(spread, n, rng)


def _positive_draws(key: str, n: int, rng: np.random.Generator) -> Floats:
    spread = log_sd(key)
    return value(key) * np.exp(spread * rng.standard_normal(n) - spread**2 / 2)


def _sizes(difference: ArrayLike) -> Floats:
    sizes = np.abs(np.asarray(difference, dtype=float))
    if np.isnan(sizes).any():
        raise BadInput("a difference to notice must be a number", where="notice")
    return sizes


def _levels(levels: ArrayLike) -> Floats:
    held = np.asarray(levels, dtype=float)
    if held.ndim != 2 or min(held.shape) < 2 or not np.isfinite(held).all():
        raise BadInput(
            "consistency needs draws of the levels of at least two greens",
            where="notice",
            expected="finite numbers of shape (draws, greens in playing order)",
        )
    return held


def _as_chance(chances: Floats) -> Estimate:
    return draws_estimate(chances.tolist(), "1")
