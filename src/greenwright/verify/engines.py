"""The three ways of fitting a declared trial: by strata, within greens, by REML.

Each gives the tests of the terms and a function from a row of the model to an estimate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from greenwright.base.errors import CannotAnswer
from greenwright.stats.trials.contrasts import Linear, design, estimate, solver
from greenwright.stats.trials.factors import Array, Term, indicator
from greenwright.stats.trials.mixed import MixedFit, fit_mixed, kenward_roger, linear
from greenwright.stats.trials.strata import Row, StrataFit, fit_strata, split
from greenwright.verify.declared import Read
from greenwright.verify.model import Model

Estimator = Callable[[str, Array], Linear]
TOUCH = 1e-7


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fitted trial.

    Args:
        method: strata | within | reml.
        rows: tests of the compared terms (and of trends).
        estimate: label and row of the model -> mean or difference.
        strata: fit by strata (also where REML tells the terms); mixed: the REML fit, if any.
        residuals, values: readings less fitted, and fitted.
        lost: names of terms of which columns cannot be told.
    """

    method: str
    rows: tuple[Row, ...]
    estimate: Estimator
    strata: StrataFit
    mixed: MixedFit | None
    residuals: Array
    values: Array
    lost: tuple[str, ...]


def fitted(data: Read, model: Model) -> Fitted:
    """Return the trial fitted the way its balance allows.

    Raises:
        CannotAnswer: nothing is left for error.
    """
    plain = fit_strata(data.y, model.splitting)
    if _whole(model):
        return _by_strata(data, model, plain)
    if data.layout.within and not model.repeated:
        return _within(data, model, plain)
    return _by_reml(data, model, plain)


def _whole(model: Model) -> bool:
    """Tell whether strata tell everything: each term in one, and none in another's way."""
    used = {s for t in model.compared for s in model.splitting.found(t)}
    names = [t.name for t in model.terms]
    if any(name in model.splitting.partial for name in names):
        adjusting = [t for t in model.terms if not t.factors]
        others = [n for n in names if n not in {t.name for t in adjusting}]
        if len(used) > 1 or any(n in model.splitting.partial for n in others):
            return False
    return len(used) == 1 or _orthogonal(model)


def _orthogonal(model: Model) -> bool:
    for stratum in model.splitting.strata:
        inside = {
            t.name: stratum.basis @ (stratum.basis.T @ t.columns)
            for t in model.terms
            if stratum.name in model.splitting.found(t.name)
        }
        names = list(inside)
        for i, one in enumerate(names):
            for other in names[i + 1 :]:
                size = np.linalg.norm(inside[one]) * np.linalg.norm(inside[other])
                if np.linalg.norm(inside[one].T @ inside[other]) > TOUCH * size:
                    return False
    return True


def _by_strata(data: Read, model: Model, plain: StrataFit) -> Fitted:
    used = {s for t in model.compared for s in model.splitting.found(t)}
    single = next(iter(used)) if len(used) == 1 else None
    return _exact(data, model, plain, within=single, method="strata")


def _within(data: Read, model: Model, plain: StrataFit) -> Fitted:
    return _exact(data, model, plain, within=model.splitting.strata[-1].name, method="within")


def _exact(
    data: Read, model: Model, plain: StrataFit, *, within: str | None, method: str
) -> Fitted:
    whole = design(model.terms, len(data.y))
    basis = next((s.basis for s in plain.splitting.strata if s.name == within), None)
    # The overall mean belongs to no stratum of differences: it is joined where one stratum tells.
    mean = np.full((len(data.y), 1), len(data.y) ** -0.5)
    space = None if basis is None else np.hstack([mean, basis])

    solved = solver(whole, space)

    def told(label: str, row: Array) -> Linear:
        return estimate(label, row @ solved, data.y, plain, level=within)

    rows = tuple(_rows(data, model, plain, within))
    if not any(r.df_error for r in rows):
        raise CannotAnswer(
            "nothing is left for error in this layout",
            where=data.layout.key,
            expected="more plots than the terms have degrees of freedom",
            do="Leave interactions out with --order 1, or check the columns named",
        )
    return Fitted(
        method, rows, told, plain, None, plain.residuals, data.y - plain.residuals,
        model.splitting.aliased,
    )  # fmt: skip


def _rows(data: Read, model: Model, plain: StrataFit, within: str | None) -> list[Row]:
    made = []
    marginal = not _orthogonal(model)
    for name in model.compared:
        strata = [s for s in model.splitting.found(name) if within in (None, s)]
        for stratum in strata:
            row = plain.row(name, stratum)
            if marginal and name not in model.splitting.aliased:
                row = _last(data, model, name).row(name, stratum)
            made.append(row)
        made += _trend_rows(data, model, name)
    return made


def _last(data: Read, model: Model, name: str) -> StrataFit:
    """Return the fit in which a term comes after all the others."""
    ordered = [t for t in model.terms if t.name != name] + [
        t for t in model.terms if t.name == name
    ]
    return fit_strata(data.y, split(model.splitting.strata, ordered))


def _trend_rows(data: Read, model: Model, name: str) -> list[Row]:
    parts = data.factors[name].parts if name in data.factors else ()
    if not parts:
        return []
    own = next(t for t in model.terms if t.name == name)
    before = [t for t in model.terms if t.name != name]
    single = [
        Term(f"{name} {part}", own.factors, own.columns[:, i : i + 1])
        for i, part in enumerate(parts)
    ]
    fit = fit_strata(data.y, split(model.splitting.strata, [*before, *single]))
    return [row for one in single for row in fit.rows if row.term == one.name]


def _by_reml(data: Read, model: Model, plain: StrataFit) -> Fitted:
    whole = design(model.terms, len(data.y))
    keep = _told_apart(whole)
    groups = [(name, indicator(codes)) for name, codes in model.groups]
    groups = [(name, z) for name, z in groups if z.shape[1] < len(data.y)]
    fit = fit_mixed(data.y, whole[:, keep], groups)
    spans = _spans(model.terms)
    rows = []
    for name in model.compared:
        place = [keep.index(j) for j in spans[name] if j in keep]
        if place:
            rows.append(_reml_row(fit, name, np.eye(len(keep))[place], model.expected[name]))
    lost = tuple(n for n in model.compared if any(j not in keep for j in spans[n]))

    def told(label: str, row: Array) -> Linear:
        if any(row[j] for j in range(len(row)) if j not in keep):
            return Linear(label, float("nan"), float("nan"), float("nan"))
        return linear(fit, label, row[keep])

    return Fitted(
        "reml", tuple(rows), told, plain, fit, fit.residuals, data.y - fit.residuals, lost
    )


def _reml_row(fit: MixedFit, name: str, rows: Array, stratum: str) -> Row:
    test = kenward_roger(fit, rows)
    return Row(name, stratum, test.df, test.df_error, float("nan"), float("nan"), test.f, test.p)


def _spans(terms: tuple[Term, ...]) -> dict[str, range]:
    held, start = {}, 1
    for term in terms:
        held[term.name] = range(start, start + term.columns.shape[1])
        start += term.columns.shape[1]
    return held


def _told_apart(columns: Array) -> list[int]:
    """Return the columns that add something to those before them."""
    kept: list[int] = []
    basis = np.zeros((columns.shape[0], 0))
    for j in range(columns.shape[1]):
        rest = columns[:, j] - basis @ (basis.T @ columns[:, j])
        size = np.linalg.norm(rest)
        if size > 1e-8 * max(np.linalg.norm(columns[:, j]), 1e-300):
            kept.append(j)
            basis = np.hstack([basis, (rest / size)[:, None]])
    return kept
