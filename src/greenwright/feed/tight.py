"""Rows that cut off no plan and make the bound better: the search ends sooner by them.

Where amounts come in whole passes, a need over a pass's room asks for the next whole number of
them; what stays short buys the difference off (mixed-integer rounding).
"""

from __future__ import annotations

from math import ceil

from greenwright.feed.build import Build, Places
from greenwright.feed.problem import Plot, Problem

_EDGE = 1e-6


def tighten(problem: Problem, build: Build, places: Places, *, plot: tuple[int, Plot]) -> None:
    """Add the rounded rows of one group of greens.

    Args:
        problem, build, places: as written so far, the group's needs included.
        plot: its place and itself.
    """
    p, held = plot
    for month, need in held.nitrogen.items():
        if need > 0:
            _nitrogen(problem, build, places, at=(p, held, month, need))
    for element, need in held.elements.items():
        if need > 0:
            _element(problem, build, places, at=(p, held, element, need))


def rounded(need: float, room: float) -> tuple[int, float]:
    """Return how many rooms a need fills, rounded up, and what lies in the last one.

    >>> rounded(1.8, 0.8)[0], round(rounded(1.8, 0.8)[1], 6)
    (3, 0.2)
    """
    count = max(ceil(need / room - _EDGE), 1)
    return count, need - room * (count - 1)


def _nitrogen(
    problem: Problem, build: Build, places: Places, *, at: tuple[int, Plot, int, float]
) -> None:
    p, held, month, need = at
    here = [w for w, one in enumerate(problem.windows) if one.month == month]
    short = places.short[held.key, "N", month]
    each = max((held.openings[w].n_pass for w in here), default=0.0)
    if not each or not problem.holds("n_application_g_m2"):
        return
    count, last = rounded(need, each)
    passes = {places.passes[w, p]: 1.0 for w in here}
    build.at_least({**passes, short: 1 / last}, float(count))
    whole = max(held.openings[w].n_pass * problem.passes(held, w) for w in here)
    if whole > 0:
        count, last = rounded(need, whole)
        feeding = {
            places.weighed[m, w]: 1.0
            for m, w, q in places.product
            if q == p and w in here
            if problem.materials[m].share("N") > 0
        }
        build.at_least({**feeding, short: 1 / last}, float(count))


def _element(
    problem: Problem, build: Build, places: Places, *, at: tuple[int, Plot, str, float]
) -> None:
    p, held, element, need = at
    short = places.short[held.key, element, 0]
    able = {(m, w) for m, w, q in places.product if q == p if problem.materials[m].share(element)}
    build.at_least({**{places.weighed[mw]: 1.0 for mw in able}, short: 1 / need}, 1.0)
    build.at_least({**{places.used[m]: 1.0 for m, _ in able}, short: 1 / need}, 1.0)
