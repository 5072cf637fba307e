"""Whether the assumptions of an analysis hold, and the traps that spoil one: a sentence each."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
from scipy.stats import shapiro, spearmanr, t

from greenwright.stats.trials.factors import Array, Factor, crossed, indicator, number_of, span
from greenwright.stats.trials.spatial import fit_spatial
from greenwright.stats.trials.strata import f_tail
from greenwright.verify.declared import Read, Table
from greenwright.verify.engines import Fitted
from greenwright.verify.found import Check
from greenwright.verify.model import Model

DOUBT = 0.01
"""A check is held to fail under this p: many are made at once."""
PLACES = (("row", "col"), ("row", "column"), ("latitude", "longitude"), ("rowpos", "colpos"))
LARGEST = 240
"""Plots up to which a trend over the ground is tried."""


def checks_of(data: Read, model: Model, fit: Fitted, table: Table) -> tuple[Check, ...]:
    """Return every check that the data allow."""
    made = [
        _spread(fit),
        _normal(fit),
        _far_off(fit),
        _rows(data),
        _readings(data, model),
        *_baselines(data, model),
        *_hidden(data, table),
        *_odd(data, model),
        *_ground(data, model, table),
    ]
    return tuple(one for one in made if one is not None)


def _spread(fit: Fitted) -> Check | None:
    if len(fit.residuals) < 8 or np.ptp(fit.values) < 1e-12:
        return None
    p = float(spearmanr(np.abs(fit.residuals), fit.values).pvalue)
    if not math.isfinite(p):
        return None
    if p < DOUBT:
        return Check("spread", False, "Larger readings scatter differently from small ones "
                     f"(p = {p:.3f}): think of a logarithm, or of a model for counts.")  # fmt: skip
    return Check("spread", True, f"The scatter is much the same at low and high (p = {p:.2f}).")


def _normal(fit: Fitted) -> Check | None:
    if not 8 <= len(fit.residuals) <= 5000 or np.std(fit.residuals) < 1e-12:
        return None
    p = float(shapiro(fit.residuals).pvalue)
    if p < DOUBT:
        return Check("normal", False, "What is left over is not close to a normal curve "
                     f"(p = {p:.4f}): lean on the p by the lot, or transform.")  # fmt: skip
    return Check("normal", True, f"What is left over is close enough to a normal curve "
                 f"(p = {p:.2f}).")  # fmt: skip


def _far_off(fit: Fitted) -> Check | None:
    r, n = fit.residuals, len(fit.residuals)
    df = max((d for d, _ in (fit.strata.error[s] for s in fit.strata.error)), default=0)
    if df < 4 or np.std(r) < 1e-12:
        return None
    size = r / math.sqrt(float(r @ r) / df) / math.sqrt(df / n)
    worst = int(np.argmax(np.abs(size)))
    square = min(float(size[worst]) ** 2, df - 1e-6)
    outside = abs(float(size[worst])) * math.sqrt((df - 1) / (df - square))
    p = min(1.0, 2 * n * float(t.sf(outside, df - 1)))
    if p < DOUBT:
        return Check("far off", False, f"Reading {worst + 1} of those analysed lies far from the "
                     f"rest ({fit.residuals[worst]:+.3g}): look at its note before trusting "
                     "anything; it was kept.")  # fmt: skip
    return Check("far off", True, "No reading lies far from the rest.")


def _rows(data: Read) -> Check:
    if not data.missing:
        return Check("rows", True, f"All {data.total} rows of the file were used.")
    lines = ", ".join(map(str, data.missing[:12]))
    more = " …" if len(data.missing) > 12 else ""
    return Check("rows", False, f"{len(data.missing)} of {data.total} rows have no reading "
                 f"(lines {lines}{more}); the other {len(data.y)} were all used.")  # fmt: skip


def _readings(data: Read, model: Model) -> Check | None:
    if not model.repeated:
        return None
    plots = len(np.unique(model.groups[-1][1]))
    return Check("repeats", None, f"{len(data.y)} readings stand on {plots} plots: treatments are "
                 "held against plots, not against readings. If each was a plot of its own, name "
                 "the column of plots with --plots.")  # fmt: skip


def _baselines(data: Read, model: Model) -> list[Check]:
    """Return a warning for a column of numbers that tells much of what is left over."""
    if data.covariates:
        return [Check("baseline", True, "Readings from before the treatments were allowed for.")]
    made, last = [], model.splitting.rest[model.splitting.strata[-1].name]
    y = last.T @ data.y
    for name, values in data.numbers.items():
        held = np.log(values) if data.declared.log and np.all(values > 0) else values
        x = last.T @ (held - held.mean())
        size = float(x @ x)
        if size < 1e-9 * max(float(held @ held), 1e-300) or len(y) < 5:
            continue
        told = float(x @ y) ** 2 / size
        f = told / max((float(y @ y) - told) / (len(y) - 1), 1e-300)
        if f_tail(f, 1, len(y) - 1) < DOUBT / 10 and not _is_place(name):
            made.append(Check("baseline", False, f"The column {name!r} goes with much of the "
                              f"scatter ({100 * told / float(y @ y):.0f} %). If it was read before "
                              "the treatments, declare it with --baseline."))  # fmt: skip
    return made


def _is_place(name: str) -> bool:
    return any(name.lower() in pair for pair in PLACES)


def _hidden(data: Read, table: Table) -> list[Check]:
    """Return a warning where blocks seem to hide a split-plot: the same halves in each."""
    blocks, treatments = data.declared.columns("blocks"), data.declared.columns("treatments")
    if len(blocks) != 1 or len(treatments) != 1:
        return []
    block, treatment = data.factors[blocks[0]], data.factors[treatments[0]]
    made = []
    for name in table:
        if name in (*blocks, *treatments, data.declared.response) or not _is_place(name):
            continue
        cells = np.array([table[name][i].strip() for i in data.kept])
        halves = [_halves(block, treatment, cells, b) for b in range(len(block.levels))]
        if len(halves) >= 3 and len(halves[0]) > 1 and len(set(halves)) == 1:
            groups = " | ".join(
                ", ".join(treatment.levels[i] for i in sorted(g))
                for g in sorted(halves[0], key=min)
            )
            made.append(Check("hidden split-plot", False, f"In every block the same treatments "
                              f"share a {name} ({groups}): that is no free lot, and looks like a "
                              "split-plot. Differences between the groups are less sure than the "
                              "table says."))  # fmt: skip
    return made


def _halves(block: Factor, treatment: Factor, cells: Array, b: int) -> frozenset[frozenset[int]]:
    """Return which treatments share a place in a block; nothing where that says nothing."""
    mine = block.codes == b
    groups = {
        frozenset(int(c) for c in treatment.codes[mine & (cells == place)])
        for place in np.unique(cells[mine])
    }
    telling = len(groups) > 1 and all(len(g) > 1 for g in groups)
    return frozenset(groups) if telling else frozenset()


def _odd(data: Read, model: Model) -> list[Check]:
    """Return a warning where two factors' combination stands against all the others."""
    names = [n for n, one in data.factors.items() if 2 <= len(one.levels) <= 12]
    made = []
    for a, b in combinations(names, 2):
        one, other = data.factors[a], data.factors[b]
        if len(one.levels) == 2:
            one, other = other, one
        if len(other.levels) != 2 or len(one.levels) < 5:
            continue
        odd = odd_level(data.y, one, other)
        if odd is not None:
            made.append(Check("odd one out", False, f"{other.name} differs the other way at "
                              f"{one.name} {odd}, and by much, from every other {one.name}: "
                              "were its two levels exchanged in writing?"))  # fmt: skip
    return made


def odd_level(y: Array, one: Factor, other: Factor) -> str | None:
    """Return the level of one factor at which a two-level factor goes against all the others.

    The difference there has the other sign than every other level's and is far from them.
    """
    gaps = []
    for i in range(len(one.levels)):
        held = [y[(one.codes == i) & (other.codes == k)] for k in (0, 1)]
        if any(len(h) < 3 for h in held):
            return None
        gaps.append(float(held[1].mean() - held[0].mean()))
    gaps_a = np.array(gaps)
    signs = np.sign(gaps_a)
    minority = 1.0 if np.sum(signs > 0) == 1 else -1.0
    if np.sum(signs == minority) != 1 or np.sum(signs == -minority) != len(gaps) - 1:
        return None
    place = int(np.flatnonzero(signs == minority)[0])
    rest = np.delete(gaps_a, place)
    away = abs(gaps_a[place] - rest.mean()) / (rest.std(ddof=1) * math.sqrt(1 + 1 / len(rest)))
    return one.levels[place] if 2 * t.sf(away, len(rest) - 1) < 0.05 else None


def _ground(data: Read, model: Model, table: Table) -> list[Check]:
    """Return what a trend over the ground does to the main term, where plots have a place."""
    place = _place(data, table)
    structured = data.layout.key not in ("complete-block", "completely-randomised")
    if (
        place is None
        or structured
        or model.repeated
        or not 12 <= len(data.y) <= LARGEST
        or not model.compared
    ):
        return []
    tested = next(t for t in model.terms if t.name == model.compared[0])
    coarse = [indicator(codes) for _, codes in model.groups[:1]]
    fixed = span(np.hstack([np.ones((len(data.y), 1)), *coarse]))
    if len(data.y) - fixed.shape[1] - tested.columns.shape[1] < 6:
        return []
    x = np.hstack([fixed, tested.columns])
    held = fit_spatial(data.y, x, np.arange(fixed.shape[1], x.shape[1]), place)
    gain = held.aic_plain - held.aic
    better = gain > 2
    return [Check("ground", not better, (
        f"Neighbours resemble each other: a trend over rows and columns fits better (AIC lower by "
        f"{gain:.0f}); with it {tested.name} has F = {held.f:.2f}, p = {held.p:.3g}."
        if better else "A trend over rows and columns was tried and does not fit better."
    ))]  # fmt: skip


def _place(data: Read, table: Table) -> tuple[Array, Array] | None:
    """Return row and column of each plot in steps of one, or None."""
    names = {name.lower(): name for name in table}
    for a, b in PLACES:
        if a in names and b in names:
            cells = [[number_of(table[names[k]][i]) for i in data.kept] for k in (a, b)]
            if any(cell is None for line in cells for cell in line):
                continue
            held = [np.array(line, float) for line in cells]
            if len(np.unique(crossed(held))) == len(data.y):
                return _steps(held[0]), _steps(held[1])
    return None


def _steps(values: Array) -> Array:
    gaps = np.diff(np.unique(values))
    return (values - values.min()) / (gaps.min() if len(gaps) else 1.0)
