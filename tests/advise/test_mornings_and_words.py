"""Mornings that stop work, at their very edges, and what each word of a line stands for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from greenwright.advise import plan_week
from greenwright.advise.stops import LIGHTNING, Morning, mornings
from greenwright.advise.wording import (
    Standing,
    act_text,
    band_text,
    change_text,
    effect_text,
    level_text,
    standing_text,
)
from greenwright.base.estimate import normal_estimate
from greenwright.base.values import Course, Target, WeatherDay, Work
from greenwright.respond import responses
from tests.advise import hands
from tests.advise.hands import TODAY, course_of, crew, surface_of, surfaces_of

METRIC = Course(course="x", name="X", speed_units="m")
FEET = Course(course="x", name="X")
INF = float("inf")
WHEN = date(2026, 6, 9)


def morning(**more: float | None) -> Morning:
    held: dict[str, object] = {"frost": 0.0, "cold": 0.0, "heat": 0.0, "wet": 0.0, **more}
    return Morning(date=WHEN, known=True, **held)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({}, ""),
        ({"frost": 0.1}, ""),  # elicited: stopped over a chance of 0.1, not at it
        ({"frost": 0.11}, "a chance of frost of 11% on 2026-06-09"),
        ({"wet": 0.11}, "a chance of saturated greens of 11% on 2026-06-09"),
        ({"frost": 0.2, "wet": 0.9}, "a chance of frost of 20% on 2026-06-09"),
        ({"frost": None, "cold": None, "heat": None, "wet": None}, ""),
        ({"cold": 0.9, "heat": 0.9}, ""),  # by hand: cold is looked at, heat leaves one cut
    ],
)
def test_what_stops_all_work(more: dict[str, float | None], why: str) -> None:
    assert morning(**more).no_work == why


@pytest.mark.parametrize(("heat", "gentle"), [(None, False), (0.1, False), (0.101, True)])
def test_what_leaves_a_single_cut(heat: float | None, gentle: bool) -> None:
    assert morning(heat=heat).gentle_only is gentle


@pytest.mark.parametrize(
    ("more", "word", "told"),
    [
        ({"cold": 0.1}, "frost", False),
        ({"cold": 0.11}, "frost", True),
        ({"cold": None}, "frost", True),
        ({"wet": 0.025}, "squelches", False),  # by hand: a quarter of 0.1
        ({"wet": 0.026}, "squelches", True),
        ({"wet": None}, "squelches", True),
        ({"heat": 0.025}, "blue-grey", False),
        ({"heat": 0.026}, "blue-grey", True),
        ({"heat": None}, "blue-grey", False),
    ],
)
def test_what_a_line_says_to_look_for(more: dict[str, float | None], word: str, told: bool) -> None:
    assert any(word in text for text in morning(**more).stops("mow")) is told


@pytest.mark.parametrize("practice", ["mow", "roll", "topdress", "verticut", "brush"])
def test_lightning_is_said_every_time_and_dry_leaf_where_it_matters(practice: str) -> None:
    told = morning().stops(practice)
    assert LIGHTNING in told and any("Leaf wilted" in text for text in told)
    dry = any("wait until both are dry" in text for text in told)
    assert dry is (practice not in ("mow", "roll"))


def weather(**by_day: tuple[float | None, float | None, float | None]) -> tuple[WeatherDay, ...]:
    """Return forecast days d0=(t_min, t_max, rain), d1=... from today on."""
    return tuple(
        WeatherDay(
            date=TODAY + timedelta(days=int(name[1:])),
            kind="forecast" if name != "d0" else "observed",
            issued=TODAY if name != "d0" else None,
            t_min_c=cold,
            t_max_c=hot,
            rain_mm=rain,
        )
        for name, (cold, hot, rain) in by_day.items()
    )


def test_rain_of_yesterday_or_today_whichever_is_more() -> None:
    rows = weather(d0=(9, 20, 2.0), d1=(9, 20, 14.0), d2=(9, 20, 3.0), d3=(9, 20, 0.0))
    got = mornings(
        course_of({"A": 1}, weather=rows), [TODAY + timedelta(days=i) for i in (1, 2, 3)]
    )
    # by hand: exp(-25 / rain) with 14, 14 and 3 mm
    assert [m.wet for m in got] == pytest.approx([0.16767, 0.16767, 0.00024], abs=1e-5)


def test_a_dry_day_after_a_dry_day_is_never_soaked() -> None:
    rows = weather(d0=(9, 20, 0.0), d1=(9, 20, 0.0))
    got = mornings(course_of({"A": 1}, weather=rows), [TODAY + timedelta(days=1)])
    assert got[0].wet == 0.0


@pytest.mark.parametrize(
    ("cold", "frost", "low"),
    [
        (0.0, 0.5, 0.93319),  # origin: normal tables, 0 and 1.5 sd of 2 degC
        (4.0, 0.02275, 0.30854),  # 2 sd; 0.5 sd
        (6.0, 0.00135, 0.06681),  # 3 sd; 1.5 sd
    ],
)
def test_chances_of_cold_by_the_normal_table(cold: float, frost: float, low: float) -> None:
    rows = weather(d0=(9, 20, 0), d1=(cold, 20, 0))
    got = mornings(course_of({"A": 1}, weather=rows), [TODAY + timedelta(days=1)])[0]
    assert got.known
    assert (got.frost, got.cold) == pytest.approx((frost, low), abs=2e-5)


@pytest.mark.parametrize(
    ("quantity", "value", "metric", "feet"),
    [
        ("green_speed", 3.048, "3.05 m", "10'0\""),  # by hand: 10 ft
        ("green_speed", 2.7432, "2.74 m", "9'0\""),
        ("smoothness", 7.25, "7.2", "7.2"),
        ("moisture", 21.44, "21.4 %", "21.4 %"),
    ],
)
def test_levels_in_words(quantity: str, value: float, metric: str, feet: str) -> None:
    assert level_text(quantity, value, METRIC) == metric
    assert level_text(quantity, value, FEET) == feet


@pytest.mark.parametrize(
    ("quantity", "value", "metric", "feet"),
    [
        ("green_speed", 0.1524, "+0.15 m", "+6 in"),  # by hand: 6 x 25.4 mm
        ("green_speed", -0.1524, "-0.15 m", "-6 in"),
        ("green_speed", 0.0, "0.00 m", "0 in"),
        ("smoothness", 0.5, "+0.5", "+0.5"),
        ("smoothness", -0.04, "0.0", "0.0"),  # by hand: rounds to nothing, so without a sign
    ],
)
def test_changes_in_words(quantity: str, value: float, metric: str, feet: str) -> None:
    assert change_text(quantity, value, METRIC) == metric
    assert change_text(quantity, value, FEET) == feet


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (2.75, 3.05, "2.75 m to 3.05 m"),
        (2.75, INF, "2.75 m or more"),
        (-INF, 3.05, "3.05 m or less"),
    ],
)
def test_bands_in_words(low: float, high: float, words: str) -> None:
    stand = Standing("green_speed", 2.6, 2.8, low, high)
    assert band_text(stand, METRIC) == words
    told = standing_text(stand, "group A", WHEN, METRIC)
    assert told == (
        f"Green speed in group A is 2.60 m today; {words} is wanted on 9 June, and with this plan "
        "2.80 m is expected then."
    )


@pytest.mark.parametrize(
    ("horizon", "words"), [(0, "the same day"), (1, "after 1 day "), (7, "after 7 days ")]
)
def test_effects_in_words(horizon: int, words: str) -> None:
    estimate = normal_estimate(0.2, 0.05, "m")
    told = effect_text("green_speed", horizon, estimate, METRIC) + " "
    assert told.startswith("+0.20 m green speed " + words)
    low, high = estimate.low, estimate.high
    assert f"(between +{low:.2f} m and +{high:.2f} m)" in told


@pytest.mark.parametrize(
    ("practice", "more", "words"),
    [
        ("mow", {"amount": None, "passes": 1}, "One cut"),
        ("mow", {"amount": 3.5, "passes": 2}, "A double cut at 3.50 mm"),
        ("mow", {"amount": 3.5, "passes": 3}, "3 cuts at 3.50 mm"),
        ("mow", {"amount": 3.6, "passes": 1, "step_mm": 0.1},
         "One cut at 3.60 mm, 0.10 mm higher than before,"),
        ("roll", {"amount": None, "passes": 1}, "One rolling pass"),
        ("roll", {"amount": None, "passes": 2}, "Two rolling passes"),
        ("verticut", {"amount": None, "passes": 1}, "Vertical mowing"),
        ("brush", {"amount": None, "passes": 1}, "Brushing"),
    ],
)  # fmt: skip
def test_acts_in_words(practice: str, more: dict[str, float], words: str) -> None:
    assert act_text(practice, unit="mm", **more) == words  # type: ignore[arg-type]


def lines_of(record, surfaces):  # type: ignore[no-untyped-def]
    drawn = responses(record, seed=1, n_draws=20)
    return plan_week(record, surfaces, drawn, seed=1, horizon=7).advised.lines


def planned_cut(ahead: int) -> Work:
    when = TODAY + timedelta(days=ahead)
    return Work(date=when, green="all", practice="mow", status="planned")


@pytest.mark.parametrize("units", ["ft", "m"])
def test_a_band_open_at_both_ends_is_not_told_as_wanted(units: str) -> None:
    base = course_of({"A": 2}, crew=crew(("A",), mow=20), targets=(Target(quantity="green_speed"),))
    record = replace(
        base,
        course=replace(base.course, speed_units=units),
        work=(*base.work, planned_cut(2)),
    )
    read = {"green_speed": surface_of(record, "green_speed", [2.8, 2.8])}
    told = lines_of(record, read)
    assert told and all("wanted" not in x.reason and "inf" not in x.reason for x in told)


def test_a_target_of_another_season_is_not_told_as_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(hands.UNITS, "moisture", "%")
    until = TODAY + timedelta(days=1)
    base = course_of(
        {"A": 2},
        crew=crew(("A",), mow=20),
        targets=(Target(quantity="moisture", low=10.0, high=20.0, until=until),),
    )
    record = replace(base, work=(*base.work, planned_cut(3)))
    told = lines_of(record, {"moisture": surface_of(record, "moisture", [15.0, 15.0], sd=1.0)})
    late = [x for x in told if x.date > until]
    assert late and all("wanted" not in x.reason for x in late)
    assert all(x.confidence == "read first" for x in late)


def test_each_line_names_what_would_change_it_and_when_to_leave_it() -> None:
    record = course_of({"A": 2}, crew=crew(("A",), mow=20, roll=15, brush=10))
    told = lines_of(record, surfaces_of(record, 2.5, 6.5))
    assert {x.confidence for x in told} <= {"act", "try", "read first"}
    for x in told:
        assert x.changes_mind.startswith("A reading of") and LIGHTNING in x.stops
        assert "against" in x.reason and np.isfinite([e.estimate.value for e in x.effects]).all()
