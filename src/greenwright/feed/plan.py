"""The plan: the program solved, held against the limits again, and why it falls short."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from greenwright.feed.check import broken, hits
from greenwright.feed.materials import PLANNED
from greenwright.feed.problem import FAMILIES, Line, Problem, Solution
from greenwright.feed.program import solve

_SECONDS_AGAIN = 2.0
_PART = 0.02
NO_MATERIAL = "no material"
"""What keeps a need from being met where the store holds nothing that brings it."""
NO_ROOM = "no room"
"""What keeps it where all that brings it brings more nitrogen than growth asks for."""


@dataclass(frozen=True, slots=True)
class FeedPlan:
    """A plan with what it is worth.

    Args:
        problem: what it settles.
        lines: what is put out.
        short: (group, element, month or 0) -> g/m2 not met.
        hits: families of limits that the plan goes up to.
        clashes: families of which lifting one alone would let the need be met, or `no material`,
            or `no room`.
        cost: materials and labour; product_kg: material -> mass over all groups.
        gap: to the proven bound.
    """

    problem: Problem
    lines: tuple[Line, ...]
    short: Mapping[tuple[str, str, int], float]
    hits: tuple[str, ...]
    clashes: tuple[str, ...]
    cost: float
    product_kg: Mapping[str, float]
    gap: float


def feed_plan(problem: Problem, *, seconds: float = 5.0) -> FeedPlan:
    """Return the cheapest plan within the limits; no line of it breaks one.

    Args:
        problem: what must hold.
        seconds: the most time the search may take.
    """
    found = solve(problem, seconds=seconds)
    bad = broken(problem, found.lines)
    assert not bad, bad
    return FeedPlan(
        problem,
        found.lines,
        found.short,
        hits(problem, found.lines),
        clashes(problem, found) if found.short else (),
        found.cost,
        masses(problem, found.lines),
        found.gap,
    )


def clashes(problem: Problem, found: Solution) -> tuple[str, ...]:
    """Return what keeps the need from being met: families each of which alone would free it.

    Where no single one does, all that together would; where none would, `no material` or, where
    what brings it brings too much nitrogen, `no room`.
    """
    short = sum(found.short.values())
    lacking = _lacking(problem, found)
    if lacking:
        rest = {k: v for k, v in found.short.items() if k[1] not in lacking}
        if sum(rest.values()) < _PART * short:
            return (NO_MATERIAL,)
    told = [NO_MATERIAL] if lacking else []
    for families in (_suspects(problem, found), FAMILIES):
        named = _named(problem, families, lacking, least=_PART * short)
        if named:
            return (*told, *named)
    return (*told, NO_ROOM)


def _named(
    problem: Problem, families: Sequence[str], lacking: set[str], *, least: float
) -> tuple[str, ...]:
    """Return the families that clash, of some; empty where lifting them all frees nothing."""
    left = set(families)
    if not left or _eased(problem, left, lacking) >= least:
        return ()
    if len(left) == 1:
        return tuple(families)
    alone = tuple(f for f in families if _eased(problem, {f}, lacking) < least)
    if alone:
        return alone
    for family in families:
        # Whatever the need can be met without lifting has no part in the clash.
        if _eased(problem, left - {family}, lacking) < least:
            left.discard(family)
    return tuple(f for f in families if f in left)


def _suspects(problem: Problem, found: Solution) -> list[str]:
    """Return the families that a plan goes up to, or that take whole materials or days away."""
    held = set(hits(problem, found.lines))
    openings = [o for plot in problem.plots for o in plot.openings]
    stuff = problem.materials
    if any(o.shut or not o.passes for o in openings):
        held.add("no_feed")
    if any(not plot.phosphorus for plot in problem.plots) and any(s.share("P") for s in stuff):
        held.add("p_allowed")
    if any(one.interval_d for one in stuff):
        held.add("max_rate")
    if {"calcium", "sulfate"} <= {one.clashes for one in stuff}:
        held.add("tank")
    if any(one.max_year is not None for one in stuff):
        held.add("max_per_year")
    return [family for family in FAMILIES if family in held]


def _lacking(problem: Problem, found: Solution) -> set[str]:
    return {
        element
        for _, element, _ in found.short
        if not any(one.share(element) for one in problem.materials)
    }


def _eased(problem: Problem, lifted: Iterable[str], lacking: set[str]) -> float:
    """Return what stays short with some families lifted, of what the store could bring."""
    again = solve(replace(problem, lifted=frozenset(lifted)), seconds=_SECONDS_AGAIN)
    return sum(v for (_, element, _), v in again.short.items() if element not in lacking)


def masses(problem: Problem, lines: Sequence[Line]) -> Mapping[str, float]:
    """Return the mass of each material over all groups [kg]."""
    areas = {plot.key: plot.area_m2 for plot in problem.plots}
    found: dict[str, float] = defaultdict(float)
    for one in lines:
        found[one.material] += one.total * areas[one.plot] / 1000
    return dict(found)


def brought(problem: Problem, lines: Sequence[Line], plot: str) -> Mapping[str, float]:
    """Return what lines bring to a group [g/m2 of each element]: what goes in comes out."""
    stuff = {one.name: one for one in problem.materials}
    found = dict.fromkeys(PLANNED, 0.0)
    for one in lines:
        if one.plot == plot:
            for element, share in stuff[one.material].shares.items():
                found[element] = found.get(element, 0.0) + one.total * share
    return found
