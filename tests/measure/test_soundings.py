"""Which readings count, what each is worth, and how they become arrays."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import expit

from greenwright.base.evidence import value as number
from greenwright.base.values import Station
from greenwright.measure.families import family
from greenwright.measure.soundings import (
    MOST,
    WINDOW_D,
    chosen_method,
    last_dates,
    observations,
    readings_of,
    soundings,
)
from tests.measure.invented import balls, day, reading, record

SMOOTH, SPEED, MOIST = family("smoothness"), family("green_speed"), family("moisture")


def sounded(rows: list, of=SMOOTH, **more: object) -> tuple:
    return soundings(rows, record(rows, **more), of)[0]


def test_only_the_last_120_days_count() -> None:
    rows = [reading("quality", 7, date=day(n)) for n in (0, 10, 119, 130, 131)]
    got = readings_of(record(rows), family("quality"), method="", on=day(130))
    # by hand: day 130 looks back to day 11
    assert [r.date for r in got] == [day(119), day(130)]
    assert WINDOW_D == 120


def test_an_empty_window_ends_at_the_last_reading() -> None:
    rows = [reading("quality", 7, date=day(n)) for n in (0, 100, 130)]
    got = readings_of(record(rows), family("quality"), method="", on=day(900))
    assert [r.date for r in got] == [day(100), day(130)]


def test_other_kinds_other_greens_and_later_days_are_left_out() -> None:
    rows = [
        reading("quality", 7),
        reading("moisture", 20.0),
        reading("quality", 6, green="nowhere"),
        reading("quality", 5, date=day(3)),
    ]
    got = readings_of(record(rows), family("quality"), method="", on=day(0))
    assert [r.value for r in got] == [7]


def test_the_most_read_method_speaks_when_none_is_named() -> None:
    rows = [reading("height_of_cut", 3.0, method=m) for m in ("bench", "effective", "effective")]
    height = family("height_of_cut")
    assert chosen_method(record(rows), height, method="", on=day(0)) == "effective"
    assert chosen_method(record(rows), height, method="bench", on=day(0)) == "bench"
    assert chosen_method(record([]), height, method="", on=day(0)) == ""
    assert chosen_method(record(rows), SMOOTH, method="eye", on=day(0)) == ""


def test_a_score_is_worth_its_rounding() -> None:
    whole = sounded([reading("smoothness_score", v % 4 + 5) for v in range(9)])
    half = sounded([reading("smoothness_score", v / 2 + 3) for v in range(9)])
    # by hand: 1/12 and 0.25/12
    assert whole[0].variance == pytest.approx(1 / 12)
    assert half[0].variance == pytest.approx(0.25 / 12)
    assert whole[0].shift == ""


def test_a_score_that_sums_up_several_is_worth_more() -> None:
    one = sounded([reading("smoothness_score", 7)])[0]
    four = sounded([reading("smoothness_score", 7, n=4)])[0]
    assert one.variance == pytest.approx(4 * four.variance)


def test_a_linked_kind_keeps_half_of_its_error() -> None:
    one = sounded([reading("roll_score", 7)])[0]
    link = number("measure.roll_score.link_sd")
    assert one.shift == "roll_score"
    rounding = number("measure.score_rounding") ** 2 / 12
    # lasting and passing halves of the link's variance add up to it
    assert one.shift_sd**2 + one.variance - rounding == pytest.approx(link**2)
    assert one.shift_sd == pytest.approx(link * math.sqrt(0.5))


@pytest.mark.parametrize(("kind", "counted", "clean"), [("clean_rolls", 15, 15), ("hops", 5, 15)])
def test_counts_read_through_their_log_odds(kind: str, counted: int, clean: int) -> None:
    one = sounded([reading(kind, counted, n=20)])[0]
    draws = np.random.default_rng(0).beta(clean + 0.5, 20 - clean + 0.5, 200_000)
    # reference: the same link applied to draws of the Jeffreys belief
    middle, slope = (
        number(f"measure.clean_rolls.{k}") for k in ("score_at_half", "score_per_logit")
    )
    scores = middle + slope * np.log(draws / (1 - draws))
    assert one.value == pytest.approx(scores.mean(), abs=0.02)
    link = number(f"measure.{kind}.link_sd")
    assert one.variance - link**2 / 2 == pytest.approx(scores.var(), rel=0.03)


def test_the_link_says_what_its_note_says() -> None:
    """Evidence note: a score of 8 goes with 84 % clean rolls and 10 with 94 %."""
    middle, slope = (
        number(f"measure.clean_rolls.{k}") for k in ("score_at_half", "score_per_logit")
    )
    assert expit((8 - middle) / slope) == pytest.approx(0.84, abs=0.005)
    assert expit((10 - middle) / slope) == pytest.approx(0.94, abs=0.005)


def test_log_families_take_logs_and_their_rounding() -> None:
    wet = sounded([reading("clippings", 20.0), reading("clippings", 0.0)], family("clippings"))
    step = number("measure.score_rounding")
    assert wet[0].value == pytest.approx(math.log(20))
    assert wet[0].variance == pytest.approx(step**2 / 12 / 400)
    assert wet[1].value == pytest.approx(math.log(step / 2))  # nothing caught: half a step


def test_who_is_calibrated() -> None:
    eye = sounded([reading("smoothness_score", 7, observer="ben", instrument="x")])[0]
    probe = sounded([reading("moisture", 20.0, observer="ben", instrument="probe-2")], MOIST)[0]
    bare = sounded([reading("moisture", 20.0, observer="ben")], MOIST)[0]
    assert (eye.observer, probe.observer, bare.observer) == ("ben", "probe-2", "ben")


def test_speed_soundings_know_their_spot_and_their_slope() -> None:
    both = sounded(balls([2.5] * 3, [2.6] * 3, station="C"), SPEED)[0]
    one = sounded(balls([2.5] * 3, station="C"), SPEED)[0]
    loose = sounded(balls([2.5] * 3, [2.6] * 3), SPEED)[0]
    assert (both.spot, both.shift, both.rows) == ("C", "", 6)
    assert (one.shift, one.shift_sd) == ("1/C/a", number("measure.one_way_sd"))
    assert loose.spot == "usual spot"
    # what the slope leaves open is a shift of that spot, not noise that repeats would remove
    assert one.variance < one.shift_sd**2 / 10


def test_a_known_slope_leaves_a_smaller_shift() -> None:
    place = [Station(green="1", station="C", slope_pct=1.0)]
    known = sounded(balls([2.5] * 3, station="C"), SPEED, stations=place)[0]
    assert 0 < known.shift_sd < number("measure.one_way_sd")


def test_arrays_follow_the_soundings() -> None:
    rows = [
        reading("smoothness_score", 7, date=day(0), green="2"),
        reading("roll_score", 6, date=day(3), observer="ben"),
        reading("smoothness_score", 8, date=day(4), observer=""),
    ]
    found = sounded(rows)
    arrays, observers = observations(found, ("1", "2", "3"), on=day(4))
    assert observers == ("ana", "ben")
    assert arrays.day.tolist() == [-4, -1, 0]
    assert arrays.unit.tolist() == [1, 0, 0]
    assert arrays.rater.tolist() == [0, 1, 2]  # nobody named is somebody all the same
    assert arrays.scale.tolist() == [-1, 0, -1]
    assert arrays.spot.tolist() == [-1, -1, -1]
    assert (arrays.n_units, arrays.n_raters, len(arrays.scale_sd)) == (3, 3, 1)


def test_spots_of_two_greens_are_two_spots() -> None:
    rows = [
        reading("green_speed", 2.5, station="C", green=g, date=day(t))
        for t in range(2)
        for g in ("1", "2")
    ]
    found = sounded(rows, SPEED)
    spot = observations(found, ("1", "2", "3"), on=day(1))[0].spot
    assert len(set(spot.tolist())) == 2
    assert spot.tolist()[:2] == spot.tolist()[2:]


def test_the_latest_are_kept_when_there_are_too_many() -> None:
    rows = [reading("quality", 7, date=day(n % 100)) for n in range(MOST + 300)]
    found = sounded(rows, family("quality"))
    assert len(found) == MOST
    assert found[-1].date == day(99)
    assert found[0].date > day(10)


def test_last_dates() -> None:
    rows = [reading("quality", 7, date=day(n), green=g) for n, g in ((3, "1"), (1, "1"), (2, "3"))]
    assert last_dates(rows, ("1", "2", "3")) == (day(3), None, day(2))
