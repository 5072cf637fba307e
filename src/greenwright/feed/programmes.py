"""Programmes side by side: what each brings, what is over, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from greenwright.base.values import Snapshot
from greenwright.feed.arrange import pass_cost
from greenwright.feed.materials import PLANNED, Feedstuff
from greenwright.feed.plan import FeedPlan, brought
from greenwright.feed.record import Given, feedings
from greenwright.feed.year import GroupYear


@dataclass(frozen=True, slots=True)
class Programme:
    """One way of feeding between two days, over all groups by area.

    Args:
        name: as given | planned in the record | advised.
        first, last: both inclusive.
        supplies: element -> g/m2.
        cost: materials and labour; None where a material has no price.
        caco3_g_m2: lime that undoes its acidity (negative = it acidifies).
        salt_g_m2: as sodium nitrate; materials, passes: how many.
    """

    name: str
    first: date
    last: date
    supplies: Mapping[str, float]
    cost: float | None
    caco3_g_m2: float
    salt_g_m2: float
    materials: int
    passes: float


@dataclass(frozen=True, slots=True)
class _Put:
    area_m2: float
    product: float
    material: str
    elements: Mapping[str, float]


def as_recorded(
    snapshot: Snapshot,
    years: Sequence[GroupYear],
    materials: Sequence[Feedstuff],
    *,
    days: tuple[date, date],
    planned: bool,
) -> Programme | None:
    """Return what was given, or stands planned, between two days; None = nothing."""
    held = {
        one.group.key: [g for g in feedings(snapshot, one.group, *days) if g.planned is planned]
        for one in years
    }
    if not any(held.values()):
        return None
    puts = [
        _Put(one.group.area_m2, g.product, g.material, g.elements)
        for one in years
        for g in held[one.group.key]
    ]
    labour = sum(
        pass_cost(snapshot, one.group)[0] * len(_passes(held[one.group.key])) for one in years
    )
    area = sum(one.group.area_m2 for one in years)
    passes = sum(len(_passes(held[y.group.key])) * y.group.area_m2 for y in years) / area
    name = "planned in the record" if planned else "as given"
    return _joined(name, days, puts, materials=materials, labour=labour, area=area, passes=passes)


def as_advised(plan: FeedPlan, days: tuple[date, date]) -> Programme | None:
    """Return what a plan brings between two days; None = it has no line."""
    if not plan.lines:
        return None
    plots = {plot.key: plot for plot in plan.problem.plots}
    stuff = {one.name: one for one in plan.problem.materials}
    puts = [
        _Put(
            plots[one.plot].area_m2,
            one.total,
            one.material,
            {e: one.total * share for e, share in stuff[one.material].shares.items()},
        )
        for one in plan.lines
    ]
    counted = {(one.plot, one.window): one.passes for one in plan.lines}
    area = sum(plot.area_m2 for plot in plots.values())
    labour = sum(plots[key].pass_cost * n for (key, _), n in counted.items())
    passes = sum(plots[key].area_m2 * n for (key, _), n in counted.items()) / area
    return _joined(
        "advised", days, puts,
        materials=plan.problem.materials, labour=labour, area=area, passes=passes,
    )  # fmt: skip


def _passes(held: Sequence[Given]) -> set[date]:
    return {one.day for one in held}


def _joined(
    name: str,
    days: tuple[date, date],
    puts: Sequence[_Put],
    *,
    materials: Sequence[Feedstuff],
    labour: float,
    area: float,
    passes: float,
) -> Programme:
    stuff = {one.name: one for one in materials}
    priced = all(p.material in stuff for p in puts)
    product = sum(
        p.product * p.area_m2 / 1000 * stuff[p.material].price_kg
        for p in puts
        if p.material in stuff
    )

    def spread(of: str) -> float:
        """Return an effect of the materials over the whole area [g/m2]."""
        held = ((getattr(stuff[p.material], of) or 0.0, p) for p in puts if p.material in stuff)
        return sum(size / 100 * p.product * p.area_m2 for size, p in held) / area

    return Programme(
        name,
        *days,
        {e: sum(p.elements.get(e, 0.0) * p.area_m2 for p in puts) / area for e in PLANNED},
        product + labour if priced else None,
        spread("caco3"),
        spread("salt_index"),
        len({p.material for p in puts}),
        passes,
    )


def excess(plan: FeedPlan) -> Mapping[tuple[str, str], float]:
    """Return what a plan brings over the need [g/m2] by group and element, without nitrogen.

    It rides along in materials that are bought for another element.
    """
    found = {}
    for plot in plan.problem.plots:
        given = brought(plan.problem, plan.lines, plot.key)
        for element in PLANNED[1:]:
            over = given[element] - plot.elements.get(element, 0.0)
            if over > 0.05:
                found[plot.key, element] = over
    return found
