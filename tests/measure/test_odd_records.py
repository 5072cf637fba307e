"""Records nobody would wish for: one green, one day, nobody named, everything confounded."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.evidence import value as number
from greenwright.base.tables import quantities
from greenwright.base.values import Reading
from greenwright.measure import (
    Surface,
    first_day_needed,
    quantities_read,
    share_in_band,
    speed_sets,
    surface,
)
from greenwright.measure.families import families
from greenwright.measure.soundings import WINDOW_D, observations, soundings
from tests.measure.invented import balls, day, reading, record


def of(rows: list[Reading], quantity: str, *, on: int = 0, **more: object) -> Surface:
    found = surface(record(rows, on=day(on), **more), quantity)
    assert found is not None
    return found


def scores(values: list[float], kind: str = "smoothness_score", **more: object) -> list[Reading]:
    return [reading(kind, v, date=day(t), **more) for t, v in enumerate(values)]


@pytest.mark.parametrize(("value", "end"), [(10.0, "high"), (0.0, "low")])
def test_scores_at_an_end_stay_inside_and_keep_their_doubt(value: float, end: str) -> None:
    one = of(scores([value] * 20), "smoothness", on=19, greens=("1",))
    held = one.per_green[0]
    assert 0 <= held.low < held.value < held.high <= 10
    # one observer of such a course may also be an odd observer: the prior keeps some weight
    assert abs(getattr(held, end) - value) < 0.6
    assert held.sd > 0.1
    everything = share_in_band(one, 0.0, 10.0)
    assert everything.per_green.tolist() == [pytest.approx(1.0)]
    assert everything.course == pytest.approx(1.0)


@pytest.mark.parametrize("kind", ["hops", "drifts", "clean_rolls"])
@pytest.mark.parametrize("clean", [True, False])
def test_counts_of_none_and_all_of_n(kind: str, clean: bool) -> None:
    quantity = "trueness_score" if kind == "drifts" else "smoothness"
    n = 12
    counted = n if clean == (kind == "clean_rolls") else 0
    rows = [reading(kind, counted, n=n, date=day(t), unit="count") for t in range(6)]
    one = of(rows, quantity, on=5)
    assert 0 <= one.course.low < one.course.high <= 10
    # all clean is better than half clean, none clean is worse
    half = of([replace(r, value=n / 2) for r in rows], quantity, on=5)
    assert (one.course.value > half.course.value) == clean


def test_a_count_out_of_nothing_or_of_more_than_all_says_nothing() -> None:
    bad = [
        reading("hops", 3, unit="count"),
        reading("hops", 0, n=0, unit="count"),
        reading("clean_rolls", 9, n=8, unit="count"),
        reading("hops", -1, n=8, unit="count"),
    ]
    assert quantities_read(record(bad)) == ()
    assert surface(record(bad), "smoothness") is None
    good = [*bad, reading("smoothness_score", 7.0)]
    assert of(good, "smoothness").n_readings == 1


def test_a_course_of_one_green() -> None:
    one = of([reading("green_speed", 2.7, date=day(t)) for t in range(10)], "green_speed",
             on=9, greens=("1",))  # fmt: skip
    assert one.between_greens_sd is None
    assert (one.odd, one.odd_greens) == ((), ())
    # by hand: the mean of one green is that green
    assert one.course.value == pytest.approx(one.per_green[0].value)
    assert one.course.sd == pytest.approx(one.per_green[0].sd)
    assert one.course_change_7d.value == pytest.approx(one.change_7d[0].value)


def test_two_greens_are_too_few_to_stand_apart() -> None:
    rows = [
        reading("green_speed", 2.2 if g == "1" else 3.2, date=day(t), green=g)
        for t in range(20)
        for g in ("1", "2")
    ]
    assert of(rows, "green_speed", on=19, greens=("1", "2")).odd == ()


def test_when_no_green_is_in_play_the_course_is_all_of_them() -> None:
    rows = [reading("moisture", 20.0 + int(g), date=day(t), green=g)
            for t in range(9) for g in "123"]  # fmt: skip
    resting = of(rows, "moisture", on=8, resting=("1", "2", "3"))
    playing = of(rows, "moisture", on=8)
    assert resting.course == playing.course
    assert resting.playing.sum() == pytest.approx(1.0)


def test_a_green_out_of_play_is_read_but_not_averaged() -> None:
    rows = [reading("moisture", {"1": 20.0, "2": 21.0, "3": 45.0}[g], date=day(t), green=g)
            for t in range(20) for g in "123"]  # fmt: skip
    one = of(rows, "moisture", on=19, resting=("3",))
    assert one.per_green[2].value > 35
    assert one.course.value < 25
    assert "3" not in one.odd_greens
    assert one.between_greens_sd.value < 4  # by hand: greens 1 and 2 are one apart


def test_a_reading_without_a_name_is_no_surer_than_one_with_a_name() -> None:
    """Leaving the name out must not be a way to look more certain."""
    named = scores([7.0, 7.5, 6.5, 7.0] * 4, observer="ana")
    nameless = [replace(r, observer="") for r in named]
    one, other = (of(rows, "smoothness", on=15) for rows in (named, nameless))
    assert other.per_green[0].sd == pytest.approx(one.per_green[0].sd, rel=1e-6)
    assert [s.observer for s in one.observers] == ["ana"]
    assert other.observers == ()


def test_nameless_and_named_readings_are_weighed_against_each_other() -> None:
    """Planted: nobody scores two points under ana, on the same greens and days."""
    rows = [
        reading("smoothness_score", 8.0 if who else 6.0, date=day(t), green=g, observer=who)
        for t in range(15)
        for g in ("1", "2", "3")
        for who in ("ana", "")
    ]
    one = of(rows, "smoothness", on=14)
    # by hand: both are pooled towards no shift, so the truth is believed half way
    assert one.course.value == pytest.approx(7.0, abs=0.35)
    assert one.observers[0].shift.value == pytest.approx(1.0, abs=0.35)
    assert one.n_readings == 90


def test_three_observers_who_each_read_one_green_cannot_be_told_from_it() -> None:
    """Confounded: green 3 reads 2 points low, and so does cy, who alone reads it."""
    who = {"1": "ana", "2": "ben", "3": "cy"}
    value = {"1": 7.5, "2": 7.5, "3": 5.5}
    own = [reading("smoothness_score", value[g], date=day(t), green=g, observer=who[g])
           for t in range(25) for g in "123"]  # fmt: skip
    crossed = [replace(r, observer=("ana", "ben", "cy")[(int(r.green) + r.date.day) % 3])
               for r in own]  # fmt: skip
    tied, free = of(own, "smoothness", on=24), of(crossed, "smoothness", on=24)

    def apart(one: Surface) -> float:
        contrast = np.array([0.5, 0.5, -1.0])
        return math.sqrt(contrast @ one.cov @ contrast)

    assert apart(tied) > 1.5 * apart(free)
    # what is believed of green 3 lies between no difference and the whole of it
    tied_gap, free_gap = (s.mean[:2].mean() - s.mean[2] for s in (tied, free))
    assert 0.3 < tied_gap < free_gap
    assert free_gap == pytest.approx(2.0, abs=0.35)
    assert "3" not in tied.odd_greens
    assert free.odd_greens == ("3",)
    shifts = {s.observer: s.shift.value for s in tied.observers}
    assert shifts["cy"] < -0.3 < min(shifts["ana"], shifts["ben"])


def test_readings_of_one_day_leave_the_change_unknown() -> None:
    rows = [reading("green_speed", 2.7, green=g, station=s) for g in "123" for s in "AB"]
    one = of(rows, "green_speed")
    assert one.course_change_7d.value == pytest.approx(0.0, abs=0.05)
    # by hand: the state of a week ago is known only through the process's memory, so the
    # change is at least as uncertain as one day's spread
    assert one.course_change_7d.sd > 0.8 * one.day_sd
    assert one.course_change_7d.sd > one.course.sd * 0.9
    assert one.last_read == (day(0),) * 3


def test_a_year_without_a_reading_leaves_the_level_but_not_the_day() -> None:
    rows = [reading("moisture", 20.0, date=day(t), green=g) for t in range(30) for g in "123"]
    fresh, stale = of(rows, "moisture", on=29), of(rows, "moisture", on=29 + 365)
    assert stale.n_readings == fresh.n_readings
    assert stale.course.sd > 1.5 * fresh.course.sd
    # by hand: after many correlation times nothing of the day's state is left
    forgotten = math.exp(-365 / stale.slow_days)
    assert forgotten < 0.05
    assert stale.course.sd**2 > 0.9 * (stale.day_sd**2 + stale.slow_sd**2) * (1 - forgotten)
    assert stale.course.value == pytest.approx(20.0, abs=3.0)


def test_a_day_ahead_is_believed_like_a_day_without_a_reading() -> None:
    rows = [reading("green_speed", 2.7, date=day(t), green=g) for t in range(10) for g in "123"]
    ahead = surface(record(rows, on=day(9)), "green_speed", on=day(12))
    waited = surface(record(rows, on=day(12)), "green_speed")
    assert ahead is not None and waited is not None
    assert ahead.per_green == waited.per_green


def test_a_part_of_a_green_is_a_spot_of_its_own() -> None:
    """Half the readings at the front, half at the back: two spots, more known of the green."""
    rng = np.random.default_rng(4)
    rows = [
        reading("green_speed", 2.7 + 0.02 * rng.standard_normal(), date=day(t), green=g,
                part=("front", "back")[t % 2])
        for t in range(30) for g in "123"
    ]  # fmt: skip
    told, untold = (
        of(r, "green_speed", on=29) for r in (rows, [replace(r, part="") for r in rows])
    )
    assert told.per_green[0].sd < untold.per_green[0].sd
    found = soundings(rows, record(rows), families()["green_speed"])[0]
    assert {s.spot for s in found} == {"front", "back"}


def test_a_height_without_a_method_is_the_bench_height() -> None:
    rows = [
        *(reading("height_of_cut", 3.2, method="bench", date=day(t), unit="mm") for t in (0, 7)),
        *(reading("height_of_cut", 3.4, method="", date=day(t), unit="mm") for t in (3, 9)),
        *(reading("height_of_cut", 4.0, method="effective", date=day(t), unit="mm")
          for t in (1, 2, 3, 4, 5)),
    ]  # fmt: skip
    held = record(rows, on=day(9))
    assert quantities_read(held) == (("height_of_cut", "bench"), ("height_of_cut", "effective"))
    bench = surface(held, "height_of_cut", method="bench")
    effective = surface(held, "height_of_cut", method="effective")
    assert bench is not None and effective is not None
    assert (bench.n_readings, effective.n_readings) == (4, 5)
    assert bench.course.value < 3.6 < effective.course.value


def test_every_quantity_read_is_found_once_and_answers() -> None:
    rows = [
        reading("roll_score", 7.0),
        reading("hops", 2, n=10, unit="count"),
        reading("drifts", 2, n=10, unit="count"),
        reading("firmness", 90.0, method="impact deceleration", unit="g"),
        reading("moisture", 20.0),
        reading("clippings", 15.0),
        reading("height_of_cut", 3.2, unit="mm"),
        reading("quality", 7.0, unit="rating"),
        *balls([2.5], [2.6]),
    ]
    pairs = quantities_read(record(rows))
    assert len(set(pairs)) == len(pairs) == 8
    for quantity, method in pairs:
        one = surface(record(rows), quantity, method=method)
        assert one is not None
        assert (one.quantity, one.method) == (quantity, method)
        low, high = quantities()[quantity].low, quantities()[quantity].high
        assert all(low <= e.low <= e.high <= high for e in one.per_green)


@pytest.mark.parametrize("gap", [0, 1, WINDOW_D - 1, WINDOW_D, WINDOW_D + 1, 500])
def test_the_first_day_needed_is_enough_and_hardly_more(gap: int) -> None:
    """Surfaces from the record since that day are those of the whole record, for any gap."""
    old = [reading("moisture", 20.0 + n % 5, date=day(-n), green="1") for n in range(0, 300, 6)]
    new = [reading("green_speed", 2.7, date=day(gap - n), green="2") for n in range(0, 30, 3)]
    rows, on = [*old, *new], day(gap)
    last = {("moisture", "", False): day(0), ("green_speed", "", False): on}
    first = first_day_needed(last, on=on)
    assert first == (on if gap < WINDOW_D else day(0)) - timedelta(days=WINDOW_D)
    cut = record([r for r in rows if r.date >= first], on=on)
    for quantity in ("moisture", "green_speed"):
        one, other = surface(record(rows, on=on), quantity), surface(cut, quantity)
        assert one is not None and other is not None
        assert one.per_green == other.per_green
        assert one.n_readings == other.n_readings


def test_only_kinds_that_say_something_set_the_first_day() -> None:
    on, long_ago = day(0), day(-400)
    nothing = {("root_depth", "", False): long_ago, ("hops", "", False): long_ago}
    assert first_day_needed(nothing, on=on) == on - timedelta(days=WINDOW_D)
    assert first_day_needed({}, on=on) == on - timedelta(days=WINDOW_D)
    # scores of this week make old hops needless for smoothness
    both = {("hops", "", True): long_ago, ("smoothness_score", "", False): on}
    assert first_day_needed(both, on=on) == on - timedelta(days=WINDOW_D)
    # but each method of firmness stands for itself
    methods = {("firmness", "a", False): on, ("firmness", "b", False): long_ago}
    assert first_day_needed(methods, on=on) == long_ago - timedelta(days=WINDOW_D)


def test_one_ball_one_way_on_one_green_is_the_prior_moved_a_little() -> None:
    """By hand: a normal prior updated once, on the level scale."""
    one = of(balls([4.0]), "green_speed")
    prior = number("measure.green_speed.level")
    assert prior < one.per_green[0].value < 4.0
    assert one.per_green[0].value > one.per_green[1].value > prior
    assert one.per_green[0].sd < one.per_green[1].sd
    assert len(speed_sets(balls([4.0]))) == 1


def test_raters_of_an_empty_list_and_a_nameless_one() -> None:
    empty, names = observations((), ("1",), on=day(0))
    assert (len(empty), empty.n_raters, names) == (0, 0, ())
    rows = [reading("quality", 7.0, observer="", unit="rating")]
    found = soundings(rows, record(rows), families()["quality"])[0]
    bare, names = observations(found, ("1",), on=day(0))
    assert (bare.n_raters, bare.rater.tolist(), names) == (1, [0], ())
