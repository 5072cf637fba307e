"""How are the greens, each and together?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.tables import quantities
from greenwright.base.values import Snapshot
from greenwright.desk import cautions, gaps
from greenwright.desk.answering import (
    Made,
    Progress,
    Row,
    finish,
    last_reading,
    require_greens,
    require_readings,
    silent,
)
from greenwright.desk.clock import stopwatch
from greenwright.desk.keeping import days_ahead
from greenwright.desk.targets import Band, Wanted, wanted
from greenwright.measure import Surface, first_day_needed, quantities_read, share_in_band, surface
from greenwright.measure.trueness_sideways import Sideways, sideways
from greenwright.record import Extent, Store, extent, snapshot

MODEL = "surface 1"
COURSE = "course"
TRUENESS = "trueness"


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return the state of the greens as it was known on a day.

    Args:
        store: the record.
        on: the day.
        course: its key; None = the only one.
        progress: told what is being done and the share done.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or no reading yet.
    """
    tell = progress or silent
    tell("Reading the record", 0.0)
    started = stopwatch()
    held = extent(store, course, on=on)
    first = min(first_day_needed(held.last_read, on=on), held.last_reading or on)
    record = snapshot(store, course, on=on, since=first)
    made = of_record(record, tell=tell, started=started)
    ahead, made_on = days_ahead(store, course=course, on=on)
    more = {**made.more, "ahead": ahead, "ahead_made_on": made_on}
    return _of_whole(replace(made, more=more), held)


def of_record(record: Snapshot, *, tell: Progress = silent, started: float) -> Answer:
    """Return the same from a record that is already read."""
    greens = require_greens(record)
    require_readings(record)
    surfaces = read_surfaces(record, tell)
    return finish("today", record, _made(record, greens, surfaces), started=started)


def _of_whole(made: Answer, held: Extent) -> Answer:
    """Return an answer made from the recent record with the counts of the whole of it."""
    whole = {"readings": held.readings, "work": held.work_done}
    return replace(made, record={**made.record, **whole})


def read_surfaces(record: Snapshot, tell: Progress = silent) -> tuple[Surface, ...]:
    """Return the surface of every quantity that was ever read, in the order of the table."""
    order = list(quantities())
    read = sorted(quantities_read(record), key=lambda pair: (order.index(pair[0]), pair[1]))
    found = []
    for place, (quantity, method) in enumerate(read):
        tell(f"Working out {quantities()[quantity].label.lower()}", 0.1 + 0.9 * place / len(read))
        found.append(surface(record, quantity, method=method))
    tell("Done", 1.0)
    return tuple(one for one in found if one is not None)


def _made(record: Snapshot, greens: Sequence[str], surfaces: Sequence[Surface]) -> Made:
    targets = [wanted(record, one) for one in surfaces]
    pairs = list(zip(surfaces, targets, strict=True))
    unknown = _gaps(record, greens, pairs)
    beware = [row for one in surfaces for row in cautions.observers(one, record.course)]
    beside = _sideways(surfaces)
    keys = {key for one, held in pairs for key in (*one.evidence, *held.keys)}
    return Made(
        model=MODEL,
        findings=tuple(row for one, held in pairs for row in findings(one, held, beside)),
        gaps=unknown,
        cautions=(
            *beware,
            *(row for one in surfaces for row in cautions.misfit(one)),
            *reading_cautions(surfaces),
            *cautions.old_record(last_reading(record), record.as_of),
        ),
        used=frozenset(keys) | gaps.time_keys(unknown),
    )


def findings(one: Surface, held: Wanted, beside: Sideways | None = None) -> tuple[Row, ...]:
    """Return the rows of one surface: the course first, then each green in playing order.

    Args:
        one, held: the surface and the bands wanted of it.
        beside: millimetres sideways at the day's speed, in which trueness has its target.
    """
    if one.quantity == TRUENESS and beside is not None:
        return _true_rows(one, held, beside)
    chances = {band: share_in_band(one, band.low, band.high) for band in set(held.bands) if band}
    rows = [
        _row(one, place, band, float(chances[band].per_green[place]) if band else None)
        for place, band in enumerate(held.bands)
    ]
    share = chances[held.common].course if held.common else None
    return (_course_row(one, held.common, share), *rows)


def _true_rows(one: Surface, held: Wanted, beside: Sideways) -> tuple[Row, ...]:
    """Return the rows of trueness: the index T, and the target kept in mm/m at today's speed."""
    chances = {band: beside.chance(band.low, band.high) for band in set(held.bands) if band}
    rows = [
        _row(one, place, band, float(chances[band][place]) if band else None)
        | {"sideways_mm_per_m": beside.per_green[place]}
        for place, band in enumerate(held.bands)
    ]
    common = held.common
    share = beside.course_chance(common.low, common.high) if common else None
    course = _course_row(one, common, share) | {"sideways_mm_per_m": beside.course}
    return (course, *rows)


def _sideways(surfaces: Sequence[Surface]) -> Sideways | None:
    by_quantity = {one.quantity: one for one in surfaces}
    if TRUENESS not in by_quantity:
        return None
    return sideways(by_quantity[TRUENESS], by_quantity.get("green_speed"))


def _row(one: Surface, place: int, band: Band | None, share: float | None) -> dict[str, Any]:
    return {
        "green": one.greens[place],
        "quantity": one.quantity,
        "method": one.method,
        "estimate": one.per_green[place],
        "in_target": share,
        "last_read": one.last_read[place],
        "change_7d": one.change_7d[place],
        "target": _target(band),
        "in_play": one.in_play[place],
    }


def _course_row(one: Surface, band: Band | None, share: float | None) -> dict[str, Any]:
    return {
        "green": COURSE,
        "quantity": one.quantity,
        "method": one.method,
        "estimate": one.course,
        "in_target": share,
        "last_read": one.course_last_read,
        "change_7d": one.course_change_7d,
        "between_greens_sd": one.between_greens_sd,
        "odd_greens": list(one.odd_greens),
        "target": _target(band),
        "contributions": [
            {"kind": part.kind, "n": part.n, "share": part.share} for part in one.contributions
        ],
        "observers": [
            {
                "observer": held.observer,
                "shift": held.shift,
                "spread": held.spread,
                "drift": held.drift,
                "drifts": held.drifts,
            }
            for held in one.observers
        ],
    }


def _target(band: Band | None) -> Row | None:
    if band is None:
        return None
    return {"low": band.low, "high": band.high, "default": band.default}


def _gaps(
    record: Snapshot, greens: Sequence[str], pairs: Sequence[tuple[Surface, Wanted]]
) -> tuple[Row, ...]:
    read = {one.quantity for one, _ in pairs}
    rows = [gaps.never_read(core, greens[0]) for core in gaps.CORE if core not in read]
    for one, held in pairs:
        old = gaps.stale(one, on=record.as_of)
        rows += [old] if old else []
        known = [band for band in held.bands if band]
        if one.quantity in gaps.CORE and (not known or any(band.default for band in known)):
            rows.append(gaps.no_target(one.quantity, default=bool(known)))
    return tuple(rows)


def reading_cautions(surfaces: Sequence[Surface]) -> tuple[Row, ...]:
    """Return what the latest sets themselves warn of: rolls to repeat, spots to move."""
    return cautions.data([text for one in surfaces for text in one.cautions])
