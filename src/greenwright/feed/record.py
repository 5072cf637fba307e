"""What a record says for feeding: groups, soil tests, what was put out, clippings, leaves."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import mean

from greenwright.base.evidence import look_up, value
from greenwright.base.values import LabResult, Material, Snapshot, Work
from greenwright.feed.materials import PLANNED, shares_of
from greenwright.feed.need import SoilTest
from greenwright.feed.soil import ELEMENTS, oxide_factor, oxide_name
from greenwright.feed.thresholds import EXTRACTANT

AREA = "labour.greens_area_18"
_FEEDING = ("feed", "lime")
_WHOLE = 18
_MOISTURE_D = 14
_DISEASE_D = 21


@dataclass(frozen=True, slots=True)
class Group:
    """Greens fed alike: key, their keys, area [m2], most common grass and root zone.

    assumed = the area is not entered for all of them.
    """

    key: str
    greens: tuple[str, ...]
    area_m2: float
    grass: str
    grasses: frozenset[str]
    rootzone: str
    assumed: bool


@dataclass(frozen=True, slots=True)
class Clipped:
    """Clippings of late: mean yield [mL/m2], days read, mowings, and why they may mislead."""

    yield_ml_m2: float | None
    days: int
    mowings: int
    suspended: str


@dataclass(frozen=True, slots=True)
class Given:
    """One feeding that a group got: day, material, product [g/m2], elements [g/m2]."""

    day: date
    material: str
    product: float
    elements: Mapping[str, float]
    planned: bool


def groups(snapshot: Snapshot) -> tuple[Group, ...]:
    """Return the groups of greens in play."""
    held = {green.green: green for green in snapshot.greens}
    one = value(AREA) / _WHOLE
    made = []
    for key, keys in sorted(snapshot.groups.items()):
        mine = [held[k] for k in keys]
        made.append(
            Group(
                key,
                keys,
                sum(g.area_m2 or one for g in mine),
                Counter(g.grass for g in mine).most_common(1)[0][0],
                frozenset(g.grass for g in mine),
                Counter(g.rootzone for g in mine).most_common(1)[0][0],
                any(not g.area_m2 for g in mine),
            )
        )
    return tuple(made)


def soil_tests(snapshot: Snapshot, element: str) -> tuple[SoilTest, ...]:
    """Return the newest soil test of an element on each green, thresholds known or not."""
    newest: dict[str, LabResult] = {}
    for row in sorted(snapshot.lab, key=lambda r: r.date):
        if row.medium == "soil" and row.analyte == element and row.date <= snapshot.as_of:
            for green in snapshot.greens_of(row.green):
                kept = newest.get(green)
                # A Mehlich-3 test is not put aside for a newer one that nothing can be held to.
                if kept and kept.extractant == EXTRACTANT != row.extractant:
                    continue
                newest[green] = row
    return tuple(
        SoilTest(
            green,
            row.date,
            row.value,
            (row.depth_cm or 100 * value("soil.depth_default")) / 100,
            row.extractant,
        )
        for green, row in newest.items()
    )


def lab_means(
    snapshot: Snapshot, medium: str, analytes: Iterable[str], greens: Sequence[str]
) -> Mapping[str, float]:
    """Return the mean over greens of the newest laboratory value of each analyte."""
    wanted, named = set(analytes), set(greens)
    newest: dict[tuple[str, str], LabResult] = {}
    for row in sorted(snapshot.lab, key=lambda r: r.date):
        if row.medium == medium and row.analyte in wanted and row.date <= snapshot.as_of:
            for green in named & set(snapshot.greens_of(row.green)):
                newest[row.analyte, green] = row
    found: dict[str, list[float]] = defaultdict(list)
    for (analyte, _), row in newest.items():
        found[analyte].append(row.value)
    return {analyte: mean(values) for analyte, values in found.items()}


def feedings(snapshot: Snapshot, group: Group, first: date, last: date) -> tuple[Given, ...]:
    """Return what a group got, or is planned to get, between two days, over its area."""
    areas = {g.green: g.area_m2 or value(AREA) / _WHOLE for g in snapshot.greens}
    stuff = {m.material: m for m in snapshot.materials}
    found = []
    for row in snapshot.work:
        if row.practice not in _FEEDING or not row.amount or not first <= row.date <= last:
            continue
        late = row.status == "planned" and row.date > snapshot.as_of
        if row.status != "done" and not late:
            continue
        mine = set(snapshot.greens_of(row.green)) & set(group.greens)
        share = sum(areas[g] for g in mine) / group.area_m2
        if share:
            found.append(_given(row, stuff, share, planned=late))
    return tuple(found)


def _given(work: Work, stuff: Mapping[str, Material], share: float, *, planned: bool) -> Given:
    """Return a work row as elements; amounts told as a nutrient are that nutrient."""
    amount = (work.amount or 0.0) * (work.passes or 1.0) * share
    told = work.detail.strip()
    shares = shares_of(stuff[work.material]) if work.material in stuff else {}
    if told.lower().startswith("as "):
        element, brings = _nutrient(told[3:].strip(), amount)
        if not shares.get(element):
            return Given(work.date, work.material, 0.0, {element: brings}, planned)
        amount = brings / shares[element]
    brought = {element: amount * part for element, part in shares.items()}
    return Given(work.date, work.material, amount, brought, planned)


def _nutrient(name: str, amount: float) -> tuple[str, float]:
    """Return an amount told as an element or an oxide as an amount of the element."""
    oxides = {oxide_name(element).lower(): element for element in ELEMENTS}
    if name.lower() in oxides:
        element = oxides[name.lower()]
        return element, amount / oxide_factor(element)
    known = {element.lower(): element for element in PLANNED}
    return known.get(name.lower(), name), amount


def brought_by(held: Iterable[Given], element: str) -> float:
    """Return what feedings brought of an element [g/m2]."""
    return sum(one.elements.get(element, 0.0) for one in held)


def clipped(snapshot: Snapshot, group: Group) -> Clipped:
    """Return the clippings of the last weeks on a group, and why they may mislead."""
    since = snapshot.as_of - timedelta(days=int(value("feed.ratio_days")))
    mine = set(group.greens)
    read = [
        r
        for r in snapshot.readings
        if r.kind == "clippings" and r.green in mine and since < r.date <= snapshot.as_of
    ]
    cuts = {
        w.date
        for w in snapshot.work
        if w.practice == "mow" and w.status == "done" and since < w.date <= snapshot.as_of
        if mine & set(snapshot.greens_of(w.green))
    }
    middle = mean(r.value for r in read) if read else None
    return Clipped(middle, len({r.date for r in read}), len(cuts), _suspended(snapshot, mine))


def _suspended(snapshot: Snapshot, greens: set[str]) -> str:
    ends = look_up("feed.ratio_suspended").value
    assert isinstance(ends, Mapping)
    on = snapshot.as_of
    since = on - timedelta(days=int(ends["regulator_d"]))
    if any(
        w.practice == "regulator" and w.status == "done" and since < w.date <= on
        for w in snapshot.work
        if greens & set(snapshot.greens_of(w.green))
    ):
        return f"a growth regulator went out within {ends['regulator_d']:.0f} days"
    wet = _recent(snapshot, "moisture", greens, on - timedelta(days=_MOISTURE_D))
    if wet and mean(wet) < float(ends["moisture_pct"]):
        return f"soil moisture read under {ends['moisture_pct']:.0f} %: drought"
    sick = _recent(snapshot, "disease", greens, on - timedelta(days=_DISEASE_D))
    if sick and mean(sick) > float(ends["disease_pct"]):
        return f"disease was read on over {ends['disease_pct']:.0f} % of the surface"
    return ""


def _recent(snapshot: Snapshot, kind: str, greens: set[str], since: date) -> list[float]:
    return [
        r.value
        for r in snapshot.readings
        if r.kind == kind and r.green in greens and since < r.date <= snapshot.as_of
    ]


def wanted_yield(snapshot: Snapshot, group: Group) -> float | None:
    """Return the middle of the target entered for clippings [mL/m2], None where none was."""
    for row in snapshot.targets:
        if row.quantity != "clippings" or not set(group.greens) & set(
            snapshot.greens_of(row.green)
        ):
            continue
        late = row.until is not None and row.until < snapshot.as_of
        early = row.from_ is not None and row.from_ > snapshot.as_of
        ends = [x for x in (row.low, row.high) if x is not None]
        if ends and not late and not early:
            return mean(ends)
    return None
