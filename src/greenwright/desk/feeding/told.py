"""What is not known, what to beware of, what studies say, sand, and the log of what went out."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Sequence
from dataclasses import asdict
from datetime import timedelta

from greenwright.base.evidence import look_up, value
from greenwright.base.values import Snapshot, WeatherDay, Work
from greenwright.desk import cautions
from greenwright.desk.answering import Row
from greenwright.desk.feeding.needs import named
from greenwright.feed import ratio_warning
from greenwright.feed.claims import Touch, touched
from greenwright.feed.dressing import sand_year
from greenwright.feed.limits import APPLICATION_DEFAULT, HEAT
from greenwright.feed.materials import Feedstuff
from greenwright.feed.plan import FeedPlan
from greenwright.feed.record import soil_tests
from greenwright.feed.year import GroupYear

LOGGED = ("feed", "lime", "regulator", "wetting_agent", "plant_protection")
"""Practices that a compliance log holds."""
AHEAD_D = 3
_MONTHS = tuple(month_name[1:])


def gap_rows(
    record: Snapshot, years: Sequence[GroupYear], unpriced: Sequence[str], plan: FeedPlan
) -> tuple[Row, ...]:
    """Return what is not known, and the cheapest way to tell."""
    return (
        *_weather_gaps(years),
        *_ceiling_gaps(record, years),
        *_test_gaps(record, years),
        *_store_gaps(unpriced, plan),
        *_entry_gaps(years),
    )


def _gap(about: str, text: str, why: str, reading: str = "") -> Row:
    return {
        "about": about,
        "text": text,
        "why": why,
        "reading": {"text": reading} if reading else None,
    }


def _weather_gaps(years: Sequence[GroupYear]) -> list[Row]:
    unknown = sorted({m.month for one in years for m in one.months if not m.known})
    if not unknown:
        return []
    names = ", ".join(_MONTHS[m - 1] for m in unknown)
    return [
        _gap(
            "weather",
            f"The record holds no weather of {names}",
            "their nitrogen is anywhere between nought and the ceiling, and is not planned",
            "a year of daily temperatures loaded once, from the nearest station",
        )
    ]


def _ceiling_gaps(record: Snapshot, years: Sequence[GroupYear]) -> list[Row]:
    return [
        _gap(
            "ceiling",
            f"No monthly ceiling of nitrogen is published for {one.group.grass} "
            f"({named(record, one.group).removeprefix('group:')})",
            "without it no nitrogen is worked out there",
            "a monthly limit of nitrogen entered for these greens: it is taken as the ceiling",
        )
        for one in years
        if one.ceiling is None
    ]


def _test_gaps(record: Snapshot, years: Sequence[GroupYear]) -> list[Row]:
    rows = []
    for one in years:
        wanted = [h.need for h in one.elements if h.need.verdict == "test first"]
        if wanted:
            where = one.group.greens[0]
            names = ", ".join(n.element for n in wanted)
            label = named(record, one.group).removeprefix("group:")
            rows.append(
                _gap(
                    "soil",
                    f"{names} on {label}: {wanted[0].reason}",
                    "nothing is bought for it before it is known to be needed",
                    f"one Mehlich-3 soil test, 0 to 10 cm, on green {where}",
                )
            )
    return rows


def _store_gaps(unpriced: Sequence[str], plan: FeedPlan) -> list[Row]:
    rows = []
    if unpriced:
        rows.append(
            _gap(
                "price",
                f"No usable price is entered for {', '.join(unpriced)}",
                "what has no price cannot be weighed against the others; a price per litre "
                "needs the density",
                "the price, with its unit, in the materials",
            )
        )
    lacking = sorted({e for _, e, _ in plan.short if not _brings(plan, e)})
    if lacking:
        rows.append(
            _gap(
                "materials",
                f"No material of the record brings {', '.join(lacking)}",
                "the need stands, and no plan can meet it",
                "a plain material with its grade and price entered in the materials",
            )
        )
    return rows


def _brings(plan: FeedPlan, element: str) -> bool:
    return any(one.share(element) for one in plan.problem.materials)


def _entry_gaps(years: Sequence[GroupYear]) -> list[Row]:
    rows = []
    if any(one.limits.p_allowed is None for one in years):
        rows.append(
            _gap(
                "rules",
                "Nobody entered whether phosphorus is allowed here",
                "many places bar it without a soil test; rules are asked, never assumed",
                "one line in limits.csv, once the local rule is known",
            )
        )
    if any(one.limits.buffer_m is None for one in years):
        rows.append(
            _gap(
                "rules",
                "No distance to water was entered",
                "local codes set one; 3 to 6 m are examples of other places",
                "one line in limits.csv, once the local code is known",
            )
        )
    if any("target" in one.ratio.why for one in years):
        rows.append(
            _gap(
                "target:clippings",
                "No target for clippings was entered, so they do not correct nitrogen",
                "the growth curve is an upper envelope; what was mown tells what grew",
                "a target for clippings",
            )
        )
    return rows


def caution_rows(record: Snapshot, years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return what to beware of: tests, heat, rain, tanks, water, labels."""
    rows = [*_soil_cautions(record, years), *_weather_cautions(record, plan)]
    if any(o.assumed for p in plan.problem.plots for o in p.openings):
        most = value(APPLICATION_DEFAULT)
        rows.append(
            _caution(
                "data",
                f"No limit of nitrogen at once was entered: {most:g} g/m2 of a spray left on the "
                "leaf stands in, half of it in heat.",
            )
        )
    buffers = [one.limits.buffer_m for one in years if one.limits.buffer_m is not None]
    width = f"at least {max(buffers):g} m, as entered" if buffers else "as the local code says"
    rows += [
        _caution(
            "safety",
            f"Near water keep the distance ({width}), nothing on hard surfaces or frozen ground, "
            "sweep up what falls beside, and nothing before heavy rain.",
        ),
        _caution(
            "safety",
            "Tank: water first, agitation, dry, liquid, surfactant last; never concentrated "
            "calcium with sulfate or phosphate; a jar test before a new mixture.",
        ),
    ]
    return (*rows, *cautions.safety())


def _caution(kind: str, text: str) -> Row:
    return {"kind": kind, "text": text}


def _soil_cautions(record: Snapshot, years: Sequence[GroupYear]) -> list[Row]:
    rows = []
    if any(soil_tests(record, e) for e in ("K", "Ca", "Mg")):
        rows.append(
            _caution(
                "data",
                "Ratios between calcium, magnesium and potassium are not used: "
                f"{ratio_warning()[0]}.",
            )
        )
    for one in years:
        said = next((h.outside for h in one.elements if h.outside), "")
        if said:
            where = named(record, one.group).removeprefix("group:")
            rows.append(
                _caution("data", f"The minimum guideline does not speak of {where}: {said}.")
            )
    rows += [
        _caution("data", f"{n.element}: {n.reason}.")
        for one in years[:1]
        for n in (h.need for h in one.elements)
        if "threshold" in n.reason
    ]
    return rows


def _weather_cautions(record: Snapshot, plan: FeedPlan) -> list[Row]:
    rows = []
    last = record.as_of + timedelta(days=AHEAD_D)
    wet = sorted(
        {
            d.date
            for d in record.weather
            if d.kind == "forecast" and record.as_of < d.date <= last
            if (d.rain_mm or 0.0) >= value("feed.rain_hold_mm")
        }
    )
    rows += [
        _caution("weather", f"Rain is forecast on {day.isoformat()}: feed nothing the day before.")
        for day in wet
    ]
    used = {one.window for one in plan.lines}
    if any(plan.problem.windows[w].hot for w in used):
        rows.append(
            _caution(
                "weather",
                f"Over {value(HEAT):g} degC leaves burn: halve the rate, spray early, or water in.",
            )
        )
    return rows


def claim_rows(years: Sequence[GroupYear], plan: FeedPlan) -> tuple[Row, ...]:
    """Return what studies say of nutrition and disease, where the plan touches it."""
    stuff = {one.name: one for one in plan.problem.materials}
    used = {one.material for one in plan.lines}
    elements = {e for name in used for e in stuff[name].shares}
    tests = [
        h.content[0] for one in years for h in one.elements if h.content and h.need.element == "K"
    ]
    touch = Touch(
        frozenset(g for one in years for g in one.group.grasses),
        frozenset(elements),
        frozenset(name.lower() for name in used),
        max((one.nitrogen.value for one in years if one.nitrogen), default=0.0),
        any(_acidifies(stuff[name]) for name in used),
        min(tests, default=None),
    )
    return tuple(asdict(one) for one in touched(touch))


def _acidifies(one: Feedstuff) -> bool:
    return bool(one.share("N")) and (one.caco3 or 0.0) < 0


def sand_rows(record: Snapshot, years: Sequence[GroupYear]) -> tuple[Row, ...]:
    """Return sand asked for by growth and by dilution, what was put on, and what holes took."""
    return tuple(
        {
            "green": named(record, one.group),
            **asdict(sand_year(record, one.group, one.growth, one.year)),
            "om_wanted_pct": value("om.limit"),
        }
        for one in years
    )


def log_rows(record: Snapshot, year: int) -> tuple[Row, ...]:
    """Return what was put out in a year: who, what, where, rate, weather."""
    stuff = {m.material: m for m in record.materials}
    days = {d.date: d for d in record.weather if d.kind == "observed"}
    rows = [
        w
        for w in record.work
        if w.practice in LOGGED and w.status == "done" and w.date.year == year
        if w.date <= record.as_of
    ]
    return tuple(
        _log(record, w, stuff.get(w.material), days.get(w.date))
        for w in sorted(rows, key=lambda w: (w.date, str(w.time or "")))
    )


def _log(record: Snapshot, work: Work, material: object, day: WeatherDay | None) -> Row:
    areas = {g.green: g.area_m2 for g in record.greens}
    greens = record.greens_of(work.green)
    sizes = [areas[g] for g in greens]
    # Without every area nobody knows how much went out in all: no number stands in a log for that.
    area = None if None in sizes else sum(x or 0.0 for x in sizes)
    known = work.amount is not None and area is not None
    grams = work.unit in ("g/m2", "")
    return {
        "date": work.date,
        "time": work.time,
        "practice": work.practice,
        "greens": list(greens),
        "material": work.material,
        "active": getattr(material, "active", ""),
        "registration": getattr(material, "registration", ""),
        "rate": work.amount,
        "unit": work.unit,
        "area_m2": area,
        "amount": work.amount * work.passes * area / 1000 if known else None,
        "amount_unit": "kg" if grams else "L",
        "carrier_l_ha": work.carrier_l_ha,
        "target": work.target,
        "machine": work.machine,
        "operator": work.operator,
        "licence": work.licence,
        "weather": _weather_of(day),
    }


def _weather_of(day: WeatherDay | None) -> Row | None:
    if day is None:
        return None
    return {
        "t_min_c": day.t_min_c,
        "t_max_c": day.t_max_c,
        "rain_mm": day.rain_mm,
        "wind_m_s": day.wind_m_s,
        "rh_mean_pct": day.rh_mean_pct,
    }


def keys_of(plan: FeedPlan, claims: Sequence[Row]) -> frozenset[str]:
    """Return the evidence keys that plan, claims and sand rest on."""
    used = {str(row["key"]) for row in claims}
    used |= {"feed.nitrogen_tolerance", "feed.salt_application", "feed.pass_interval_d"}
    used |= {"feed.another_material", "feed.weighing_out", "sand.monthly_maximum", "sand.dusting"}
    used |= {"om.limit", "om.density_organic", "om.density_mineral", "feed.rain_hold_mm", HEAT}
    used |= {"soil.cation_ratio_warning", "feed.wind_hold"}
    if any(o.assumed for p in plan.problem.plots for o in p.openings):
        used.add(APPLICATION_DEFAULT)
    return frozenset(key for key in used if look_up(key))


def holds() -> tuple[str, ...]:
    """Return the conditions under which a feeding day is left, for the crew's sheet."""
    return (
        f"rain of {value('feed.rain_hold_mm'):g} mm or more is expected within a day",
        f"wind is over {value('feed.wind_hold'):g} m/s, or the label says less",
        f"it will be over {value(HEAT):g} degC and the spray is not watered in",
        "the ground is frozen, or water stands on it",
        "the label asks for anything that is not at hand: it is law",
    )
