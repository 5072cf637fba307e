"""A mixed-integer program while it is written down, and where its unknowns stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

Terms = Mapping[int, float]


@dataclass(slots=True)
class Build:
    """The program while it is written down: columns with cost and bounds, rows with ends."""

    costs: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, cost: float, most: float = inf, *, whole: bool = False) -> int:
        """Return the place of a new unknown of at least nought."""
        self.costs.append(cost)
        self.upper.append(most)
        self.whole.append(int(whole))
        return len(self.costs) - 1

    def at_most(self, terms: Terms, most: float) -> None:
        """Add a row that is at most a number."""
        if terms and most < inf:
            self.rows.append((terms, -inf, most))

    def at_least(self, terms: Terms, least: float) -> None:
        """Add a row that is at least a number."""
        if terms:
            self.rows.append((terms, least, inf))


@dataclass(slots=True)
class Places:
    """Where each unknown stands."""

    product: dict[tuple[int, int, int], int] = field(default_factory=dict)
    passes: dict[tuple[int, int], int] = field(default_factory=dict)
    weighed: dict[tuple[int, int], int] = field(default_factory=dict)
    used: dict[int, int] = field(default_factory=dict)
    short: dict[tuple[str, str, int], int] = field(default_factory=dict)
