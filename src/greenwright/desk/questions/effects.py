"""What does each practice do here?"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.base.answer import Answer
from greenwright.base.tables import practices
from greenwright.desk import gaps
from greenwright.desk.answering import (
    SEED,
    Made,
    Progress,
    Row,
    finish,
    require_greens,
    silent,
)
from greenwright.desk.clock import stopwatch
from greenwright.record import Store, snapshot
from greenwright.respond import EffectRow, effect_rows, responses

MODEL = "responses 1 (reported effects)"
CANNOT_TELL = "cannot tell"


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return what one act of each practice does, as far as it is known on a day.

    Args:
        store, on, course, progress: as in the question today.

    Raises:
        CannotAnswer: several courses and none named, or no green in play.
    """
    started, tell = stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    greens = require_greens(record)
    tell("Working out the effects", 0.3)
    rows = effect_rows(record, responses(record, seed=SEED))
    tell("Done", 1.0)
    return finish("effects", record, _made(rows, greens), started=started)


def _made(rows: Sequence[EffectRow], greens: Sequence[str]) -> Made:
    unknown = _gaps(rows, greens)
    return Made(
        model=MODEL,
        findings=tuple(_finding(row) for row in rows),
        gaps=unknown,
        cautions=_cautions(rows),
        used=frozenset(key for row in rows for key in row.sources) | gaps.time_keys(unknown),
    )


def _finding(row: EffectRow) -> Row:
    return {
        "green": row.green,
        "practice": row.practice,
        "outcome": row.outcome,
        "method": row.method,
        "dose": {"value": row.dose, "unit": row.dose_unit},
        "horizon_days": row.horizon_days,
        "prior": row.prior,
        "here": row.here,
        "share_local": row.share_local,
        "separable": row.separable,
        "reason": row.reason,
        "n_events": row.n_events,
        "half_life_days": row.half_life_days,
    }


def _gaps(rows: Sequence[EffectRow], greens: Sequence[str]) -> tuple[Row, ...]:
    unsure = list(dict.fromkeys(row.practice for row in rows if row.separable == CANNOT_TELL))
    return (_leave_out(unsure, greens),) if unsure else ()


def _leave_out(unsure: Sequence[str], greens: Sequence[str]) -> Row:
    spared = greens[: max(1, len(greens) // 3)]
    which = f"green {spared[0]}" if len(spared) == 1 else f"greens {', '.join(spared)}"
    return {
        "about": "effects",
        "practices": list(unsure),
        "text": "The record cannot tell yet what these do on these greens: "
        f"{', '.join(_label(practice) for practice in unsure)}. Leave {which} out of one of them "
        "on two or three chosen days, and read every green before and after.",
        "why": "the difference is the answer",
        "reading": gaps.reading("green_speed", spared[0]),
    }


def _label(practice: str) -> str:
    known = practices().get(practice)
    return known.label.lower() if known else practice.replace("_", " ")


def _cautions(rows: Sequence[EffectRow]) -> tuple[Row, ...]:
    if any(row.share_local > 0 for row in rows):
        return ()
    return (
        {
            "kind": "confounding",
            "text": "These are effects reported elsewhere. This course's own record is not asked "
            "yet: greens are often worked because they look slow, so a plain before and after "
            "would mislead.",
        },
    )
