"""A year of feeding for every group of greens: what it needs, why, and what it got."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import hypot, sqrt

from greenwright.base.errors import UnknownKey
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import look_up, value
from greenwright.base.values import Snapshot
from greenwright.feed.demand import (
    Ceiling,
    Ratio,
    bounded_below,
    growth_ratio,
    month_need,
    nitrogen_ceiling,
    total,
)
from greenwright.feed.limits import FeedLimits, feed_limits
from greenwright.feed.materials import Feedstuff
from greenwright.feed.need import ElementNeed, Stakes, element_need, group_content
from greenwright.feed.record import (
    Clipped,
    Given,
    Group,
    brought_by,
    clipped,
    feedings,
    groups,
    lab_means,
    soil_tests,
    wanted_yield,
)
from greenwright.feed.season import Month, year_growth
from greenwright.feed.soil import ELEMENTS
from greenwright.feed.thresholds import (
    CLASSICAL,
    EXTRACTANT,
    MINIMUM,
    outside_guideline,
    thresholds,
)

LIMIT_CEILING = "n_month_g_m2"
LEAST = 0.05
"""An element's need of a year [g/m2] under which nothing is bought for it."""


@dataclass(frozen=True, slots=True)
class NitrogenMonth:
    """Nitrogen of one month: need and what was given [g/m2]; known = its weather is."""

    month: int
    need: Estimate
    growth: float | None
    given: float
    known: bool


@dataclass(frozen=True, slots=True)
class Held:
    """One element against its sources: the guideline's balance rules, the other stands beside.

    Args:
        need: by the minimum guideline.
        other: by classical sufficiency, None where no test speaks.
        content: mean test [mg/kg] and its sd, None where none is held to anything.
        n, day, borrowed: tests behind it, the oldest, and whether they are of other greens.
        outside: why the guideline does not speak of this soil.
    """

    need: ElementNeed
    other: ElementNeed | None
    content: tuple[float, float] | None
    n: int
    day: date | None
    borrowed: bool
    outside: str


@dataclass(frozen=True, slots=True)
class GroupYear:
    """All that is known of a group's year.

    Args:
        year: calendar year.
        group, limits: who they are and what may not be broken.
        ceiling: None = no ceiling is published for the grass, and none was entered.
        ratio: correction by clippings; clips: what it was made from.
        months: nitrogen, January first, empty without a ceiling; nitrogen: the year.
        elements: K, P, Ca, Mg, S.
        given: feedings of the year; leaf: contents of leaves; soil_ph: None = not tested.
    """

    year: int
    group: Group
    limits: FeedLimits
    ceiling: Ceiling | None
    ratio: Ratio
    clips: Clipped
    growth: tuple[Month | None, ...]
    months: tuple[NitrogenMonth, ...]
    nitrogen: Estimate | None
    elements: tuple[Held, ...]
    given: tuple[Given, ...]
    leaf: Mapping[str, float]
    soil_ph: float | None


def feed_year(
    snapshot: Snapshot, year: int, materials: Sequence[Feedstuff] = ()
) -> tuple[GroupYear, ...]:
    """Return what each group of greens needs in a year.

    Args:
        snapshot: the record.
        year: calendar year.
        materials: decide the price of an element, for what a test is worth.
    """
    return tuple(_group_year(snapshot, year, group, materials) for group in groups(snapshot))


def _group_year(
    snapshot: Snapshot, year: int, group: Group, materials: Sequence[Feedstuff]
) -> GroupYear:
    limits = feed_limits(snapshot, group.greens)
    growth = year_growth(snapshot, year, group.grass)
    clips, ceiling = clipped(snapshot, group), ceiling_of(group, limits, year)
    now = year_growth(snapshot, snapshot.as_of.year, group.grass)[snapshot.as_of.month - 1]
    ratio = growth_ratio(
        wanted_yield(snapshot, group),
        clips.yield_ml_m2,
        growth=now.growth if now else 0.0,
        suspended=clips.suspended,
    )
    given = feedings(snapshot, group, date(year, 1, 1), date(year, 12, 31))
    months = _months(snapshot, year, growth, ceiling=ceiling, ratio=ratio, given=given)
    leaf = lab_means(snapshot, "leaf", ("N", *ELEMENTS, "Fe", "Mn", "Zn", "Cu", "B"), group.greens)
    soil = lab_means(snapshot, "soil", ("pH", "CEC"), group.greens)
    whole = total([m.need for m in months]) if months else None
    base = GroupYear(
        year, group, limits, ceiling, ratio, clips, growth, months, whole, (), given, leaf,
        soil.get("pH"),
    )  # fmt: skip
    held = (_element(snapshot, base, e, materials, cec=soil.get("CEC")) for e in ELEMENTS)
    return replace(base, elements=tuple(held))


def ceiling_of(group: Group, limits: FeedLimits, year: int) -> Ceiling | None:
    """Return the published ceiling of a grass, else the monthly limit that the course entered."""
    try:
        return nitrogen_ceiling(group.grass)
    except UnknownKey:
        entered = limits.strictest(LIMIT_CEILING, date(year, 7, 1))
        return None if entered is None else Ceiling(entered, "")


def _months(
    snapshot: Snapshot,
    year: int,
    growth: Sequence[Month | None],
    *,
    ceiling: Ceiling | None,
    ratio: Ratio,
    given: Sequence[Given],
) -> tuple[NitrogenMonth, ...]:
    if ceiling is None:
        return ()
    made = []
    for number, one in enumerate(growth, 1):
        put = brought_by([g for g in given if g.day.month == number and not g.planned], "N")
        ahead = date(year, number, monthrange(year, number)[1]) > snapshot.as_of
        corrected = ratio.value if ahead else 1.0
        need = (
            month_need(one.growth, ceiling.g_m2, corrected, ahead_share=one.unseen)
            if one
            else anything(ceiling.g_m2)
        )
        made.append(NitrogenMonth(number, need, one.growth if one else None, put, one is not None))
    return tuple(made)


def anything(most: float) -> Estimate:
    """Return the belief about a month of which nothing is known: from nought to the most, alike."""
    return Estimate(most / 2, "g/m2", most / sqrt(12), 0.05 * most, 0.95 * most, basis="prior")


def _element(
    snapshot: Snapshot,
    year: GroupYear,
    element: str,
    materials: Sequence[Feedstuff],
    *,
    cec: float | None,
) -> Held:
    every = soil_tests(snapshot, element)
    usable = [t for t in every if t.extractant == EXTRACTANT]
    own = [t for t in usable if t.green in year.group.greens]
    others = [t for t in usable if t.green not in year.group.greens]
    tests = group_content(own, others, greens=len(year.group.greens))
    first = tests.day if tests else None
    strange = sorted({t.extractant or "no extractant named" for t in every} - {EXTRACTANT})
    untested = f"tested with {', '.join(strange)}, for which no threshold was read"
    start = first + timedelta(days=1) if first else date(year.year, 1, 1)
    since = feedings(snapshot, year.group, start, date(year.year, 12, 31))
    put = brought_by(since, element)
    stakes = Stakes(year.group.area_m2, price_of(element, materials))
    ends = {t.source: t for t in thresholds(element, EXTRACTANT, year.group.rootzone)}
    found = {
        source: element_need(
            element,
            use_of(year, element, since=first),
            tests,
            reserve_mg_kg=ends[source].low,
            density_kg_m3=value("soil.bulk_density_default"),
            stakes=stakes,
            on=snapshot.as_of,
            given_g_m2=put,
            untested=untested if strange else "",
        )
        for source in (MINIMUM, CLASSICAL)
    }
    content = (tests.mg_kg, tests.mg_kg * tests.cv) if tests else None
    return Held(
        found[MINIMUM],
        found[CLASSICAL] if tests else None,
        content,
        tests.n if tests else 0,
        first,
        tests.borrowed if tests else False,
        outside_guideline(year.soil_ph, cec),
    )


def price_of(element: str, materials: Sequence[Feedstuff]) -> float:
    """Return the price of a gram of an element from the cheapest material that brings it."""
    prices = [m.price_kg / 1000 / m.share(element) for m in materials if m.share(element)]
    return min(prices, default=value("feed.price_guess"))


def use_of(year: GroupYear, element: str, *, since: date | None) -> Estimate:
    """Return what the grass takes up of an element from a day to the end of the year [g/m2].

    Nitrogen's need of those days times the ratio of the element to nitrogen in leaves (the
    group's own leaf test, else the table): an upper bound of the use.
    """
    entry = look_up(f"leaf.ratio_to_n.{element}")
    own = year.leaf.get(element), year.leaf.get("N")
    ratio = own[0] / own[1] if own[0] and own[1] else float(entry.value)  # type: ignore[arg-type]
    doubt = 0.0 if own[0] and own[1] else (entry.sd or 0.0) / float(entry.value)  # type: ignore[arg-type]
    nitrogen = _since(year, since)
    centre = nitrogen.value * ratio
    sd = hypot(nitrogen.sd * ratio, centre * hypot(doubt, value("soil.use_cv")))
    return bounded_below(normal_estimate(centre, sd, "g/m2", basis="model"))


def _since(year: GroupYear, since: date | None) -> Estimate:
    """Return nitrogen's need from a day to the end of the year, months in part."""
    if not year.months:
        return anything(0.0)
    number = year.year
    start = since + timedelta(days=1) if since and since.year == number else date(number, 1, 1)
    parts = []
    for one in year.months:
        length = monthrange(number, one.month)[1]
        left = min(max((date(number, one.month, length) - start).days + 1, 0), length) / length
        parts.append(scaled(one.need, left))
    before = max((date(number, 1, 1) - since).days - 1, 0) / 365.25 if since else 0.0
    return total([*parts, *([scaled(total(parts), before)] if before else [])])


def scaled(held: Estimate, by: float) -> Estimate:
    """Return a share of an estimate of an amount."""
    ends = (held.value * by, held.sd * by, held.low * by, held.high * by)
    return Estimate(ends[0], held.unit, *ends[1:], held.level, held.n, held.basis)
