"""What will golfers notice, say, and miss? Three answers, never blended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.desk import cautions, gaps
from greenwright.desk.answering import Made, Progress, Row, finish, last_reading, silent
from greenwright.desk.clock import stopwatch
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import Levels, levels
from greenwright.desk.golfing.missing import holing_rows
from greenwright.desk.golfing.noticing import notice_rows
from greenwright.desk.golfing.picture import Scene, putts_row, scene
from greenwright.desk.golfing.players import chosen_player, players
from greenwright.desk.golfing.reading import Read, read
from greenwright.desk.golfing.saying import complaint_rows
from greenwright.desk.golfing.unknown import golfer_gaps
from greenwright.record import Store
from greenwright.stats import one_blas_thread

MODEL = "golfers 1 (notice, say, miss)"


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what golfers will notice, say and miss on a day.

    Args:
        store, on, course, progress: as in the question today.
        options: of `Asked`: rounds, levels in place of the estimates, the putts to picture.

    Raises:
        CannotAnswer: several courses and none named, no green in play, or no reading yet.
        BadInput: an option that cannot be.
    """
    started, tell = stopwatch(), progress or silent
    asked = Asked(**options)
    # Small matrices, many of them: more threads would only wait for one another.
    with one_blas_thread():
        held = read(store, course, on=on, tell=tell)
        parts = _made(held, asked, tell)
    made = finish("golfers", held.record, parts, started=started)
    whole = {"readings": held.extent.readings, "work": held.extent.work_done}
    return replace(made, record={**made.record, **whole})


def _made(held: Read, asked: Asked, tell: Progress) -> Made:
    met = levels(held.record, held.surfaces, asked)
    who = players(held.fitted)
    putter = chosen_player(who, asked.player)
    place = scene(held.record, held.surfaces, met, asked)
    tell("Working out what is noticed and said", 0.6)
    noticed = notice_rows(held.compared, met)
    said = complaint_rows(held.remarks(met), met.rounds)
    tell("Working out what is missed", 0.75)
    missed = holing_rows(who, met, distance_m=asked.distance_m)
    tell("Rolling the putts", 0.9)
    picture = putts_row(place, putter, asked)
    unknown = golfer_gaps(held.record, held.surfaces, met, place=place, remarks=said)
    tell("Done", 1.0)
    findings = (*noticed, *said, *missed)
    return Made(
        model=MODEL,
        findings=findings,
        gaps=unknown,
        cautions=_cautions(held),
        used=_used(held, findings, place, met) | gaps.time_keys(unknown),
        more={"what_if": met.what_if, "now": met.now, "putts": picture},
    )


def _cautions(held: Read) -> tuple[Row, ...]:
    rows = [
        row for one in held.surfaces.values() for row in cautions.observers(one, held.record.course)
    ]
    return (*rows, *cautions.old_record(last_reading(held.record), held.record.as_of))


def _used(held: Read, findings: Sequence[Row], place: Scene, met: Levels) -> frozenset[str]:
    surfaces = {key for one in held.surfaces.values() for key in one.evidence}
    rows = {key for row in findings for key in row["sources"]}
    return frozenset(surfaces | rows) | place.assumed | met.used
