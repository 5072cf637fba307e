"""The plan as choices: material, days, rate, mass, cost, tank sums, and what each line is for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from math import ceil

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.desk.feeding.needs import named
from greenwright.feed.arrange import pass_cost
from greenwright.feed.materials import Feedstuff, supplied
from greenwright.feed.plan import NO_MATERIAL, NO_ROOM, FeedPlan
from greenwright.feed.problem import Line
from greenwright.feed.programmes import as_advised, as_recorded, excess
from greenwright.feed.year import GroupYear

WORDS = {
    "n_year_g_m2": "nitrogen a year",
    "n_month_g_m2": "nitrogen a month",
    "n_application_g_m2": "nitrogen at once",
    "salt": "salt in one spray left on the leaf",
    "no_feed": "days without feeding",
    "p_allowed": "phosphorus is not allowed",
    "max_rate": "the label's highest rate or interval",
    "max_per_year": "the label's most in a year",
    "tank": "calcium kept apart from sulfate and phosphate",
    NO_MATERIAL: "no material of the record brings it",
    NO_ROOM: "what brings it brings more nitrogen than growth asks for",
}
"""What a family of limits is called."""


def choice_rows(record: Snapshot, years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return the lines of a plan, windows in order."""
    groups = {one.group.key: one for one in years}
    stuff = {one.name: one for one in plan.problem.materials}
    return tuple(
        _choice(record, plan, one, year=groups[one.plot], stuff=stuff) for one in plan.lines
    )


def _choice(
    record: Snapshot,
    plan: FeedPlan,
    line: Line,
    *,
    year: GroupYear,
    stuff: dict[str, Feedstuff],
) -> Row:
    material, window = stuff[line.material], plan.problem.windows[line.window]
    plot = next(p for p in plan.problem.plots if p.key == line.plot)
    held = plot.openings[line.window]
    mass = line.total * plot.area_m2 / 1000
    carrier, _ = carrier_of(record)
    return {
        "material": line.material,
        "green": named(record, year.group),
        "greens": list(plot.greens),
        "from": held.first or window.first,
        "until": held.last or window.last,
        "rate": line.rate,
        "unit": "g/m2",
        "passes": line.passes,
        "area_m2": plot.area_m2,
        "amount": mass,
        "amount_unit": "kg",
        "cost": mass * material.price_kg,
        "labour_h": pass_cost(record, year.group)[1] * line.passes,
        "supplies": supplied(material, line.total),
        "nitrogen_pass": line.rate * material.share("N"),
        "spray": _spray(line, plot.area_m2, carrier) if material.soluble else None,
        "reason": _reason(line, material, plot.elements),
        "hot": window.hot,
    }


def _spray(line: Line, area_m2: float, carrier_l_ha: float) -> Row:
    """Return the tank sums of one pass: water over all, product in it and in 100 L."""
    water = area_m2 / 10_000 * carrier_l_ha
    return {
        "carrier_l_ha": carrier_l_ha,
        "water_l": water,
        "product_kg": line.rate * area_m2 / 1000,
        "g_per_100_l": line.rate * 1e4 / carrier_l_ha * 100,
    }


def _reason(line: Line, material: Feedstuff, needed: object) -> str:
    wanted = set(needed) if isinstance(needed, dict) else set()
    for_ = [e for e in material.shares if e in wanted and material.share(e)]
    parts = ["nitrogen for the month's growth"] if material.share("N") else []
    parts += [f"{e} that the soil does not hold" for e in for_]
    return " and ".join(parts) or "the need of the year"


def carrier_of(record: Snapshot) -> tuple[float, bool]:
    """Return the water that carries a spray [L/ha] as last recorded, and whether it is assumed."""
    rows = [w for w in record.work if w.practice == "feed" and w.carrier_l_ha]
    last = max(rows, key=lambda w: w.date, default=None)
    if last is None or last.carrier_l_ha is None:
        return value("feed.carrier"), True
    return last.carrier_l_ha, False


def short_rows(record: Snapshot, years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return what the limits keep from being met, with the families that clash."""
    groups = {one.group.key: one.group for one in years}
    because = [WORDS[family] for family in plan.clashes]
    return tuple(
        {
            "green": named(record, groups[key]),
            "element": element,
            "month": month or None,
            "amount": amount,
            "because": because,
        }
        for (key, element, month), amount in plan.short.items()
    )


def shopping(plan: FeedPlan) -> tuple[Row, ...]:
    """Return what the plan uses of each material, what is in the store, and packs to buy."""
    stuff = {one.name: one for one in plan.problem.materials}
    rows = []
    for name, mass in sorted(plan.product_kg.items()):
        one = stuff[name]
        lacking = max(mass - one.stock_kg, 0.0)
        packs = ceil(lacking / one.pack_kg - 1e-9) if one.pack_kg else None
        rows.append(
            {
                "material": name,
                "mass_kg": mass,
                "stock_kg": one.stock_kg,
                "pack_kg": one.pack_kg,
                "packs": packs,
                "buy_kg": packs * one.pack_kg if packs is not None and one.pack_kg else lacking,
                "cost": mass * one.price_kg,
            }
        )
    return tuple(rows)


def programme_rows(record: Snapshot, years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return the plan beside what is planned in the record and the same days of last year."""
    if not years:
        return ()
    number = years[0].year
    first = max(record.as_of + timedelta(days=1), date(number, 1, 1))
    days = (first, date(number, 12, 31))
    if first > days[1]:
        return ()
    before = (_earlier(days[0]), _earlier(days[1]))
    stuff = plan.problem.materials
    held = (
        as_advised(plan, days),
        as_recorded(record, years, stuff, days=days, planned=True),
        as_recorded(record, years, stuff, days=before, planned=False),
    )
    return tuple(asdict(one) for one in held if one)


def _earlier(day: date) -> date:
    leap = day.month == 2 and day.day == 29
    return day.replace(year=day.year - 1, day=28 if leap else day.day)


def excess_rows(record: Snapshot, years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return what rides along over the need."""
    groups = {one.group.key: one.group for one in years}
    return tuple(
        {"green": named(record, groups[key]), "element": element, "amount": amount}
        for (key, element), amount in excess(plan).items()
    )
