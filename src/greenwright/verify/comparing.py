"""Means of the treatments and their differences, each family allowed for as a whole."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from greenwright.base.errors import UnknownKey
from greenwright.stats.trials.contrasts import Linear, cells, label_of, mean_row, pairs
from greenwright.stats.trials.equivalence import within_margin
from greenwright.stats.trials.factors import Array, Factor
from greenwright.stats.trials.multiple import (
    dunnett_factor,
    dunnett_p,
    holm_p,
    tukey_factor,
    tukey_p,
)
from greenwright.verify.declared import Read
from greenwright.verify.engines import Fitted
from greenwright.verify.found import ContrastFound, MeanFound
from greenwright.verify.model import Model

MOST_PAIRS = 60
"""Beyond so many pairs of one factor only the means are told."""


def means_of(data: Read, model: Model, fit: Fitted, term: str) -> list[MeanFound]:
    """Return the mean of each level or combination of a term, others averaged."""
    factors = _factors(data, term)
    made = []
    for cell in cells(factors):
        rows = _inside(factors, cell)
        if not rows.any():
            continue
        one = fit.estimate(label_of(factors, cell), _row(data, model, factors, cell))
        if math.isfinite(one.value):
            made.append(_mean(term, one, int(rows.sum()), data.declared.level))
    return made


def _factors(data: Read, term: str) -> list[Factor]:
    return [data.factors[c] for c in term.split(":")]


def _inside(factors: Sequence[Factor], cell: Sequence[int]) -> Array:
    held = [one.codes == i for one, i in zip(factors, cell, strict=True)]
    return np.logical_and.reduce(held)


def _row(data: Read, model: Model, factors: Sequence[Factor], cell: Sequence[int]) -> Array:
    wanted = {one.name: i for one, i in zip(factors, cell, strict=True)}
    return mean_row(model.terms, data.factors, wanted)


def _mean(term: str, one: Linear, n: int, level: float) -> MeanFound:
    reach = one.reach(level) if one.se == one.se and one.se > 0 else float("nan")
    return MeanFound(
        term, one.label, n, one.value, one.se, one.df, one.value - reach, one.value + reach
    )


def contrasts_of(data: Read, model: Model, fit: Fitted, term: str) -> list[ContrastFound]:
    """Return all pairs of a factor's levels (Tukey), or each against the control (Dunnett)."""
    one = data.factors[term]
    control = control_of(data, one)
    chosen = pairs(len(one.levels), control=control)
    if len(chosen) > MOST_PAIRS:
        return []
    lines = [_difference(data, model, fit, factors=[one], a=(a,), b=(b,)) for a, b in chosen]
    if any(not (line.se > 0) for line in lines):
        return []
    if control is None:
        adjusted, reach = _tukey(lines, len(one.levels), data.declared.level)
        method = "tukey" if len(one.levels) > 2 else "none"
    else:
        adjusted, reach = _dunnett(one, lines, chosen, data.declared.level)
        method = "dunnett" if len(one.levels) > 2 else "none"
    names = [(one.levels[a], one.levels[b]) for a, b in chosen]
    return [
        _contrast(term, name, line, p=p, reach=r, data=data, method=method)
        for name, line, p, r in zip(names, lines, adjusted, reach, strict=True)
    ]


def control_of(data: Read, one: Factor) -> int | None:
    """Return the index of the control among a factor's levels, or None.

    Raises:
        UnknownKey: no factor has that level.
    """
    named = data.declared.control
    if named is None:
        return None
    if not any(named in held.levels for held in data.factors.values()):
        raise UnknownKey(f"no level is called {named!r}", where="--control",
                         expected=", ".join(one.levels))  # fmt: skip
    return one.levels.index(named) if named in one.levels else None


def simple_effects(data: Read, model: Model, fit: Fitted, term: str) -> list[ContrastFound]:
    """Return the differences of the first factor at each level of the second (Holm)."""
    names = term.split(":")
    if len(names) != 2:
        return []
    first, second = (data.factors[n] for n in names)
    chosen = [
        (a, b, k)
        for k in range(len(second.levels))
        for a, b in pairs(len(first.levels), control=control_of(data, first))
    ]
    if len(chosen) > MOST_PAIRS:
        return []
    lines = [
        _difference(data, model, fit, factors=[first, second], a=(a, k), b=(b, k))
        for a, b, k in chosen
    ]
    if any(not (line.se > 0) for line in lines):
        return []
    share = 1 - (1 - data.declared.level) / len(lines)
    return [
        _contrast(
            term,
            (f"{first.levels[a]} at {second.levels[k]}", f"{first.levels[b]}"),
            line,
            p=p,
            reach=line.reach(share),
            data=data,
            method="holm",
        )
        for (a, b, k), line, p in zip(chosen, lines, holm_p([x.p for x in lines]), strict=True)
    ]


def _difference(
    data: Read,
    model: Model,
    fit: Fitted,
    *,
    factors: Sequence[Factor],
    a: Sequence[int],
    b: Sequence[int],
) -> Linear:
    row = _row(data, model, factors, a) - _row(data, model, factors, b)
    return fit.estimate(f"{label_of(factors, a)} − {label_of(factors, b)}", row)


def _tukey(lines: Sequence[Linear], groups: int, level: float) -> tuple[list[float], list[float]]:
    if groups == 2:
        return [x.p for x in lines], [x.reach(level) for x in lines]
    p = [float(tukey_p(np.array([x.t]), groups, x.df)[0]) for x in lines]
    held: dict[float, float] = {}
    for line in lines:
        key = round(line.df, 6)
        held.setdefault(key, tukey_factor(groups, key, level))
    return p, [held[round(x.df, 6)] * x.se for x in lines]


def _dunnett(
    one: Factor, lines: Sequence[Linear], chosen: Sequence[tuple[int, int]], level: float
) -> tuple[list[float], list[float]]:
    if len(lines) == 1:
        return [lines[0].p], [lines[0].reach(level)]
    n = np.bincount(one.codes, minlength=len(one.levels))
    loads = np.array([1 / (1 + n[b] / n[a]) ** 0.5 for a, b in chosen])
    df = float(min(x.df for x in lines))
    p = dunnett_p(np.array([x.t for x in lines]), loads, df)
    reach = dunnett_factor(loads, df, level)
    return [float(x) for x in p], [reach * x.se for x in lines]


def _contrast(
    term: str,
    names: tuple[str, str],
    line: Linear,
    *,
    p: float,
    reach: float,
    data: Read,
    method: str,
) -> ContrastFound:
    margin = data.declared.margin
    held = within_margin(line.value, line.se, line.df, margin=margin) if margin else None
    return ContrastFound(
        term,
        *names,
        line.value,
        line.se,
        line.df,
        line.value - reach,
        line.value + reach,
        line.p,
        float(p),
        method,
        data.declared.level,
        held.alike if held else None,
        held.no_worse if held else None,
    )
