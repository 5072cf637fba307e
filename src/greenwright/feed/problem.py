"""A feeding plan as a problem: greens, windows, materials, and what must hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from greenwright.feed.materials import Feedstuff
from greenwright.feed.windows import Opening, Window, most_passes

FAMILIES: tuple[str, ...] = (
    "n_year_g_m2",
    "n_month_g_m2",
    "n_application_g_m2",
    "salt",
    "no_feed",
    "p_allowed",
    "max_rate",
    "max_per_year",
    "tank",
)
"""Families of limits that a plan may hit: the record's names, the label's, and what burns."""


@dataclass(frozen=True, slots=True)
class Plot:
    """A group of greens fed alike.

    Args:
        key, greens: its name and keys; area_m2.
        nitrogen: month -> nitrogen still needed [g/m2].
        elements: element -> need to the end of the year [g/m2].
        openings: for each window.
        pass_cost: labour of one pass over the group, in the course's currency.
        n_year: room left under the yearly limit [g/m2]; n_month: month -> room left [g/m2].
        phosphorus: False = the local rule forbids it.
        sour: price of a kilogram of CaCO3 where acidity is unwanted, else 0.
        used: material -> product given already this year [g/m2].
    """

    key: str
    greens: tuple[str, ...]
    area_m2: float
    nitrogen: Mapping[int, float]
    elements: Mapping[str, float]
    openings: tuple[Opening, ...]
    pass_cost: float = 0.0
    n_year: float = inf
    n_month: Mapping[int, float] = field(default_factory=dict)
    phosphorus: bool = True
    sour: float = 0.0
    used: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Problem:
    """All that a plan must settle.

    Args:
        plots, windows, materials: the greens, the days, the store.
        tolerance: share by which a month's nitrogen may exceed its need.
        salt_pass: most salt in one pass [g/m2 as sodium nitrate].
        another_material, weighing_out: what variety costs, in the course's currency.
        lifted: families of limits that are left out, to find which of them clash.
    """

    plots: tuple[Plot, ...]
    windows: tuple[Window, ...]
    materials: tuple[Feedstuff, ...]
    tolerance: float
    salt_pass: float
    another_material: float
    weighing_out: float
    lifted: frozenset[str] = frozenset()

    def holds(self, family: str) -> bool:
        """Return whether a family of limits is in force."""
        return family not in self.lifted

    def passes(self, plot: Plot, window: int) -> int:
        """Return the most passes of a window."""
        held = plot.openings[window]
        if self.holds("no_feed"):
            return held.passes
        return max(held.passes, most_passes(self.windows[window].first, self.windows[window].last))


@dataclass(frozen=True, slots=True)
class Line:
    """One material in one window on one group: product of each pass [g/m2] and passes."""

    plot: str
    window: int
    material: str
    rate: float
    passes: int

    @property
    def total(self) -> float:
        """Return product over all passes [g/m2]."""
        return self.rate * self.passes


@dataclass(frozen=True, slots=True)
class Solution:
    """What the solver found.

    Args:
        lines: what is put out.
        short: (group, element, month or 0) -> g/m2 that the limits keep from being met.
        cost: materials and labour, in the course's currency.
        objective: what was minimised, shortage included.
        gap: relative gap to the proven bound.
    """

    lines: tuple[Line, ...]
    short: Mapping[tuple[str, str, int], float]
    cost: float
    objective: float
    gap: float
