"""Shapes as terms of the engine: names, priors, and doses spread over days by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.evidence import look_up, value
from greenwright.respond import SHAPES, lag_curves
from greenwright.respond.learning.terms import FEWEST_DAYS, Terms, names_of, sign_of, terms_of
from greenwright.respond.learning.worked import worked
from greenwright.respond.responses import Effect, time_keys
from greenwright.respond.shapes import PLANNED_ACTS
from greenwright.stats.dynamic import Held, Pulse, Term, Window
from tests.respond.learning_records import DAY, FIRST, held, work

LAST = (DAY - FIRST).days
SHAPE = {(s.act, s.outcome): s for s in SHAPES}


def made(*done: object, quantity: str = "green_speed", **more: str) -> Terms:
    laid = worked(held(*done), first=FIRST, until=DAY)  # type: ignore[arg-type]
    acts = {act for act, n in laid.days_done.items() if n}
    return terms_of(laid, quantity, acts=acts, **more)


def named(found: Terms) -> dict[str, Term]:
    return {t.name: t for t in found.terms}


def often(practice: str, **more: object) -> list[object]:
    return [work(practice, 3 * d + 1, **more) for d in range(FEWEST_DAYS)]


def test_only_what_was_done_or_may_be_planned_has_a_term() -> None:
    plannable = {n.split(".")[0] for n in named(made())}
    assert plannable == set(PLANNED_ACTS)
    assert "feed" in named(made(work("feed", 4))) and "core.late" in named(made(work("core", 4)))


def test_priors_are_the_evidence_table_s() -> None:
    roll = named(made(*often("roll")))["roll"]
    assert (roll.mean, roll.sd) == (
        value("effect.roll.green_speed"), look_up("effect.roll.green_speed").sd,
    )  # fmt: skip
    late = named(made())["topdress.late"]
    assert late.mean == value("effect.topdress.green_speed.late")


def test_what_is_done_often_has_its_half_life_learned() -> None:
    found = made(*often("roll"))
    assert named(found)["roll"].kernel == Pulse("roll.half_life_d")
    assert found.shapes["roll.half_life_d"].median == value("effect.roll.half_life")
    assert named(found)["roll"].apart is not None


def test_what_is_done_seldom_keeps_the_reported_one() -> None:
    found = made(work("roll", 5))
    assert isinstance(named(found)["roll"].kernel, Held) and not found.shapes
    dose = named(found)["roll"].dose[0]
    # by hand: 1 on its morning, halving each 0.6 d for three days
    wanted = [2.0 ** (-lag / 0.6) for lag in range(4)]
    assert dose[LAST - 5 : LAST - 1].tolist() == pytest.approx(wanted)
    assert dose[LAST - 1] == 0.0


def test_two_phases_are_two_terms_in_days_from_the_first_morning() -> None:
    found = made(*often("topdress", amount=0.5))
    early, late = named(found)["topdress.early"], named(found)["topdress.late"]
    assert isinstance(early.kernel, Window) and early.kernel.first is None
    assert isinstance(late.kernel, Window) and late.kernel.first == early.kernel.last
    # by hand: sand's gain lasts to day 8 from the act, that is 7 days after it is first felt
    assert found.shapes["topdress.late_days"].median == pytest.approx(7.0)
    assert early.practice == late.practice == "topdress"


def test_a_second_pass_is_asked_of_only_where_there_was_one() -> None:
    assert named(made(*often("roll")))["roll"].again is None
    twice = made(*often("roll", passes=2.0))
    assert named(twice)["roll"].again == "roll.again"
    assert twice.shapes["roll.again"].median == pytest.approx(0.15)


def test_a_height_counts_in_steps_of_a_quarter_millimetre_lower() -> None:
    mow = named(made(work("mow", 20, amount=3.45)))["mow"]
    assert isinstance(mow.kernel, Held)
    # by hand: 3.45 mm is a quarter higher than the usual 3.2 mm: minus one dose
    assert mow.dose[0, LAST] == pytest.approx(-1.0)
    assert not named(made())["mow"].dose.any()


def test_spread_doses_are_the_curve_of_the_same_durations() -> None:
    for act, practice_doses in (("core", {"amount": 5.0}), ("feed", {}), ("regulator", {})):
        found = named(made(work(act, 40, **practice_doses)))
        shape = SHAPE[act, "green_speed"]
        times = {n: np.full((1, 1), value(k)) for n, k in time_keys(shape).items()}
        ones = np.ones((1, 1))
        two = Effect(shape, ones, np.zeros((1, 1)) if "core" in act else None, **times)
        curve = lag_curves(two, np.arange(1, 30))[0, 0]
        dose = found[names_of(shape)[0]].dose[0]
        # felt from the morning after, as the curve has it day by day since the act
        assert np.allclose(dose[LAST - 39 : LAST - 10], curve)


def test_healing_gives_way_to_what_is_left_in_the_end() -> None:
    found = named(made(work("core", 40, amount=5.0)))
    early, late = found["core.early"].dose[0], found["core.late"].dose[0]
    felt = slice(LAST - 39, LAST + 1)
    # by hand: what is left of the disturbance and what has come of the gain make one
    assert np.allclose(early[felt] + late[felt], 1.0)
    assert early[LAST - 39] == pytest.approx(1.0)
    assert early[LAST - 34] == pytest.approx(0.5)  # half-life five days


def test_softer_methods_turn_the_sign() -> None:
    assert sign_of("firmness", "penetration depth") == -1.0
    assert sign_of("firmness", "impact deceleration") == 1.0
    assert sign_of("green_speed", "penetration depth") == 1.0
    soft = made(quantity="firmness", method="penetration depth")
    assert named(soft)["roll"].mean == -value("effect.roll.firmness_log")


def test_every_practice_of_the_table_can_be_a_term_of_every_outcome_it_moves() -> None:
    for (act, outcome), shape in SHAPE.items():
        practice = replace(work("mow", 9, passes=2.0)) if act == "double_cut" else work(act, 9)
        found = named(made(practice, quantity=outcome))
        assert set(names_of(shape)) <= set(found), (act, outcome)
        assert all(np.isfinite(found[n].dose).all() for n in names_of(shape))
