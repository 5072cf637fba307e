"""What each group needs, as rows: nitrogen by month, elements by year, soil and leaf beside."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.feed import ELEMENTS, clippings_nitrogen, leaf_range, soil_index, thresholds
from greenwright.feed.need import ElementNeed
from greenwright.feed.record import Group
from greenwright.feed.thresholds import CLASSICAL, EXTRACTANT, MINIMUM
from greenwright.feed.year import GroupYear, Held, NitrogenMonth

NOTHING = normal_estimate(0.0, 0.0, "g/m2", basis="model")
"""A part that an element does not have."""


def named(record: Snapshot, group: Group) -> str:
    """Return how a row names a group: a green that stands alone by its own key."""
    alone = any(green.green == group.key for green in record.greens)
    return group.key if alone else f"group:{group.key}"


def need_rows(record: Snapshot, years: Sequence[GroupYear]) -> tuple[Row, ...]:
    """Return the findings: for each group nitrogen by month and year, then the elements."""
    rows: list[Row] = []
    for one in years:
        where = {"green": named(record, one.group), "year": one.year}
        rows += [{**where, **_month(m)} for m in one.months]
        rows += [{**where, **_whole(one)}] if one.nitrogen else []
        rows += [{**where, **_element(h, one.group.rootzone)} for h in one.elements]
    return tuple(rows)


def _parts(growth: Estimate, reserve: Estimate, soil: Estimate | None) -> Row:
    return {"growth": growth, "reserve": reserve, "soil": soil}


def _month(one: NitrogenMonth) -> Row:
    verdict, reason = _month_verdict(one)
    return {
        "element": "N",
        "month": one.month,
        "need": one.need,
        "parts": _parts(one.need, NOTHING, NOTHING),
        "verdict": verdict,
        "reason": reason,
        "given": one.given,
        "growth_potential": one.growth,
    }


def _month_verdict(one: NitrogenMonth) -> tuple[str, str]:
    if not one.known:
        return "test first", "the record holds no weather of this month"
    if one.need.value <= value("feed.least_pass"):
        return "not needed", "growth asks for less than a pass brings"
    return "needed", "the ceiling times growth potential"


def _whole(one: GroupYear) -> Row:
    assert one.nitrogen is not None
    unknown = [m.month for m in one.months if not m.known]
    return {
        "element": "N",
        "month": None,
        "need": one.nitrogen,
        "parts": _parts(one.nitrogen, NOTHING, NOTHING),
        "verdict": "test first" if len(unknown) > 6 else "needed",
        "reason": f"the weather of {len(unknown)} months is not known"
        if unknown
        else "the months together",
        "given": sum(m.given for m in one.months),
        "growth_potential": None,
    }


def _element(held: Held, rootzone: str) -> Row:
    need = held.need
    return {
        "element": need.element,
        "month": None,
        "need": need.need,
        "parts": _parts(need.use, need.reserve, need.present),
        "verdict": need.verdict,
        "reason": need.reason,
        "given": need.given,
        "balance": need.balance,
        "chance": need.chance,
        "test_worth": need.worth,
        "content": _content(held),
        "index": soil_index(need.element, held.content[0]) if held.content else None,
        "n_tests": held.n,
        "tested": held.day,
        "borrowed": held.borrowed,
        "outside": held.outside,
        "against": [
            {
                "source": t.source,
                "low": t.low,
                "high": t.high,
                "need": _by(held, t.source) and _by(held, t.source).need,
                "verdict": _by(held, t.source).verdict if _by(held, t.source) else "test first",
            }
            for t in thresholds(need.element, EXTRACTANT, rootzone)
        ],
    }


def _by(held: Held, source: str) -> ElementNeed | None:
    return {MINIMUM: held.need, CLASSICAL: held.other}[source]


def _content(held: Held) -> Estimate | None:
    if held.content is None:
        return None
    middle, sd = held.content
    made = normal_estimate(middle, sd, "mg/kg", n=held.n)
    return Estimate(made.value, made.unit, sd, max(made.low, 0.0), made.high, made.level, held.n)


def group_rows(record: Snapshot, years: Sequence[GroupYear]) -> tuple[Row, ...]:
    """Return who is fed alike, the ceiling, and what clippings say."""
    return tuple(
        {
            "group": named(record, one.group),
            "greens": list(one.group.greens),
            "area_m2": one.group.area_m2,
            "area_assumed": one.group.assumed,
            "grass": one.group.grass,
            "rootzone": one.group.rootzone,
            "ceiling": one.ceiling.g_m2 if one.ceiling else None,
            "ceiling_entered": bool(one.ceiling and not one.ceiling.key),
            "ratio": {
                "value": one.ratio.value,
                "raw": one.ratio.raw,
                "why": one.ratio.why,
                "bounded": one.ratio.bounded,
            },
            "clippings": _clippings(one),
            "soil_ph": one.soil_ph,
            "growth": [
                {
                    "month": month.month,
                    "growth_potential": month.growth,
                    "t_mean_c": month.t_mean_c,
                    "unseen": month.unseen,
                }
                for month in one.growth
                if month is not None
            ],
        }
        for one in years
    )


def _clippings(one: GroupYear) -> Row | None:
    """Return the nitrogen that clippings took in the last weeks, at the mean yield of a mowing."""
    held = one.clips
    if held.yield_ml_m2 is None:
        return None
    dry, nitrogen = clippings_nitrogen(
        held.yield_ml_m2 * held.mowings, one.group.grass, one.leaf.get("N")
    )
    return {
        "yield_ml_m2": held.yield_ml_m2,
        "days_read": held.days,
        "mowings": held.mowings,
        "days": value("feed.ratio_days"),
        "dry_mass": dry,
        "nitrogen": nitrogen,
    }


def leaf_rows(record: Snapshot, years: Sequence[GroupYear]) -> tuple[Row, ...]:
    """Return the contents of leaves against their ranges, as tested."""
    rows = []
    for one in years:
        for element, content in one.leaf.items():
            held = leaf_range(element, one.group.grass)
            if held:
                rows.append(
                    {
                        "group": named(record, one.group),
                        "element": element,
                        "content": content,
                        "unit": held.unit,
                        "low": held.low,
                        "high": held.high,
                        "verdict": held.verdict(content),
                    }
                )
    return tuple(rows)


def keys_of(years: Sequence[GroupYear]) -> frozenset[str]:
    """Return the evidence keys that the needs rest on."""
    used = {"feed.nitrogen_cv", "feed.growth_sd", "feed.least_pass", "clippings.ratio_clamp"}
    used |= {"clippings.ratio_min_growth", "feed.ratio_suspended", "soil.use_cv", "soil.test_cv"}
    used |= {"feed.density_cv", "soil.bulk_density_default", "feed.test_cost", "feed.test_years"}
    used |= {"feed.shortage_factor", "feed.between_greens_cv"}
    for one in years:
        used |= {one.ceiling.key} if one.ceiling and one.ceiling.key else set()
        used |= {r.key for e in one.leaf if (r := leaf_range(e, one.group.grass))}
        for element in ELEMENTS:
            used.add(f"leaf.ratio_to_n.{element}")
            used |= {t.key for t in thresholds(element, EXTRACTANT, one.group.rootzone)}
    return frozenset(used)
