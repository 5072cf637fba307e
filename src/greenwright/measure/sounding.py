"""One reading (or set) on the scale of its family, and how it was seen."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date as Date

COUNTS: tuple[str, ...] = ("hops", "drifts", "clean_rolls")
"""Kinds that count rolls out of n."""

DEVIATIONS: tuple[str, ...] = ("profile_vertical",)
"""Kinds that an instrument reads in its own measure; their log goes with the score."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounding:
    """One reading (or set) on the scale of a family.

    Args:
        value, variance: on the family's scale (natural log where it is log).
        observer: who is calibrated, or "".
        shift: name of another scale it was read on, or ""; shift_sd its prior sd.
        spot: place within the green that is read again and again, or "".
        rows: readings behind it.
        kind: of the readings.
        passing: part of the variance beside what the ends or the count say.
        low, high: ends of the interval it was rounded from or piled up in; infinite = none.
        hits, tries: clean rolls out of all; tries 0 = no count.
        centre, per: score at which half are clean, and points per unit of log odds.
        noise: share of the scores' own noise in it; 0 = none, its noise is all in passing.
    """

    date: Date
    green: str
    value: float
    variance: float
    observer: str
    shift: str = ""
    shift_sd: float = 0.0
    spot: str = ""
    rows: int = 1
    kind: str = ""
    passing: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    hits: float = 0.0
    tries: float = 0.0
    centre: float = 0.0
    per: float = 1.0
    noise: float = 1.0

    @property
    def sited(self) -> bool:
        """Return whether it is an interval or a count, no plain number."""
        return self.tries > 0 or math.isfinite(self.low) or math.isfinite(self.high)

    @property
    def rater(self) -> tuple[str, str] | None:
        """Return who is calibrated and as what; None where the instrument's link does it.

        Whoever scores leniently need not count leniently: the two are kept apart.
        """
        if self.kind in DEVIATIONS:
            return None
        return self.observer, "counts" if self.kind in COUNTS else ""
