"""The invented players: rounds by season, remarks weakly tied to the roll, putts by distance."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

import numpy as np

from greenwright.simulate import Simulated
from greenwright.simulate.events import coming_trophy, days_to_event, draw_calendar
from greenwright.simulate.golf import remarks


def surface(score: float, speed: float = 2.9) -> dict[str, np.ndarray]:
    return {
        "smoothness": np.full(18, score),
        "trueness_score": np.full(18, score),
        "green_speed": np.full(18, speed),
    }


def said(score: float, speed: float = 2.9, n: int = 600) -> dict[str, int]:
    counts: dict[str, int] = defaultdict(int)
    for seed in range(n):
        rng = np.random.default_rng([1, seed])
        for row in remarks(surface(score, speed), date(2026, 6, 3), 60, rng):
            counts[row["topic"]] += int(row["count"])
    return counts


def test_remarks_double_with_each_point_lost() -> None:
    bad = ("bumpy", "untrue", "uneven", "scarred", "other")
    rough, fair = (sum(said(s)[t] for t in bad) for s in (6, 7))
    # stated rate: 600 days * 60 rounds / 200 * 2 at a score of 7, twice that at 6
    assert abs(fair - 360) < 4 * np.sqrt(360)
    assert abs(rough - 720) < 4 * np.sqrt(720)


def test_slow_greens_are_called_slow() -> None:
    assert said(8, 2.4)["slow"] > 5 * said(8, 3.0)["slow"]
    assert said(8, 3.4)["fast"] > 5 * said(8, 2.9)["fast"]


def test_a_count_of_none_is_written_on_sundays(demo: Simulated) -> None:
    none = [r for r in demo.tables["feedback"] if r["count"] == "0" and r["asked"] == "no"]
    assert none and all(date.fromisoformat(r["date"]).weekday() == 6 for r in none)


def test_surveys_say_how_many_were_asked(demo: Simulated) -> None:
    asked = [r for r in demo.tables["feedback"] if r["asked"] == "yes"]
    assert len(asked) >= 8
    assert all(int(r["count"]) <= int(r["n_asked"]) == 20 for r in asked)


def test_more_play_in_summer_and_at_weekends(demo: Simulated) -> None:
    rounds = {date.fromisoformat(r["date"]): int(r["rounds"]) for r in demo.tables["rounds"]}
    summer = [n for d, n in rounds.items() if d.month in (6, 7, 8)]
    winter = [n for d, n in rounds.items() if d.month in (12, 1, 2)]
    weekend = [n for d, n in rounds.items() if d.weekday() >= 5 and d.month in (6, 7, 8)]
    assert np.mean(summer) > 2 * np.mean(winter)
    assert np.mean(weekend) > np.mean(summer)
    assert rounds[date(2025, 12, 25)] == 0  # closed


def test_short_putts_drop_more_often(demo: Simulated) -> None:
    made, tried = defaultdict(int), defaultdict(int)
    for row in demo.tables["putts"]:
        made[row["distance_m"]] += int(row["made"])
        tried[row["distance_m"]] += int(row["tried"])
    share = [made[d] / tried[d] for d in ("1.5", "3", "6")]
    assert share[0] > share[1] > share[2] > 0


def test_the_trophy_is_always_one_to_two_weeks_off() -> None:
    for ordinal in range(date(2026, 1, 1).toordinal(), date(2027, 1, 1).toordinal()):
        today = date.fromordinal(ordinal)
        ahead = (coming_trophy(today) - today).days
        assert 8 <= ahead <= 14 and coming_trophy(today).weekday() == 5  # a Saturday


def test_days_to_an_event_by_hand() -> None:
    events = draw_calendar(date(2025, 3, 1), date(2026, 6, 12))
    # 12 June 2026 is a Friday, so the first Saturday eight days on is 20 June
    assert days_to_event(events, date(2026, 6, 12)) == 8
    assert days_to_event(events, date(2026, 6, 20)) == 0
    assert days_to_event((), date(2026, 6, 20)) is None
