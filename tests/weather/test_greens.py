"""The water of a course's greens, put together from a record made up for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta

import pytest

from greenwright.base.values import Course, Green, Reading, Snapshot, WeatherDay, Work
from greenwright.weather.evapotranspiration import Place
from greenwright.weather.given import given_days
from greenwright.weather.greens import GreenWater, known_stretch, water_of, without_readings
from tests.weather.days_made import DAY, ahead, seen

FEN = Place(52.0, 20.0)
DRY = {"t_min_c": 10.0, "t_max_c": 22.0, "rain_mm": 0.0, "rh_mean_pct": 70.0,
       "wind_m_s": 2.0, "solar_mj_m2": 20.0}  # fmt: skip
SOAKED = seen(-10, **(DRY | {"rain_mm": 60.0}))


def fen(*weather: WeatherDay, work: tuple[Work, ...] = (), readings=()) -> Snapshot:
    """Return a record of two greens with a soaking ten days back and dry days since."""
    rows = weather or (SOAKED, *(seen(k, **DRY) for k in range(-9, 1)))
    return Snapshot(
        course=Course(course="fen", name="Fen", latitude=52.0),
        as_of=DAY,
        greens=(Green(green="1"), Green(green="2", group="B")),
        weather=rows,
        work=work,
        readings=readings,
    )


def water(held: Snapshot, days: int = 3) -> GreenWater:
    """Return the water of a record up to so many days ahead."""
    given = given_days(held, DAY - timedelta(days=10), DAY + timedelta(days=days))
    found = water_of(held, given, FEN)
    assert found is not None
    return found


def moist(k: int, value: float, **more) -> Reading:
    """Return a moisture reading on green 1."""
    day = DAY + timedelta(days=k)
    return Reading(date=day, green="1", kind="moisture", value=value, unit="%", **more)


def gave(k: int, amount: float | None, green: str = "all", **more) -> Work:
    """Return water given."""
    day = DAY + timedelta(days=k)
    return Work(date=day, green=green, practice="irrigate", amount=amount, unit="mm", **more)


def test_dry_days_add_up_from_the_soaking() -> None:
    found = water(fen())
    on = found.at(DAY)
    used = found.balance.use[1 : on + 1, 0].sum()
    assert found.balance.deficit[0, 0] < 1.0  # 54 mm into 29 mm
    assert found.balance.deficit[on, 0] == pytest.approx(
        found.balance.deficit[0, 0] + used - found.balance.drained[1:, 0].sum(), abs=0.2
    )
    assert 2 < found.demand[on, 0] < 5  # mm of a fine June day at 0.8 of the reference


def test_water_given_fills_the_greens_it_was_given_to() -> None:
    plain, given = water(fen()), water(fen(work=(gave(-2, 6.0, "1"),)))
    on = plain.at(DAY)
    gained = plain.balance.deficit[on] - given.balance.deficit[on]
    # Green 1 has six mm more, less what it then uses more because it thirsts less.
    assert 3.5 < gained[0] <= 6.0 and gained[1] == pytest.approx(0.0)
    twice = water(fen(work=(gave(-2, 3.0, "1", passes=2.0),)))
    assert twice.balance.deficit[on, 0] == pytest.approx(given.balance.deficit[on, 0])


def test_only_what_was_done_or_is_planned_ahead_counts() -> None:
    rows = (gave(-2, 6.0, status="declined"), gave(-1, 6.0, status="planned"), gave(9, 6.0))
    assert water(fen(work=rows)).balance.given.sum() == 0.0
    planned = water(fen(work=(gave(2, 6.0, status="planned"),)))
    assert planned.balance.given[planned.at(DAY) + 2].tolist() == [6.0, 6.0]


def test_rows_without_an_amount_are_counted_and_left_out() -> None:
    found = water(fen(work=(gave(-2, None), gave(-1, 4.0))))
    assert found.unknown_amounts == 1 and found.balance.given.sum() == 8.0


def test_early_water_is_there_for_the_morning_s_reading() -> None:
    reading = (moist(-2, 20.0),)
    early = water(fen(work=(gave(-2, 6.0, time=time(5, 0)),), readings=reading))
    late = water(fen(work=(gave(-2, 6.0, time=time(21, 0)),), readings=reading))
    place = early.at(DAY) - 2
    assert abs(early.balance.correction[place, 0]) < abs(late.balance.correction[place, 0])


def test_a_reading_moves_its_green_and_narrows_it() -> None:
    blind, read = water(fen()), water(fen(readings=(moist(0, 18.0, n=9),)))
    on = blind.at(DAY)
    assert read.balance.sd[on, 0] < blind.balance.sd[on, 0]
    assert read.balance.sd[on, 1] == pytest.approx(blind.balance.sd[on, 1])
    # 18 % of a field capacity of 20 % over 200 mm: 4 mm missing, drawn towards that
    before = blind.balance.deficit[on - 1, 0]
    assert (
        min(4.0, before) < read.balance.deficit[on, 0] - read.balance.use[on, 0] < max(4.0, before)
    )
    assert read.read[on].tolist() == [True, False]


def test_more_spots_are_believed_more() -> None:
    few, many = (water(fen(readings=(moist(0, 18.0, n=n),))) for n in (1, 20))
    on = few.at(DAY)
    assert abs(many.balance.correction[on, 0]) > abs(few.balance.correction[on, 0])
    single = water(fen(readings=tuple(moist(0, 18.0) for _ in range(20))))
    assert single.balance.deficit[on, 0] == pytest.approx(many.balance.deficit[on, 0])


def test_an_afternoon_s_reading_belongs_to_the_next_morning() -> None:
    found = water(fen(readings=(moist(-2, 18.0, time=time(16, 0)),)))
    assert found.read[:, 0].nonzero()[0].tolist() == [found.at(DAY) - 1]


def test_wetter_than_field_capacity_is_full() -> None:
    # 35 % and 20 % (field capacity) say the same: nothing is missing
    wet, full = (water(fen(readings=(moist(0, v, n=50),))) for v in (35.0, 20.0))
    assert wet.balance.deficit == pytest.approx(full.balance.deficit)
    assert wet.balance.correction[wet.at(DAY), 0] < 0


def test_days_ahead_are_wider_than_the_same_days_once_seen() -> None:
    behind = (SOAKED, *(seen(k, **DRY) for k in range(-9, 1)))
    coming = fen(*behind, *(ahead(k, 0, **DRY) for k in (1, 2, 3)))
    gone = replace(fen(*behind, *(seen(k, **DRY) for k in (1, 2, 3))), as_of=DAY + timedelta(3))
    forecast, found = water(coming), water(gone)
    last = found.at(DAY) + 3
    assert forecast.balance.deficit[last, 0] == pytest.approx(found.balance.deficit[last, 0])
    assert forecast.balance.sd[last, 0] > found.balance.sd[last, 0]
    unknown = water(fen(*behind))  # typical days of this season
    assert unknown.balance.sd[last, 0] > found.balance.sd[last, 0]


def test_without_rain_or_without_today_there_is_no_balance() -> None:
    no_rain = {k: v for k, v in DRY.items() if k != "rain_mm"}
    bare = fen(*(seen(k, **no_rain) for k in range(-9, 1)))
    given = given_days(bare, DAY - timedelta(days=9), DAY)
    assert water_of(bare, given, FEN) is None
    old = fen(*(seen(k, **DRY) for k in range(-10, -5)))
    days = given_days(replace(old, as_of=DAY + timedelta(90)), DAY, DAY + timedelta(90))
    assert water_of(replace(old, as_of=DAY + timedelta(90)), days, FEN) is None
    none = replace(fen(), greens=())
    assert water_of(none, given_days(none, DAY, DAY), FEN) is None


def test_the_known_stretch_around_a_day() -> None:
    held = fen(*(seen(k, **DRY) for k in (-9, -8, -3, -2, -1, 0)))
    days = given_days(held, DAY - timedelta(days=9), DAY + timedelta(days=2))
    # Six days make a season here: every gap stands in; with fewer days gaps stay open.
    assert known_stretch(days, DAY) == (0, len(days))
    few = fen(*(seen(k, **DRY) for k in (-9, -2, -1, 0)))
    open_days = given_days(few, DAY - timedelta(days=9), DAY + timedelta(days=2))
    assert known_stretch(open_days, DAY) == (7, 10)
    assert known_stretch(open_days, DAY + timedelta(days=1)) == (7, 10)
    assert known_stretch(open_days, DAY + timedelta(days=2)) == (0, 0)
    assert known_stretch((), DAY) == (0, 0)


def test_a_record_without_its_moisture_readings() -> None:
    rows = (moist(0, 18.0), replace(moist(0, 3.0), kind="firmness"))
    assert [r.kind for r in without_readings(fen(readings=rows)).readings] == ["firmness"]
