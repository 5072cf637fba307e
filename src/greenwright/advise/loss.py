"""The loss that a plan is judged by, exactly as the design fixes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.advise.ahead import DayAhead
from greenwright.advise.labour import PER_GREENS
from greenwright.advise.targets import Band
from greenwright.base.evidence import value
from greenwright.golfers import COMPLAINT_KEYS, complaint_rate

Floats = NDArray[np.float64]

SCORED = "smoothness"
"""The quantity whose level stands for the eye's roll score in the rate of complaints."""

LOSS_KEYS = (
    "loss.cap",
    "loss.roll_pass",
    "loss.extra_cut",
    "loss.crew_hours_per_18",
    "loss.labour_weight",
    "loss.complaint_weight",
    *COMPLAINT_KEYS,
)


@dataclass(frozen=True, slots=True)
class Wear:
    """The linear part of the loss for work on n of N greens in play.

    Args:
        per_pass, per_cut: loss of one rolling pass, of one cut beyond the first, on one green.
        per_cost: loss of one unit of currency.
    """

    per_pass: float
    per_cut: float
    per_cost: float


def wear(n_greens: int, cost_per_h: float) -> Wear:
    """Return the prices of work: wear pro rata by greens, cost over its yardstick.

    Args:
        n_greens: greens in play.
        cost_per_h: mean wage, whose crew hours are the yardstick [currency/h].
    """
    yardstick = value("loss.crew_hours_per_18") * n_greens / PER_GREENS * cost_per_h
    price = value("loss.labour_weight") / yardstick if yardstick > 0 else 0.0
    return Wear(value("loss.roll_pass") / n_greens, value("loss.extra_cut") / n_greens, price)


def band_loss(level: Floats, low: Floats, high: Floats, half: Floats) -> Floats:
    """Return ((distance to the band) / (half width))^2, capped; 0 inside. All broadcast.

    >>> band_loss(np.array(2.6), np.array(2.75), np.array(3.05), np.array(0.15)).round(6)
    np.float64(1.0)
    """
    outside = np.maximum(np.maximum(low - level, level - high), 0.0)
    return np.minimum((outside / half) ** 2, value("loss.cap"))


def surface_loss(
    levels: Mapping[str, Floats], bands: Mapping[str, Band], days: tuple[DayAhead, ...]
) -> Floats:
    """Return the expected loss of the surface by day: bands, and complaints at their weight.

    Args:
        levels: quantity -> (draws, greens, days) [unit].
        bands: quantity -> (greens, days).
        days: the days ahead.

    Returns:
        (days,)
    """
    weight = np.array([d.weight for d in days])
    total = np.zeros(len(days))
    for quantity, level in levels.items():
        b = bands[quantity]
        expected = band_loss(level, b.low, b.high, b.half).mean(axis=0)
        total += weight * (b.weight * expected).mean(axis=0)
    return total + value("loss.complaint_weight") * complaints(levels, days)


def complaints(levels: Mapping[str, Floats], days: tuple[DayAhead, ...]) -> Floats:
    """Return the complaints to expect by day (days,); none where smoothness was never read."""
    rounds = np.array([d.rounds for d in days])
    if SCORED not in levels:
        return np.zeros(len(days))
    return rounds * np.asarray(complaint_rate(levels[SCORED])).mean(axis=(0, 1))


def in_band(levels: Mapping[str, Floats], bands: Mapping[str, Band]) -> Floats:
    """Return the expected share of greens in band by day, mean over quantities (days,).

    Only greens and days with a target count; a day without any gives nan.
    """
    shares = []
    for quantity, level in levels.items():
        b = bands[quantity]
        inside = ((level >= b.low) & (level <= b.high)).mean(axis=0)
        counted = b.weight > 0
        with np.errstate(invalid="ignore", divide="ignore"):
            shares.append((inside * counted).sum(axis=0) / counted.sum(axis=0))
    if not shares:
        return np.array([])
    held = np.stack(shares)
    known = np.isfinite(held)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(known, held, 0.0).sum(axis=0) / known.sum(axis=0)
