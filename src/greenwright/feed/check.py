"""A plan held against every limit again, by plain sums: no line of the program is shared."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import inf

from greenwright.feed.materials import Feedstuff
from greenwright.feed.problem import FAMILIES, Line, Plot, Problem

_SLACK = 1e-4
_NEAR = 1e-3


def broken(problem: Problem, lines: Sequence[Line]) -> tuple[str, ...]:
    """Return each limit that a plan breaks, one sentence each; empty = it keeps them all."""
    told = [
        f"{what} on {where}: {used:.4g} over {room:.4g}"
        for what, where, used, room in uses(problem, lines)
        if used > room * (1 + _SLACK) + _SLACK
    ]
    return (*told, *_shut(problem, lines), *_mixed(problem, lines))


def hits(problem: Problem, lines: Sequence[Line]) -> tuple[str, ...]:
    """Return the families of limits that a plan goes up to."""
    reached = [
        what
        for what, _, used, room in uses(problem, lines)
        if what in FAMILIES and room < inf and used > 0 and used >= room * (1 - _NEAR)
    ]
    return tuple(dict.fromkeys(reached))


def uses(problem: Problem, lines: Sequence[Line]) -> tuple[tuple[str, str, float, float], ...]:
    """Return each limit of amounts as (family, where, used, room), in g/m2 or passes."""
    found: list[tuple[str, str, float, float]] = []
    stuff = {one.name: one for one in problem.materials}
    for plot in problem.plots:
        mine = [one for one in lines if one.plot == plot.key]
        found += _nitrogen(problem, plot, mine, stuff=stuff)
        found += _each_pass(problem, plot, mine, stuff=stuff)
        for name, given in _by_name(mine).items():
            most = stuff[name].max_year
            room = inf if most is None else max(most - plot.used.get(name, 0.0), 0.0)
            found.append(("max_per_year", f"{plot.key}, {name}", given, room))
            banned = not plot.phosphorus and stuff[name].share("P") > 0
            found.append(("p_allowed", f"{plot.key}, {name}", given, 0.0 if banned else inf))
    return tuple(found)


def _nitrogen(
    problem: Problem, plot: Plot, mine: Sequence[Line], *, stuff: Mapping[str, Feedstuff]
) -> list[tuple[str, str, float, float]]:
    by_month: dict[int, float] = defaultdict(float)
    for one in mine:
        by_month[problem.windows[one.window].month] += one.total * stuff[one.material].share("N")
    rows = [("n_year_g_m2", plot.key, sum(by_month.values()), max(plot.n_year, 0.0))]
    for month, given in by_month.items():
        where = f"{plot.key}, month {month}"
        rows.append(("n_month_g_m2", where, given, plot.n_month.get(month, inf)))
        most = plot.nitrogen.get(month, 0.0) * (1 + problem.tolerance)
        rows.append(("need", where, given, most))
    return [row for row in rows if row[0] != "need" or row[2] > row[3]]


def _each_pass(
    problem: Problem, plot: Plot, mine: Sequence[Line], *, stuff: Mapping[str, Feedstuff]
) -> list[tuple[str, str, float, float]]:
    rows: list[tuple[str, str, float, float]] = []
    for window in {one.window for one in mine}:
        here = [one for one in mine if one.window == window]
        where = f"{plot.key}, {problem.windows[window].first}"
        nitrogen = sum(one.rate * stuff[one.material].share("N") for one in here)
        rows.append(("n_application_g_m2", where, nitrogen, plot.openings[window].n_pass))
        salt = sum(
            one.rate * stuff[one.material].salt_index / 100
            for one in here
            if stuff[one.material].soluble
        )
        rows.append(("salt", where, salt, problem.salt_pass))
        for one in here:
            most = stuff[one.material].max_rate
            room = inf if most is None else most
            rows.append(("max_rate", f"{where}, {one.material}", one.rate, room))
    return rows


def _by_name(lines: Sequence[Line]) -> Mapping[str, float]:
    found: dict[str, float] = defaultdict(float)
    for one in lines:
        found[one.material] += one.total
    return found


def _shut(problem: Problem, lines: Sequence[Line]) -> list[str]:
    plots = {plot.key: plot for plot in problem.plots}
    return [
        f"no_feed on {one.plot}: {one.passes} passes from {problem.windows[one.window].first}"
        for one in lines
        if one.passes > plots[one.plot].openings[one.window].passes
    ]


def _mixed(problem: Problem, lines: Sequence[Line]) -> list[str]:
    stuff = {one.name: one for one in problem.materials}
    sides: dict[int, set[str]] = defaultdict(set)
    for one in lines:
        sides[one.window].add(stuff[one.material].clashes)
    return [
        f"tank from {problem.windows[window].first}: calcium beside sulfate or phosphate"
        for window, held in sides.items()
        if {"calcium", "sulfate"} <= held
    ]
