"""A group's sand and organic matter over a year, from the record: asked for, given, diluted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from greenwright.base.evidence import value
from greenwright.base.values import LabResult, Snapshot, Work
from greenwright.feed.record import Group
from greenwright.feed.sand import Dressing, holes, sand_by_growth, sand_to_reach
from greenwright.feed.season import Month

CORING = ("core", "solid_tine", "needle_tine")


@dataclass(frozen=True, slots=True)
class SandYear:
    """Sand of a group's year.

    Args:
        months: what growth asks for, months of known weather only [mm].
        given: sand put on this year [mm]; cored_pct: area cored this year [%].
        om_pct, om_depth_mm, om_day: newest organic matter, None = not tested.
        dilute_mm: sand that would bring it to the share that was held (om.limit).
        fill_l_m2: sand that the year's holes took, None = depth not recorded.
    """

    months: tuple[Dressing, ...]
    given: float
    cored_pct: float
    om_pct: float | None
    om_depth_mm: float | None
    om_day: date | None
    dilute_mm: float | None
    fill_l_m2: float | None


def sand_year(
    snapshot: Snapshot, group: Group, growth: Sequence[Month | None], year: int
) -> SandYear:
    """Return the sand of a group's year."""
    asked = sand_by_growth([m.growth if m else 0.0 for m in growth])
    known = tuple(d for d, m in zip(asked, growth, strict=True) if m is not None)
    done = [
        w
        for w in snapshot.work
        if w.status == "done" and w.date.year == year and w.date <= snapshot.as_of
        if set(group.greens) & set(snapshot.greens_of(w.green))
    ]
    sand = [w for w in done if w.practice == "topdress"]
    cored = [w for w in done if w.practice in CORING]
    om = _newest_om(snapshot, group)
    depth = (om.depth_cm or 0.0) * 10 if om else None
    return SandYear(
        known,
        sum(_on(snapshot, group, w) * (w.amount or 0.0) * w.passes for w in sand),
        sum(_on(snapshot, group, w) * _area(w) for w in cored),
        om.value if om else None,
        depth,
        om.date if om else None,
        sand_to_reach(om.value, depth, value("om.limit")) if om and depth else None,
        sum(_on(snapshot, group, w) * _area(w) / 100 * (w.depth_mm or 0.0) for w in cored)
        if cored and all(w.depth_mm for w in cored)
        else None,
    )


def _on(snapshot: Snapshot, group: Group, work: Work) -> float:
    """Return the share of a group's greens that a work row names."""
    mine = set(group.greens) & set(snapshot.greens_of(work.green))
    return len(mine) / len(group.greens)


def _area(work: Work) -> float:
    """Return the area that holes took [%]: as written, else from their grid."""
    if work.amount is not None:
        return work.amount * work.passes
    if work.diameter_mm and work.spacing_mm:
        other = work.spacing2_mm or work.spacing_mm
        return holes(work.diameter_mm, work.spacing_mm, other).area_pct * work.passes
    return 0.0


def _newest_om(snapshot: Snapshot, group: Group) -> LabResult | None:
    held = [
        r
        for r in snapshot.lab
        if r.analyte == "OM" and r.unit == "%" and r.date <= snapshot.as_of
        if set(group.greens) & set(snapshot.greens_of(r.green))
    ]
    return max(held, key=lambda r: r.date, default=None)
