"""From what a year needs to the problem of a plan: rooms left, passes, labour, materials."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import inf
from statistics import mean

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.feed.materials import Feedstuff
from greenwright.feed.problem import Plot, Problem
from greenwright.feed.record import AREA, Group, brought_by
from greenwright.feed.windows import Window, half_months, opening
from greenwright.feed.year import LEAST, GroupYear

COST = "labour.cost_per_h"
HOURS = "labour.feed.hours_per_18"


def problem_of(
    snapshot: Snapshot, years: Sequence[GroupYear], materials: Sequence[Feedstuff]
) -> Problem:
    """Return the problem of feeding what is still needed, from tomorrow to the end of the year.

    Months whose weather is not known, elements to be tested first, and what was given or stands
    planned in the record are not in it.
    """
    windows = windows_of(snapshot.as_of, years)
    return Problem(
        tuple(_plot(snapshot, one, windows) for one in years if one.months),
        windows,
        tuple(materials),
        tolerance=value("feed.nitrogen_tolerance"),
        salt_pass=value("feed.salt_application"),
        another_material=value("feed.another_material"),
        weighing_out=value("feed.weighing_out"),
    )


def windows_of(on: date, years: Sequence[GroupYear]) -> tuple[Window, ...]:
    """Return the half months from the day after to the end of the year, of known months."""
    if not years:
        return ()
    number = years[0].year
    first = max(on + timedelta(days=1), date(number, 1, 1))
    held: dict[int, list[tuple[float, float | None]]] = {}
    for one in years:
        for month in one.growth:
            if month is not None:
                held.setdefault(month.month, []).append((month.growth, month.t_max_c))
    growth = {
        month: (mean(g for g, _ in seen), max((t for _, t in seen if t is not None), default=None))
        for month, seen in held.items()
    }
    return half_months(first, date(number, 12, 31), growth)


def _plot(snapshot: Snapshot, one: GroupYear, windows: Sequence[Window]) -> Plot:
    put = brought_by(one.given, "N")
    by_month = {m.month: put_in(one, m.month) for m in one.months}
    year_limit = one.limits.strictest("n_year_g_m2", date(one.year, 7, 1))
    months = {w.month for w in windows}
    return Plot(
        one.group.key,
        one.group.greens,
        one.group.area_m2,
        nitrogen={m: left for m in sorted(months) if (left := still_needed(one, m)) > 0},
        elements={
            h.need.element: h.need.need.value
            for h in one.elements
            if h.need.verdict == "needed" and h.need.need and h.need.need.value > LEAST
        },
        openings=tuple(opening(w, one.limits) for w in windows),
        pass_cost=pass_cost(snapshot, one.group)[0],
        n_year=inf if year_limit is None else max(year_limit - put, 0.0),
        n_month={
            m: max(most - by_month.get(m, 0.0), 0.0)
            for m in months
            if (most := one.limits.strictest("n_month_g_m2", date(one.year, m, 15))) is not None
        },
        phosphorus=one.limits.p_allowed is not False,
        sour=_sour(one),
        used=_used(one),
    )


def put_in(one: GroupYear, month: int) -> float:
    """Return the nitrogen given or planned in a month [g/m2]."""
    return brought_by([g for g in one.given if g.day.month == month], "N")


def still_needed(one: GroupYear, month: int) -> float:
    """Return the nitrogen still needed in a month [g/m2]; too little for a pass is nothing."""
    held = one.months[month - 1]
    if not held.known:
        return 0.0
    left = held.need.value - put_in(one, month)
    return left if left > value("feed.least_pass") else 0.0


def _sour(one: GroupYear) -> float:
    """Return what a kilogram of CaCO3 costs where the soil is sour already."""
    if one.soil_ph is None or one.soil_ph >= value("feed.ph_watch"):
        return 0.0
    return value("feed.lime_price")


def _used(one: GroupYear) -> Mapping[str, float]:
    found: dict[str, float] = {}
    for held in one.given:
        found[held.material] = found.get(held.material, 0.0) + held.product
    return found


def pass_cost(snapshot: Snapshot, group: Group) -> tuple[float, float, tuple[str, ...]]:
    """Return cost and hours of one feeding pass over a group, and the evidence that stands in."""
    rows = [r for r in snapshot.crew if r.practice == "feed" and r.minutes]
    mine = [r for r in rows if r.group == group.key] or [r for r in rows if not r.group]
    if mine:
        row = mine[0]
        hours = (row.minutes or 0.0) * (row.people or 1.0) / 60
        if row.cost_per_h is not None:
            return hours * row.cost_per_h, hours, ()
        return hours * value(COST), hours, (COST,)
    hours = value(HOURS) * group.area_m2 / value(AREA)
    return hours * value(COST), hours, (HOURS, AREA, COST)
