"""The plan as a mixed-integer program: least cost that meets the need within the limits.

Unknowns: product of each material in each window on each group of greens [g/m2], passes (whole),
whether a material is weighed out in a window, whether it is used at all, which side of the tank
a window is on, and what the limits keep from being met (dear, so that it is nought wherever it
can be).
"""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from greenwright.feed.build import Build, Places
from greenwright.feed.materials import PLANNED, Feedstuff
from greenwright.feed.outdone import worth_trying
from greenwright.feed.problem import Line, Plot, Problem, Solution
from greenwright.feed.tight import tighten

MISSING_PRICE = 5.0
"""A gram short on a square metre, as a multiple of the dearest gram of the materials."""
SMALLEST = 1e-6
_WORST_RATE = 60.0
_LATE = 0.02
_GAP = 0.005
_SECONDS = 5.0


def solve(problem: Problem, *, seconds: float = _SECONDS, gap: float = _GAP) -> Solution:
    """Return the cheapest plan found, proven to a gap or as far as the time allows.

    Needs that the limits keep from being met come back as `short`; a limit is never broken.

    Args:
        problem: what must hold.
        seconds: the most time it may take.
        gap: relative gap at which it is good enough.
    """
    problem = replace(problem, materials=worth_trying(problem.materials))
    build, places = written(problem)
    if not build.costs:
        return Solution((), {}, 0.0, 0.0, 0.0)
    found = milp(
        np.array(build.costs),
        integrality=np.array(build.whole),
        bounds=Bounds(0, np.array(build.upper)),
        constraints=_constraints(build),
        options={"time_limit": seconds, "mip_rel_gap": gap},
    )
    if found.x is None:
        # Nothing fed keeps every limit: only the clock can have stopped the search this early.
        return _nothing(build, places)
    return _read(problem, places, found.x, float(found.fun), gap=float(found.mip_gap or 0.0))


def _constraints(build: Build) -> LinearConstraint | tuple[()]:
    if not build.rows:
        return ()
    at = [(r, c, v) for r, (terms, _, _) in enumerate(build.rows) for c, v in terms.items()]
    rows, columns, values = zip(*at, strict=True)
    shape = (len(build.rows), len(build.costs))
    matrix = csr_array((values, (rows, columns)), shape=shape)
    low, high = np.array([(a, b) for _, a, b in build.rows]).T
    return LinearConstraint(matrix, low, high)


def written(problem: Problem) -> tuple[Build, Places]:
    """Return the program of a problem, and where each unknown stands."""
    build, places = Build(), Places()
    _columns(problem, build, places)
    for p, plot in enumerate(problem.plots):
        _needs(problem, build, places, plot=(p, plot))
        _passes(problem, build, places, plot=(p, plot))
        _totals(problem, build, places, plot=(p, plot))
        tighten(problem, build, places, plot=(p, plot))
    _variety(problem, build, places)
    _tank(problem, build, places)
    return build, places


def _columns(problem: Problem, build: Build, places: Places) -> None:
    for m, material in enumerate(problem.materials):
        places.used[m] = build.column(problem.another_material, 1.0, whole=True)
        for w, window in enumerate(problem.windows):
            places.weighed[m, w] = build.column(problem.weighing_out, 1.0, whole=True)
            late = 1 + _LATE * (1 - window.growth) + 0.001 * _LATE * w
            for p, plot in enumerate(problem.plots):
                if problem.passes(plot, w) and _allowed(problem, plot, material):
                    cost = _product_cost(material, plot) * plot.area_m2 * late
                    places.product[m, w, p] = build.column(cost)
    for p, plot in enumerate(problem.plots):
        for w in range(len(problem.windows)):
            most = problem.passes(plot, w)
            places.passes[w, p] = build.column(plot.pass_cost, float(most), whole=True)


def _allowed(problem: Problem, plot: Plot, material: Feedstuff) -> bool:
    barred = not plot.phosphorus and problem.holds("p_allowed")
    return not (barred and material.share("P") > 0)


def _product_cost(material: Feedstuff, plot: Plot) -> float:
    """Return what a gram costs: its price, and its acidity where that is unwanted."""
    sour = max(-(material.caco3 or 0.0), 0.0) / 100 * plot.sour
    return (material.price_kg + sour) / 1000


def _mine(places: Places, p: int) -> dict[tuple[int, int], int]:
    return {(m, w): at for (m, w, q), at in places.product.items() if q == p}


def _missing_cost(problem: Problem, plot: Plot, need: float) -> float:
    """Return what a gram short costs: leaving a small need out is dearer than starting on it."""
    dearest = max(
        (
            _product_cost(m, plot) / m.share(e)
            for m in problem.materials
            for e in PLANNED
            if m.share(e) > 0
        ),
        default=1.0,
    )
    fixed = problem.another_material + problem.weighing_out + plot.pass_cost
    return MISSING_PRICE * (plot.area_m2 * dearest + fixed / min(need, 1.0))


def _needs(problem: Problem, build: Build, places: Places, *, plot: tuple[int, Plot]) -> None:
    """Write that each month's nitrogen and each element's need are met, or told as short."""
    p, held = plot
    mine = _mine(places, p)
    for month, need in held.nitrogen.items():
        terms = {
            at: problem.materials[m].share("N")
            for (m, w), at in mine.items()
            if problem.windows[w].month == month and problem.materials[m].share("N")
        }
        if need > 0:
            dear = _missing_cost(problem, held, need)
            short = places.short[held.key, "N", month] = build.column(dear)
            build.at_least({**terms, short: 1.0}, need)
        build.at_most(terms, need * (1 + problem.tolerance))
        if problem.holds("n_month_g_m2"):
            build.at_most(terms, held.n_month.get(month, inf))
    for element, need in held.elements.items():
        if need > 0:
            dear = _missing_cost(problem, held, need)
            short = places.short[held.key, element, 0] = build.column(dear)
            terms = {
                at: problem.materials[m].share(element)
                for (m, w), at in mine.items()
                if problem.materials[m].share(element)
            }
            build.at_least({**terms, short: 1.0}, need)


def _passes(problem: Problem, build: Build, places: Places, *, plot: tuple[int, Plot]) -> None:
    """Write what one pass may bring: nitrogen, salt, and the label's rate."""
    p, held = plot
    mine = _mine(places, p)
    for w in range(len(problem.windows)):
        here = {m: at for (m, v), at in mine.items() if v == w}
        passes = places.passes[w, p]
        soluble = {m: at for m, at in here.items() if problem.materials[m].soluble}
        if problem.holds("n_application_g_m2"):
            each = {at: problem.materials[m].share("N") for m, at in here.items()}
            build.at_most({**each, passes: -held.openings[w].n_pass}, 0.0)
        if problem.holds("salt"):
            each = {at: problem.materials[m].salt_index / 100 for m, at in soluble.items()}
            build.at_most({**each, passes: -problem.salt_pass}, 0.0)
        for m, at in here.items():
            build.at_most({at: 1.0, passes: -highest_rate(problem, problem.materials[m])}, 0.0)


def highest_rate(problem: Problem, material: Feedstuff) -> float:
    """Return the most product of one pass [g/m2]: the label's, else what nobody exceeds."""
    if material.max_rate is not None and problem.holds("max_rate"):
        return material.max_rate
    return _WORST_RATE


def _totals(problem: Problem, build: Build, places: Places, *, plot: tuple[int, Plot]) -> None:
    """Write the yearly limits: nitrogen, and the label's product in a year."""
    p, held = plot
    mine = _mine(places, p)
    if problem.holds("n_year_g_m2"):
        terms = {at: problem.materials[m].share("N") for (m, _), at in mine.items()}
        build.at_most({at: v for at, v in terms.items() if v}, max(held.n_year, 0.0))
    for m, material in enumerate(problem.materials):
        if material.max_year is not None and problem.holds("max_per_year"):
            left = max(material.max_year - held.used.get(material.name, 0.0), 0.0)
            build.at_most({at: 1.0 for (n, _), at in mine.items() if n == m}, left)


def _variety(problem: Problem, build: Build, places: Places) -> None:
    """Write that what is used is weighed out, and what is weighed out is kept in the store."""
    for (m, w, p), at in places.product.items():
        material, held = problem.materials[m], problem.plots[p]
        most = _most(problem, material, held, w)
        build.at_most({at: 1.0, places.weighed[m, w]: -most}, 0.0)
    for (m, _), at in places.weighed.items():
        build.at_most({at: 1.0, places.used[m]: -1.0}, 0.0)
    _intervals(problem, build, places)


def _most(problem: Problem, material: Feedstuff, plot: Plot, window: int) -> float:
    """Return the most product that a window can take: tight, so that the bound is good."""
    passes = problem.passes(plot, window)
    ends = [highest_rate(problem, material) * passes]
    if problem.holds("n_application_g_m2") and material.share("N"):
        ends.append(plot.openings[window].n_pass * passes / material.share("N"))
    if material.share("N"):
        need = plot.nitrogen.get(problem.windows[window].month, 0.0)
        ends.append(need * (1 + problem.tolerance) / material.share("N"))
    if problem.holds("salt") and material.soluble and material.salt_index:
        ends.append(problem.salt_pass * passes * 100 / material.salt_index)
    return min(ends)


def _intervals(problem: Problem, build: Build, places: Places) -> None:
    """Write that a material keeps its label's days between passes, window against window."""
    for m, material in enumerate(problem.materials):
        if material.interval_d <= 0 or not problem.holds("max_rate"):
            continue
        for w, one in enumerate(problem.windows):
            _one_pass(problem, build, places, at=(m, w))
            for v in range(w + 1, len(problem.windows)):
                if (problem.windows[v].first - one.last).days >= material.interval_d:
                    break
                build.at_most({places.weighed[m, w]: 1.0, places.weighed[m, v]: 1.0}, 1.0)


def _one_pass(problem: Problem, build: Build, places: Places, *, at: tuple[int, int]) -> None:
    """Write that a window holds one pass where the label's interval leaves no room for two."""
    m, w = at
    window = problem.windows[w]
    if (window.last - window.first).days >= problem.materials[m].interval_d:
        return
    for p, plot in enumerate(problem.plots):
        most = problem.passes(plot, w)
        if most > 1 and (m, w, p) in places.product:
            build.at_most({places.passes[w, p]: 1.0, places.weighed[m, w]: most - 1.0}, most)


def _tank(problem: Problem, build: Build, places: Places) -> None:
    """Write that calcium shares no window with sulfate or phosphate."""
    sides = {m: one.clashes for m, one in enumerate(problem.materials) if one.clashes}
    if len(set(sides.values())) < 2 or not problem.holds("tank"):
        return
    for w in range(len(problem.windows)):
        side = build.column(0.0, 1.0, whole=True)
        for m, name in sides.items():
            weighed = places.weighed[m, w]
            if name == "calcium":
                build.at_most({weighed: 1.0, side: -1.0}, 0.0)
            else:
                build.at_most({weighed: 1.0, side: 1.0}, 1.0)


def _nothing(build: Build, places: Places) -> Solution:
    short = {
        key: low
        for key, at in places.short.items()
        for terms, low, _ in build.rows
        if at in terms and low > 0
    }
    return Solution((), short, 0.0, inf, inf)


def _read(
    problem: Problem, places: Places, x: np.ndarray, objective: float, *, gap: float
) -> Solution:
    lines = []
    for (m, w, p), at in places.product.items():
        if x[at] > SMALLEST:
            plot = problem.plots[p]
            passes = max(round(x[places.passes[w, p]]), 1)
            name = problem.materials[m].name
            lines.append(Line(plot.key, w, name, float(x[at]) / passes, passes))
    short = {key: float(x[at]) for key, at in places.short.items() if x[at] > 1e-4}
    found = tuple(sorted(lines, key=lambda one: (one.window, one.plot, one.material)))
    return Solution(found, short, cost_of(problem, found), objective, gap)


def cost_of(problem: Problem, lines: tuple[Line, ...]) -> float:
    """Return what lines cost: materials by weight, and the labour of each pass once."""
    plots = {plot.key: plot for plot in problem.plots}
    prices = {one.name: one.price_kg for one in problem.materials}
    product = sum(
        one.total * plots[one.plot].area_m2 / 1000 * prices[one.material] for one in lines
    )
    passes: dict[tuple[str, int], int] = {}
    for one in lines:
        passes[one.plot, one.window] = max(passes.get((one.plot, one.window), 0), one.passes)
    return product + sum(plots[key].pass_cost * n for (key, _), n in passes.items())
