"""The analysis of a trial from its declared layout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from scipy.special import stdtrit

from greenwright.stats.trials.strata import Row
from greenwright.verify.checks import checks_of
from greenwright.verify.comparing import contrasts_of, means_of, simple_effects
from greenwright.verify.declared import Declared, Read, Table, read
from greenwright.verify.engines import Fitted, fitted
from greenwright.verify.found import Analysis, ContrastFound, MeanFound, TermFound
from greenwright.verify.lot import rerun
from greenwright.verify.model import Model, coarse_only, model_of

ALPHA = 0.05
POWER = 0.8
CROSSING = "latin-square"
"""The layout whose coarse strata cross each other: each is held against the plots."""
HOW = {
    "strata": "Each term is held against the error of the stratum that the layout tells it in "
    "(exact analysis by strata).",
    "within": "Only differences within the coarse units count: each green (row, column) is its "
    "own control (exact least squares).",
    "reml": "The layout is not balanced, so variances are fitted by restricted maximum likelihood "
    "(REML), tests with Kenward and Roger's degrees of freedom.",
}


def analyse(table: Table, declared: Declared, *, seed: int = 1) -> Analysis:
    """Return the analysis of a trial.

    Args:
        table: column -> cells as text, one row for each reading.
        declared: the layout and what each column is.
        seed: where re-running the lot is sampled.

    Raises:
        BadInput: the table does not fit the declaration; says where.
        CannotAnswer: nothing is left for error.
    """
    data = read(table, declared)
    model = model_of(data)
    fit = fitted(data, model)
    means = [m for name in _main(data, model) for m in means_of(data, model, fit, name)]
    contrasts = _contrasts(data, model, fit)
    terms = tuple(
        _term(row, data, contrasts, lot=rerun(data, model, row, seed=seed)) for row in fit.rows
    )
    return Analysis(
        method=fit.method,
        how=HOW[fit.method],
        terms=terms,
        means=(*means, *_cell_means(data, model, fit)),
        contrasts=tuple(contrasts),
        checks=checks_of(data, model, fit, table),
        blocks=_blocks(fit, crossing=data.layout.key == CROSSING),
        aliased=_aliased(model, fit),
        rows=data.total,
        used=len(data.y),
        missing=data.missing,
        variances=_variances(fit),
        detectable=_detectable(contrasts),
        residuals=tuple(float(x) for x in fit.residuals),
        fitted=tuple(float(x) for x in fit.values),
    )


def _main(data: Read, model: Model) -> list[str]:
    return [one.name for one in model.factors if len(one.levels) <= 80]


def _cell_means(data: Read, model: Model, fit: Fitted) -> list[MeanFound]:
    made = []
    for name in model.compared:
        if name.count(":") == 1:
            held = means_of(data, model, fit, name)
            made += held if len(held) <= 40 else []
    return made


def _contrasts(data: Read, model: Model, fit: Fitted) -> list[ContrastFound]:
    made: list[ContrastFound] = []
    for one in model.factors:
        if one.name in model.compared:
            made += contrasts_of(data, model, fit, one.name)
    for row in fit.rows:
        target = row.term.count(":") == 1 and bool(data.layout.target)
        if row.term.count(":") == 1 and (target or (row.p is not None and row.p < ALPHA)):
            made += simple_effects(data, model, fit, row.term)
    return made


def _term(
    row: Row,
    data: Read,
    contrasts: Sequence[ContrastFound],
    *,
    lot: tuple[float, int, bool] | None,
) -> TermFound:
    own = [c for c in contrasts if c.term == row.term]
    made = TermFound(
        row.term,
        row.stratum,
        row.df,
        row.df_error,
        None if math.isnan(row.ss) else row.ss,
        row.f,
        row.p,
    )
    if lot is not None:
        made = replace(made, p_lot=lot[0], ways=lot[1], lot_exact=lot[2])
    verdict = _verdict(made, own, data)
    return replace(made, verdict=verdict, sentence=_sentence(made, verdict, own, data))


def _verdict(one: TermFound, own: Sequence[ContrastFound], data: Read) -> str:
    # A lot that could fall in few ways can never give a small p: then the F stands alone.
    able = one.p_lot is not None and one.ways is not None and 2 / one.ways < ALPHA
    p = one.p_lot if able else one.p
    if p is not None and p < ALPHA:
        return "differ"
    if data.declared.margin and own and all(c.alike for c in own):
        return "alike within the margin"
    return "cannot tell"


def _sentence(one: TermFound, verdict: str, own: Sequence[ContrastFound], data: Read) -> str:
    if one.f is None or one.p is None:
        return f"{one.term}: nothing is left to judge it by in the stratum {one.stratum}."
    tested = f"F = {one.f:.2f} on {one.df} and {one.df_error:.4g} degrees of freedom, " + (
        "p < 0.001" if one.p < 0.001 else f"p = {one.p:.3f}"
    )
    lot = _by_lot(one)
    if verdict == "differ":
        return f"{one.term} makes a difference ({tested}{lot}; held against {one.stratum})."
    if verdict == "alike within the margin":
        return (
            f"{one.term}: alike within {data.declared.margin:g} {data.declared.unit}".rstrip()
            + (f" ({tested}{lot}).")
        )
    widest = max((max(abs(c.low), abs(c.high)) for c in own), default=None)
    room = f" A difference up to {widest:.3g} is not ruled out." if widest is not None else ""
    return f"{one.term}: cannot tell ({tested}{lot}; held against {one.stratum}).{room}"


def _by_lot(one: TermFound) -> str:
    if one.p_lot is None or one.ways is None:
        return ""
    few = "" if 2 / one.ways < ALPHA else f", of only {one.ways} ways it could fall"
    return f"; by the lot p = {one.p_lot:.3f}{few}"


def _blocks(fit: Fitted, *, crossing: bool) -> tuple[tuple[str, int, float, float | None], ...]:
    """Return what each coarse stratum took, beside the one under it."""
    made = []
    names = [s.name for s in fit.strata.splitting.strata]
    for name, under in pairwise(names):
        df, ss = fit.strata.total[name]
        below = fit.strata.mean_square(names[-1] if crossing else under)
        f = ss / df / below if below == below and below > 0 else None
        made.append((name, df, ss, f))
    return tuple(made)


def _aliased(model: Model, fit: Fitted) -> tuple[str, ...]:
    told = []
    for name in model.compared:
        found = model.splitting.found(name)
        if name in fit.lost and not found:
            told.append(f"{name} cannot be told at all: in these rows it is the same as terms "
                        "before it or as the blocks.")  # fmt: skip
        elif name in fit.lost:
            told.append(f"{name} is told only in part: some of its levels never occur together.")
        elif coarse_only(model.splitting, name) and model.expected[name] not in found:
            where = next(iter(found))
            told.append(f"{name} is aliased with {where}: it is not told within them, only as a "
                        f"difference between {where}.")  # fmt: skip
    return tuple(told)


def _variances(fit: Fitted) -> dict[str, float]:
    if fit.mixed is not None:
        return dict(zip(fit.mixed.names, map(float, fit.mixed.variances), strict=True))
    return {name: ss / df for name, (df, ss) in fit.strata.error.items() if df}


def _detectable(contrasts: Sequence[ContrastFound]) -> float | None:
    """Return the difference that a trial just as large and as noisy sees 4 times in 5."""
    if not contrasts:
        return None
    first = [c for c in contrasts if c.term == contrasts[0].term]
    worst = max(first, key=lambda c: c.se)
    reach = stdtrit(worst.df, 1 - ALPHA / 2) + stdtrit(worst.df, POWER)
    return float(np.float64(reach) * worst.se)
