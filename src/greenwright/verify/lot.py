"""Re-running the lot: how often would chance alone have given so large an F?

The lot that laid the trial out could have fallen otherwise. Under "no difference" each of those
layouts would have given the same readings, so the share of them with an F at least as large is an
exact p, whatever the readings' distribution. Layouts are listed where they are few, else drawn.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import factorial, prod

import numpy as np

from greenwright.stats.trials.factors import Array, crossed
from greenwright.stats.trials.strata import Row, f_values
from greenwright.verify.declared import Read
from greenwright.verify.model import Model

LISTED = 6_000
"""Up to so many arrangements are listed, beyond they are drawn."""
DRAWN = 1_999
FEW_UNITS = 30
"""The lot is re-run where at most so many units were allotted."""
TIE = 1e-9

UNITS = {
    "completely-randomised": (("treatments",), ()),
    "complete-block": (("treatments",), ("blocks",)),
    "half-greens": (("treatments",), ("units",)),
    "crossover": (("treatments",), ()),
    "stepped-wedge": (("treated",), ()),
    "before-after": (("group",), ()),
}
"""Layout -> (roles dealt by the lot, roles within which it dealt)."""


def rerun(data: Read, model: Model, row: Row, *, seed: int = 1) -> tuple[float, int, bool] | None:
    """Return (p, layouts it was held against, whether all were listed), or None.

    None where the layout is not dealt in a way known here, or is too large to need it.
    """
    if row.term not in model.compared or row.f is None or data.layout.key not in UNITS:
        return None
    if data.covariates or model.repeated or not _dealt(data, row.term):
        return None
    dealt = allotted(data, row.term)
    if dealt is None or len(dealt.rows) > FEW_UNITS:
        return None
    orders, listed = orders_of(dealt, np.random.default_rng(seed))
    f = f_values(model.splitting, row.term, data.y[orders].T)
    high = float(np.sum(f >= row.f * (1 - TIE)))
    if listed:
        return high / len(f), len(f), True
    return (1 + high) / (1 + len(f)), len(f), False


def _dealt(data: Read, term: str) -> bool:
    """Tell whether a term is the one that the lot dealt."""
    if data.layout.target:
        wanted = [c for role in data.layout.target for c in data.declared.columns(role)]
        return term.split(":") == wanted
    roles = UNITS[data.layout.key][0]
    named = [c for role in roles for c in data.declared.columns(role)]
    return term in named and len(named) == 1


@dataclass(frozen=True, slots=True)
class Dealt:
    """What the lot dealt: rows of each unit in order of time, its label, the group it was in."""

    rows: tuple[Array, ...]
    labels: tuple[int, ...]
    groups: tuple[int, ...]


def allotted(data: Read, term: str) -> Dealt | None:
    """Return the units; greens that carry a whole sequence need the same times, else None."""
    within = _codes(data, UNITS[data.layout.key][1])
    own = data.factors[term.split(":")[0]].codes
    if data.layout.key not in ("crossover", "stepped-wedge", "before-after"):
        every = tuple(np.array([i]) for i in range(len(data.y)))
        return Dealt(every, tuple(map(int, own)), tuple(map(int, within)))
    units = _codes(data, ("units",))
    times = _codes(data, ("phase",) if data.layout.target else ("periods",))
    rows = tuple(_in_time(units == u, times) for u in range(int(units.max()) + 1))
    if len({tuple(times[r]) for r in rows}) > 1:
        return None
    kinds = {kind: i for i, kind in enumerate(dict.fromkeys(tuple(own[r]) for r in rows))}
    return Dealt(rows, tuple(kinds[tuple(own[r])] for r in rows), (0,) * len(rows))


def _in_time(mine: Array, times: Array) -> Array:
    rows = np.flatnonzero(mine)
    return rows[np.argsort(times[rows], kind="stable")]


def _codes(data: Read, roles: tuple[str, ...]) -> Array:
    named = [c for role in roles for c in data.declared.columns(role)]
    if not named:
        return np.zeros(len(data.y), int)
    return crossed([data.factors[c].codes for c in named])


def orders_of(dealt: Dealt, rng: np.random.Generator) -> tuple[Array, bool]:
    """Return (ways, n) orders of the rows that the lot might have given, and if all are there."""
    sets = [
        [u for u, g in enumerate(dealt.groups) if g == group]
        for group in dict.fromkeys(dealt.groups)
    ]
    labels = [[dealt.labels[u] for u in one] for one in sets]
    if prod(arrangements(one) for one in labels) <= LISTED:
        every = product(*(list(distinct(one)) for one in labels))
    else:
        every = ([tuple(rng.permutation(one)) for one in labels] for _ in range(DRAWN))
    made = [_order(dealt, sets, labels, chosen) for chosen in every]
    return np.array(made), prod(arrangements(one) for one in labels) <= LISTED


def arrangements(labels: Sequence[int]) -> int:
    """Return in how many distinct ways labels can stand.

    >>> arrangements([0, 0, 0, 1, 1, 1])
    20
    """
    return factorial(len(labels)) // prod(factorial(k) for k in Counter(labels).values())


def distinct(labels: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Yield every distinct order of labels.

    >>> list(distinct([0, 0, 1]))
    [(0, 0, 1), (0, 1, 0), (1, 0, 0)]
    """
    if not labels:
        yield ()
        return
    for first in sorted(set(labels)):
        rest = list(labels)
        rest.remove(first)
        for tail in distinct(rest):
            yield (first, *tail)


def _order(
    dealt: Dealt,
    sets: Sequence[Sequence[int]],
    labels: Sequence[Sequence[int]],
    chosen: Sequence[Sequence[int]],
) -> Array:
    """Return the order of the rows in which each label's readings come from the chosen units."""
    order = np.empty(sum(len(r) for r in dealt.rows), int)
    for units, old, new in zip(sets, labels, chosen, strict=True):
        for label in set(old):
            there = [u for u, held in zip(units, old, strict=True) if held == label]
            taken = [u for u, held in zip(units, new, strict=True) if held == label]
            for to, source in zip(there, taken, strict=True):
                order[dealt.rows[to]] = dealt.rows[source]
    return order
