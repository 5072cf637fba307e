"""The question track, through the real rooms, on a small invented course."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta

import jsonschema
import numpy as np
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.values import Snapshot
from greenwright.desk import backtest, judging
from greenwright.desk.judging import CURVE, Given, cases
from greenwright.desk.keeping import keep
from greenwright.desk.questions import forecast as question
from greenwright.record import ForecastRow, Store, forecasts, snapshot
from greenwright.respond.learning.sets import sets_of
from greenwright.verify.references import HORIZONS, RULES
from greenwright.verify.scoring import LEVELS
from tests.desk.played import GREENS, PLAYED_ON, load_played, opened

ORIGINS = (PLAYED_ON - timedelta(days=28), PLAYED_ON - timedelta(days=14))
MODEL = "by hand"
CORE = ("green_speed", "smoothness")


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    with opened(load_played(tmp_path_factory.mktemp("played"))) as held:
        yield held


@pytest.fixture(scope="module", autouse=True)
def few(store: Store) -> Iterator[None]:
    """Learn only what is judged here."""
    real = question.learn_kept
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(question, "learn_kept", lambda *a, **more: real(*a, **more, quantities=CORE))
        yield


@pytest.fixture(scope="module")
def whole(store: Store) -> Snapshot:
    return snapshot(store, None, on=PLAYED_ON)


@pytest.fixture(scope="module")
def tried(store: Store) -> Answer:
    """Return track before any forecast was kept."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(backtest, "BACK_D", 28)
        return desk.track(store, on=PLAYED_ON)


@pytest.fixture(scope="module")
def judged(store: Store, tried: Answer) -> Answer:
    """Return track after forecasts of two days, asked for by their question."""
    for day in ORIGINS:
        assert desk.forecast(store, on=day).more["kept"] is True
    return desk.track(store, on=PLAYED_ON)


def rows(answer: Answer, what: str, **wanted: object) -> list[dict]:
    found = (r for r in answer.findings if r["what"] == what)
    return [r for r in found if all(r[k] == v for k, v in wanted.items())]


def test_it_obeys_the_published_schema(tried: Answer, judged: Answer) -> None:
    for answer in (tried, judged):
        jsonschema.validate(json.loads(answer.as_json()), answer_schema())


def test_before_any_was_kept_they_are_made_afterwards_and_it_says_so(tried: Answer) -> None:
    more = tried.more
    assert more["mode"] == "backtest" and more["n_forecasts"] == 0 and more["made_on"] == 0
    assert more["n_judged"] == more["n_afterwards"] > 20 and more["first_due"] is None
    assert {p["made_on"] for p in more["pairs"]} == set(ORIGINS)
    assert "made afterwards" in tried.cautions[0]["text"]
    assert "No forecast is kept yet" in tried.gaps[0]["text"]


def test_one_made_afterwards_is_the_one_that_would_have_been_given(
    tried: Answer, judged: Answer
) -> None:
    told = {
        (p["quantity"], p["green"], p["made_on"], p["date"]): p["forecast"]["value"]
        for p in tried.more["pairs"]
    }
    kept = {
        (p["quantity"], p["green"], p["made_on"], p["date"]): p["forecast"]["value"]
        for p in judged.more["pairs"]
    }
    both = told.keys() & kept.keys()
    assert len(both) > 20
    # The fits start elsewhere, so that they end a little apart: under a fifth of a set's noise.
    assert max(abs(told[k] - kept[k]) for k in both if k[0] == "green_speed") < 0.02


def test_kept_forecasts_are_judged_by_what_was_read(store: Store, judged: Answer) -> None:
    more = judged.more
    assert more["mode"] == "stored" and more["made_on"] == 2 and more["fills"] is None
    assert (more["first"], more["last"]) == ORIGINS
    kept = forecasts(store, course=None, on=PLAYED_ON)
    assert more["n_forecasts"] == sum(one.row.green != "course" for one in kept)
    assert len(more["pairs"]) == min(more["n_judged"], judging.MOST_PAIRS)
    assert more["greens"] == GREENS


def test_those_asked_for_after_their_day_are_told_apart(judged: Answer) -> None:
    # The days of this invented record have long gone by when its forecasts are kept.
    assert judged.more["n_afterwards"] == judged.more["n_judged"]
    assert any("already gone by" in c["text"] for c in judged.cautions)


def test_pairs_are_the_record_s_own_sets(whole: Snapshot, judged: Answer) -> None:
    read = {
        (s.green, s.date, round(s.value, 6))
        for s in sets_of(whole, "green_speed", method="", first=whole.readings[0].date)
    }
    found = [p for p in judged.more["pairs"] if p["quantity"] == "green_speed"]
    assert found and all((p["green"], p["date"], p["reading"]) in read for p in found)
    assert all(p["horizon_days"] == (p["date"] - p["made_on"]).days for p in found)
    assert all(p["low"] < p["forecast"]["value"] < p["high"] for p in found)


def test_coverage_is_the_share_of_pairs_inside(judged: Answer) -> None:
    pairs = [p for p in judged.more["pairs"] if p["quantity"] == "green_speed"]
    inside = np.mean([p["low"] <= p["reading"] <= p["high"] for p in pairs])
    (told,) = rows(judged, "coverage", quantity="green_speed", horizon_days=None, level=0.9)
    assert told["n"] == len(pairs) and told["value"] == pytest.approx(inside, abs=1e-6)
    assert told["low"] <= told["value"] <= told["high"]
    assert told["n_days"] == len({p["date"] for p in pairs})


def test_mean_error_is_reading_less_forecast(judged: Answer) -> None:
    pairs = [p for p in judged.more["pairs"] if p["quantity"] == "green_speed"]
    missed = np.mean([p["reading"] - p["forecast"]["value"] for p in pairs])
    (told,) = rows(judged, "mean_error", quantity="green_speed", horizon_days=None)
    assert told["value"] == pytest.approx(missed, abs=1e-5) and told["unit"] == "m"


def test_every_quantity_has_every_row(judged: Answer) -> None:
    for quantity in ("green_speed", "smoothness"):
        spans = [None, *HORIZONS]
        found = rows(judged, "coverage", quantity=quantity)
        assert [(r["horizon_days"], r["level"]) for r in found] == [
            (h, level) for h in spans for level in LEVELS
        ]
        for horizon in HORIZONS:
            told = rows(judged, "skill", quantity=quantity, horizon_days=horizon)
            assert [r["against"] for r in told] in ([*RULES, "best"], [])
        assert len(rows(judged, "gain_slope", quantity=quantity)) == 1


def test_skill_compares_mean_scores_and_names_the_best(judged: Answer) -> None:
    (best,) = rows(judged, "skill", quantity="green_speed", horizon_days=14, against="best")
    assert best["value"] == pytest.approx(1 - best["crps"] / best["crps_reference"], abs=1e-4)
    (named,) = rows(
        judged, "skill", quantity="green_speed", horizon_days=14, against=best["is_best"]
    )
    assert named["value"] == best["value"] and named["n"] == best["n"]


def test_a_rule_that_cannot_be_made_says_why(judged: Answer) -> None:
    # A record of a hundred days knows nothing of last year.
    found = rows(judged, "skill", against="seasonal-naive")
    assert found and all(r["value"] is None and r["n"] == 0 and r["why"] for r in found)


def test_reliability_has_its_curve(judged: Answer) -> None:
    told = [r for r in judged.more["reliability"] if r["horizon_days"] is None]
    speed = [r for r in told if r["quantity"] == "green_speed"]
    assert [r["level"] for r in speed] == list(CURVE)
    shares = [r["value"] for r in speed]
    assert shares == sorted(shares)


def test_what_is_due_next_is_told(store: Store, judged: Answer) -> None:
    # Of the forecasts of 22 May the last day is 5 June, the record's own; it is read or due.
    due = judged.more["first_due"]
    assert due is None or due >= PLAYED_ON
    early = desk.track(store, on=ORIGINS[0])
    assert early.more["first_due"] == ORIGINS[0] + timedelta(days=1)


def test_track_knows_nothing_of_later_days(store: Store, judged: Answer) -> None:
    before = desk.track(store, on=ORIGINS[1])
    assert {p["made_on"] for p in before.more["pairs"]} == {ORIGINS[0]}
    assert max(p["date"] for p in before.more["pairs"]) <= ORIGINS[1]


def test_asked_twice_it_says_the_same(store: Store, judged: Answer) -> None:
    again = desk.track(store, on=PLAYED_ON).as_dict()
    assert again["findings"] == judged.as_dict()["findings"]


def test_with_few_readings_it_says_how_it_fills(small: Store) -> None:
    found = desk.track(small, on=date(2026, 6, 5))
    assert found.findings == () and "this fills by itself" in found.more["fills"]
    assert found.more["n_judged"] == 0 and found.more["pairs"] == []
    jsonschema.validate(json.loads(found.as_json()), answer_schema())


def test_a_forecast_by_hand_is_scored_by_hand(whole: Snapshot) -> None:
    day = max(r.date for r in whole.readings if r.kind == "roll_distance")
    one = next(
        s
        for s in sets_of(whole, "green_speed", method="", first=whole.readings[0].date)
        if s.date == day
    )
    sure = ForecastRow(day, one.green, "green_speed", one.value, 0.03, {}, "m", reading_sd=0.04)
    (case,) = cases(whole, [Given(sure, day - timedelta(days=2))])
    # by hand: level and set add to 0.05; (sqrt 2 - 1) / sqrt pi of it when hit in the middle
    mine = int(np.flatnonzero(np.isclose(case.judged.value, one.value))[0])
    assert case.judged.sd[mine] == pytest.approx(0.05)
    assert case.judged.crps[mine] == pytest.approx(0.05 * 0.233695, rel=1e-4)


def test_what_a_log_forecast_shows_is_of_the_log(whole: Snapshot) -> None:
    held = ForecastRow(PLAYED_ON, "1", "firmness", 90.0, 9.0, {}, "g", reading_sd=0.05, log=True)
    mean, sd = judging._shown(held)
    # by hand: variance of the log is ln(1 + 0.1^2) = 0.00995
    assert sd == pytest.approx(np.sqrt(0.00995 + 0.0025), rel=1e-3)
    assert mean == pytest.approx(np.log(90) - 0.00995 / 2, rel=1e-6)


def test_forecasts_of_a_green_that_left_are_left_out(store: Store, whole: Snapshot) -> None:
    gone = ForecastRow(PLAYED_ON, "99", "green_speed", 2.9, 0.1, {}, "m")
    assert cases(whole, [Given(gone, ORIGINS[0])]) == ()


def test_what_is_not_the_whole_look_is_not_kept(store: Store) -> None:
    day = PLAYED_ON - timedelta(days=3)
    before = len(forecasts(store, course=None, on=day))
    assert desk.forecast(store, on=day, days=3).more["kept"] is False
    assert len(forecasts(store, course=None, on=day)) == before


def test_a_forecast_kept_before_its_day_counts_as_promised(store: Store, whole: Snapshot) -> None:
    later = PLAYED_ON + timedelta(days=400 * 30)
    row = ForecastRow(later, "1", "green_speed", 2.9, 0.1, {}, "m")
    assert keep(store, [row], course=None, on=later - timedelta(days=1), model=MODEL)
    held = forecasts(store, course=None, on=later)[-1]
    assert held.in_time and held.model == MODEL
