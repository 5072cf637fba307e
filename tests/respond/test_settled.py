"""Work that fell by toss: how it is written, what it tells, and what the record then says."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.values import Reading, Snapshot, Work
from greenwright.respond.learning import LearnedOutcome, learn, model_of, verdict
from greenwright.respond.learning.settled import told_by_toss
from greenwright.respond.learning.terms import LED, tosses_of
from greenwright.respond.learning.worked import by_toss, worked
from greenwright.respond.shapes import SHAPES
from greenwright.stats.dynamic import effects
from tests.respond.learning_records import DAY, FIRST, held, rolled_course, work

BRUSH = next(s for s in SHAPES if (s.act, s.outcome) == ("brush", "green_speed"))
TRUE_BRUSH, SEEMING = -0.06, 0.15
"""What a brush does, and how much better greens stood where the crew chose to brush [m]."""


def brushed(*, told: bool) -> Snapshot:
    """A rolled course of ten greens, brushed where it stood well for six weeks, by toss for three.

    Readings of brushed greens are moved by the brush, and by what made the crew choose them.
    """
    base, rng = rolled_course(greens=10), np.random.default_rng(7)
    rows = list(base.readings)
    pieces = []
    for place, row in enumerate(rows):
        age = (DAY - row.date).days
        toss = age < 24
        if rng.random() >= 0.5 or age > 66:
            if toss and age <= 66:
                pieces.append(_brush(row, "declined", told))
            continue
        moved = TRUE_BRUSH + (0.0 if toss else SEEMING)
        rows[place] = replace(row, value=row.value + moved)
        pieces.append(_brush(row, "done", told and toss))
    return replace(base, readings=tuple(rows), work=(*base.work, *pieces))


def _brush(row: Reading, status: str, told: bool) -> Work:
    return Work(date=row.date, green=row.green, practice="brush", status=status,
                note="By toss, list 1" if told else "")  # fmt: skip


@pytest.fixture(scope="module")
def tossed() -> tuple[Snapshot, LearnedOutcome]:
    record = brushed(told=True)
    return record, learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]


def test_toss_is_read_from_detail_or_note() -> None:
    assert by_toss(work("brush", 3, detail="by toss")) and by_toss(work("roll", 3, note="By toss."))
    assert not by_toss(work("roll", 3, note="tossed and turned"))


def test_tossed_doses_and_tosses_are_counted() -> None:
    record = held(
        work("brush", 10, "1", detail="by toss"),
        work("brush", 10, "2", status="declined", detail="by toss"),
        work("brush", 12, "all"),
        work("mow", 5, "1", passes=2.0, detail="by toss"),
        work("mow", 4, "2", amount=3.8, detail="by toss"),
        greens=2,
    )
    found = worked(record, first=FIRST, until=DAY)
    day = (DAY - FIRST).days - 10
    # By hand: one brush given, two green-days tossed; a second cut given; one day's height.
    assert found.tossed["brush"].sum() == 1 and found.tossed["brush"][0, day] == 1
    assert found.tosses == {"brush": 2, "double_cut": 1, "mow": 1}
    assert found.tossed["mow"].sum() == 1 and found.doses["brush"].sum() == 3
    assert tosses_of(found, "mow") == pytest.approx(1 / 7)


def test_no_toss_leaves_everything_as_it_was() -> None:
    record = rolled_course()
    assert worked(record, first=FIRST, until=DAY).tossed == {}
    one = learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    assert one.tossed == {} and not any(LED in n for n in one.separations)


def test_planned_work_is_no_choice_and_moves_no_doubt(
    tossed: tuple[Snapshot, LearnedOutcome],
) -> None:
    record, _ = tossed
    plan = Work(date=DAY + timedelta(days=2), green="all", practice="brush", status="planned")
    until = DAY + timedelta(days=5)
    model = model_of(record, "green_speed", first=FIRST, until=until, planned=[plan])
    led = next(t for t in model.terms if t.name == f"brush{LED}")
    whole = next(t for t in model.terms if t.name == "brush")
    assert led.dose[:, -4:].sum() == 0 and whole.dose[:, -4:].sum() == 10


def test_the_effect_is_learned_from_the_toss_and_the_verdict_is_yes(
    tossed: tuple[Snapshot, LearnedOutcome],
) -> None:
    _, one = tossed
    mean, sd = effects(one.fit).at("brush")
    assert abs(mean - TRUE_BRUSH) < 2.6 * sd
    told = verdict(one, BRUSH, 30)
    assert told.separable == "yes" and "by toss" in told.reason
    assert one.tossed["brush"].verdict == "yes" and one.tossed["brush"].coin_flips >= 40


def test_without_the_word_the_choice_is_taken_for_the_brush() -> None:
    record = brushed(told=False)
    one = learn(record, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    mean, sd = effects(one.fit).at("brush")
    # What moves a reading of its morning alone is in no level: modelling the choice cannot see it.
    assert mean > TRUE_BRUSH + 2.6 * sd


def test_what_fell_by_toss_tells_of_modelled_choices_too() -> None:
    record = rolled_course(greens=10)
    rolls = [replace(w, detail="by toss") if w.practice == "roll" else w for w in record.work]
    drawn = replace(record, work=tuple(rolls))
    one = learn(drawn, seed=1, quantities=["green_speed"]).outcomes["green_speed", ""]
    # The choice to roll is modelled: no term takes it up, the toss is judged beside it.
    assert not any(LED in n for n in one.separations)
    assert one.tossed["roll"].verdict == "yes"
    again = told_by_toss(one.plain, worked(drawn, first=one.first, until=DAY))
    assert again == {**one.tossed, "roll": again["roll"]}
    assert again["roll"].share_local == one.tossed["roll"].share_local
