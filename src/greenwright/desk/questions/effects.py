"""What does each practice do here?"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.base.answer import Answer
from greenwright.base.tables import practices, quantities
from greenwright.base.values import Snapshot
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
from greenwright.desk.learning import learn_kept
from greenwright.desk.reasons import learned_rows
from greenwright.record import Store, snapshot
from greenwright.respond.learning import Learned, learned_responses
from greenwright.respond.learning.settle import KEYS as TRIAL_KEYS
from greenwright.respond.rows import EffectRow, effect_rows

MODEL = "responses 2 (learned from the record)"
CANNOT_TELL = "cannot tell"
MOST_NAMED = 8
"""Practices named in one gap; the others are counted."""


def answer(
    store: Store, *, on: date, course: str | None = None, progress: Progress | None = None
) -> Answer:
    """Return what one act of each practice does here, and whether the record can tell.

    Args:
        store, on, course, progress: as in the question today.

    Raises:
        CannotAnswer: several courses and none named, or no green in play.
    """
    started, tell = stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    learned = learn_kept(store, record, tell=tell, share=(0.05, 0.8))
    tell("Telling how it was learned", 0.8)
    made = _made(record, learned)
    tell("Done", 1.0)
    return finish("effects", record, made, started=started)


def _made(record: Snapshot, learned: Learned) -> Made:
    here = learned_responses(learned, record, seed=SEED)
    rows = effect_rows(record, here, learned)
    told = learned_rows(rows, here, learned, record)
    unknown = _gaps(rows, require_greens(record), told)
    return Made(
        model=MODEL,
        findings=tuple(_finding(row) for row in rows),
        gaps=unknown,
        cautions=_cautions(rows, learned),
        used=frozenset(key for row in rows for key in row.sources)
        | gaps.time_keys(unknown)
        | {*TRIAL_KEYS},
        more={
            "greens": [g.green for g in record.greens if g.in_play],
            "learned": told,
        },
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


def _gaps(
    rows: Sequence[EffectRow], greens: Sequence[str], learned: Sequence[Row]
) -> tuple[Row, ...]:
    """Return the comparison that would tell what practices that are done here do to the roll."""
    told = {r.practice for r in rows if r.separable != CANNOT_TELL and r.outcome == "green_speed"}
    done = [r.practice for r in rows if r.n_events and r.outcome == "green_speed"]
    unsure = [p for p in dict.fromkeys(done) if p not in told]
    if not unsure:
        return ()
    laid = [r["trial"] for r in learned if r["practice"] in unsure and _on_speed(r)]
    texts = [str(t["text"]) for t in laid if t and t["greens"]]
    return (_leave_out(unsure, greens, how=texts[0] if texts else ""),)


def _on_speed(row: Row) -> bool:
    return row["outcome"] == "green_speed"


def _leave_out(unsure: Sequence[str], greens: Sequence[str], *, how: str) -> Row:
    spared = greens[: max(1, len(greens) // 3)]
    which = f"green {spared[0]}" if len(spared) == 1 else f"greens {', '.join(spared)}"
    plain = (
        f"Leave {which} out of one of them on two or three chosen days, and read every green "
        "before and after."
    )
    return {
        "about": "effects",
        "practices": list(unsure),
        "text": "The record cannot tell yet what these do on these greens: "
        f"{_named(unsure)}. {how or plain}",
        "why": "the difference is the answer",
        "reading": gaps.reading("green_speed", spared[0]),
    }


def _named(unsure: Sequence[str]) -> str:
    named = [_label(practice) for practice in unsure[:MOST_NAMED]]
    left = len(unsure) - len(named)
    return ", ".join(named) + (f" and {left} more" if left else "")


def _label(practice: str) -> str:
    known = practices().get(practice)
    return known.label.lower() if known else practice.replace("_", " ")


def _cautions(rows: Sequence[EffectRow], learned: Learned) -> tuple[Row, ...]:
    return (*_confounding(rows, learned), *_misfits(learned))


def _confounding(rows: Sequence[EffectRow], learned: Learned) -> tuple[Row, ...]:
    if not learned.outcomes:
        text = (
            "These are effects reported elsewhere. This course's own record does not hold enough "
            "readings to be asked: greens are often worked because they look slow, so a plain "
            "before and after would mislead."
        )
        return ({"kind": "confounding", "text": text},)
    led = [r for r in rows if r.separable == "partly" and "look of the surface" in r.reason]
    named = list(dict.fromkeys(r.practice for r in led))
    if not named:
        return ()
    return (
        {
            "kind": "confounding",
            "practices": named,
            "text": f"{_named(named).capitalize()}: where this is done because greens look slow "
            "or rough, more is in it than these numbers say. The rows tell where the choice was "
            "allowed for, and where not.",
        },
    )


def _misfits(learned: Learned) -> tuple[Row, ...]:
    return tuple(
        {
            "kind": "misfit",
            "quantity": one.quantity,
            "text": f"{quantities()[one.quantity].label}: {sign.words} The effects on it are less "
            "sure than their ranges say.",
        }
        for one in learned.outcomes.values()
        for sign in one.misfits[:1]
    )
