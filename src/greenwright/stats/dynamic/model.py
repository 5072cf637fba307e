"""What the model holds and what was read: frozen values, checked once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic.kernels import Kernel
from greenwright.stats.hyper import HyperPrior

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SCALES: tuple[str, ...] = (
    "noise_sd",
    "set_sd",
    "unit_sd",
    "day_sd",
    "day_time",
    "own_sd",
    "own_time",
)
"""Hyper-parameters every model has: sds [unit of the outcome] and correlation times [days].

A single reading within a set (noise_sd), a set (set_sd), a unit's lasting level (unit_sd), the
process all units share (day_sd, day_time) and each unit's own (own_sd, own_time).
"""


@dataclass(frozen=True, slots=True)
class Term:
    """One response to a practice: effect x what the kernel makes of its doses.

    A practice that disturbs first and helps later is two terms of one practice.

    Args:
        name, practice: what it is called, and which practice it belongs to.
        dose: (units, days) in reference doses.
        kernel: how a dose comes and goes.
        mean, sd: prior of the effect of one dose [unit of the outcome].
        apart: prior of the sd of the units' own departures from the effect; None = all alike.
        again: hyper-parameter: share of a first dose that a further one on the same day adds.
    """

    name: str
    practice: str
    dose: Floats
    kernel: Kernel
    mean: float
    sd: float
    apart: HyperPrior | None = None
    again: str | None = None

    @property
    def hypers(self) -> tuple[str, ...]:
        """Return the names of the hyper-parameters that its column depends on."""
        return (*self.kernel.hypers, *((self.again,) if self.again else ()))


@dataclass(frozen=True, slots=True)
class Covariate:
    """What acts on the surface on every day: ``values`` (units or 1, days), prior of its slope."""

    name: str
    values: Floats
    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Condition:
    """What acts on a reading alone, with a value for each reading: prior of its slope."""

    name: str
    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Group:
    """Who or what read: each of ``size`` members has a shift, pooled with sd ``spread``."""

    name: str
    size: int
    spread: HyperPrior


@dataclass(frozen=True, slots=True)
class DynamicModel:
    """The model of one outcome.

    Args:
        units, days: size of the calendar; day 0 is the first.
        level, level_sd: prior of the common level [unit of the outcome].
        scales: prior of each of SCALES.
        shapes: prior of each hyper-parameter that a term's kernel names (all above zero).
        terms, covariates, conditions, groups: what acts.
    """

    units: int
    days: int
    level: float
    level_sd: float
    scales: Mapping[str, HyperPrior]
    shapes: Mapping[str, HyperPrior] = field(default_factory=dict)
    terms: tuple[Term, ...] = ()
    covariates: tuple[Covariate, ...] = ()
    conditions: tuple[Condition, ...] = ()
    groups: tuple[Group, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a model whose parts do not fit together."""
        missing = [name for name in SCALES if name not in self.scales]
        missing += [h for t in self.terms for h in t.hypers if h not in self.shapes]
        if missing:
            raise BadInput(f"no prior for {', '.join(missing)}; give a HyperPrior for each")
        _named_once([p.name for p in (*self.terms, *self.covariates, *self.conditions)])
        _named_once([g.name for g in self.groups])
        for term in self.terms:
            _fits(term.name, term.dose, (self.units, self.days))
        for one in self.covariates:
            _fits(one.name, np.broadcast_to(one.values, (self.units, self.days)), None)
        if not self.level_sd > 0 or any(not p.sd > 0 for p in self._sized):
            raise BadInput("a prior sd is not above zero; give every slope and effect a width")

    @property
    def _sized(self) -> tuple[Term | Covariate | Condition, ...]:
        return (*self.terms, *self.covariates, *self.conditions)

    @property
    def apart(self) -> tuple[int, ...]:
        """Return the places of the terms whose effect departs by unit."""
        return tuple(i for i, term in enumerate(self.terms) if term.apart is not None)

    @property
    def hypers(self) -> dict[str, HyperPrior]:
        """Return the prior of every hyper-parameter by name, in the order of a point."""
        named = {name: self.scales[name] for name in SCALES}
        named |= {f"group:{g.name}": g.spread for g in self.groups}
        named |= {f"apart:{t.name}": t.apart for t in self.terms if t.apart is not None}
        return named | {h: self.shapes[h] for t in self.terms for h in t.hypers}


@dataclass(frozen=True, slots=True)
class Readings:
    """Sets of readings, one row each.

    Args:
        value: mean of the set [unit of the outcome].
        unit, day: where and when, places in the model's calendar.
        count: single readings in the set.
        squares: sum of their squared distances from the mean; 0 where not kept.
        free: readings that ``squares`` speaks of, less one.
        variance: further noise that is known [unit squared].
        before: 1 where the set was read before the day's work, else 0.
        settled: 1 where a set has an error of its own, 0 where ``variance`` is all there is.
        members: group name -> member of each reading, -1 = none.
        conditions: condition name -> value at each reading.
    """

    value: Floats
    unit: Ints
    day: Ints
    count: Floats
    squares: Floats
    free: Floats
    variance: Floats
    before: Floats
    settled: Floats
    members: Mapping[str, Ints] = field(default_factory=dict)
    conditions: Mapping[str, Floats] = field(default_factory=dict)

    def __len__(self) -> int:
        """Return the number of sets."""
        return len(self.value)


def readings(
    value: Floats,
    unit: Ints,
    day: Ints,
    *,
    count: Floats | float = 1.0,
    squares: Floats | float = 0.0,
    variance: Floats | float = 0.0,
    before: Floats | float = 0.0,
    settled: Floats | float = 1.0,
    members: Mapping[str, Ints] | None = None,
    conditions: Mapping[str, Floats] | None = None,
) -> Readings:
    """Return checked readings; numbers are spread over all rows.

    Errors: BadInput for lengths that disagree, values that are not finite, counts under one.

    >>> len(readings([2.9, 3.1], [0, 1], [4, 4], count=3.0))
    2
    """
    rows = np.asarray(value, dtype=float)
    counts = _row("count", count, len(rows))
    kept = _row("squares", squares, len(rows))
    if len(rows) and not (counts.min() >= 1 and kept.min() >= 0 and np.isfinite(rows).all()):
        raise BadInput("a reading is not finite, counts less than one or has negative squares")
    return Readings(
        value=rows,
        unit=_index("unit", unit, len(rows)),
        day=_index("day", day, len(rows)),
        count=counts,
        squares=kept,
        free=np.where(kept > 0, counts - 1, 0.0),
        variance=_row("variance", variance, len(rows)),
        before=_row("before", before, len(rows)),
        settled=_row("settled", settled, len(rows)),
        members={k: _index(k, v, len(rows)) for k, v in (members or {}).items()},
        conditions={k: _row(k, v, len(rows)) for k, v in (conditions or {}).items()},
    )


def joined(first: Readings, second: Readings) -> Readings:
    """Return the readings of both, the first ones first."""
    plain = ("value", "unit", "day", "count", "squares", "free", "variance", "before", "settled")
    parts = {name: np.concatenate([getattr(r, name) for r in (first, second)]) for name in plain}
    return Readings(
        **parts,
        members=_joined(first, second, part="members", missing=-1),
        conditions=_joined(first, second, part="conditions", missing=0.0),
    )


def _joined(first: Readings, second: Readings, *, part: str, missing: float) -> dict[str, Floats]:
    tables = [getattr(r, part) for r in (first, second)]
    names = dict.fromkeys([*tables[0], *tables[1]])
    blanks = [np.full(len(r), missing) for r in (first, second)]
    made = {
        n: np.concatenate([t.get(n, b) for t, b in zip(tables, blanks, strict=True)]) for n in names
    }
    return {n: v.astype(np.intp) if part == "members" else v for n, v in made.items()}


def _row(name: str, given: Floats | float, n: int) -> Floats:
    values = np.asarray(given, dtype=float)
    if values.shape not in ((), (n,)):
        raise BadInput(f"{name} has shape {values.shape} for {n} readings")
    return np.array(np.broadcast_to(values, (n,)))


def _index(name: str, given: Ints, n: int) -> Ints:
    values = np.asarray(given, dtype=np.intp)
    if values.shape != (n,):
        raise BadInput(f"{name} has shape {values.shape} for {n} readings")
    return values


def _named_once(names: list[str]) -> None:
    twice = sorted({n for n in names if names.count(n) > 1})
    if twice:
        raise BadInput(f"{', '.join(twice)}: named twice; give every part its own name")


def _fits(name: str, values: Floats, shape: tuple[int, int] | None) -> None:
    if shape is not None and values.shape != shape:
        raise BadInput(f"{name}: doses have shape {values.shape}, expected {shape}: units x days")
    if not np.isfinite(values).all():
        raise BadInput(f"{name}: a value is not finite; fill or leave out what is missing")
