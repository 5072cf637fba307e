"""Sets as they are really written down: lopsided, doubled, steep, half named, at the ends."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.evidence import value as number
from greenwright.base.values import Reading, Station
from greenwright.measure import speed_sets
from greenwright.roll import ramp_rolls
from tests.measure.invented import at, balls, day, reading

FOOT = 0.3048
ROLLS = st.floats(0.6, 10.0)  # what the record's format lets in


@given(st.lists(ROLLS, min_size=1, max_size=6), st.lists(ROLLS, min_size=1, max_size=6))
def test_any_two_directions_that_the_record_lets_in_make_a_speed(
    a: list[float], b: list[float]
) -> None:
    (one,) = speed_sets(balls(a, b))
    mean_a, mean_b = math.fsum(a) / len(a), math.fsum(b) / len(b)
    # by hand: 2ab / (a + b) lies between the two means, nearer the shorter
    assert one.level_speed_m == pytest.approx(2 * mean_a * mean_b / (mean_a + mean_b))
    assert one.n == one.rows == len(a) + len(b)
    assert one.sd_m > 0
    assert math.isfinite(one.slope)


def test_unequal_counts_weigh_each_direction_by_its_own_mean() -> None:
    # by hand: means 2.4 (of five) and 3.6 (of one): 2 x 2.4 x 3.6 / 6 = 2.88
    (one,) = speed_sets(balls([2.4] * 5, [3.6]))
    assert one.level_speed_m == pytest.approx(2.88)
    (turned,) = speed_sets(balls([2.4], [3.6] * 5))
    # by hand: the short side's lever is (3.6 / 6)^2 against (2.4 / 6)^2, 2.25 times as long,
    # so balls are worth more where the roll is short
    assert one.sd_m < turned.sd_m


def test_a_row_that_is_already_a_mean_counts_as_its_balls() -> None:
    written = [
        reading("roll_distance", 2.4, direction="a", n=3),
        reading("roll_distance", 3.6, direction="b", n=3),
    ]
    (short,), (full,) = speed_sets(written), speed_sets(balls([2.4] * 3, [3.6] * 3))
    assert short.level_speed_m == full.level_speed_m
    assert (short.n, short.rows, full.n, full.rows) == (6, 2, 6, 6)
    assert short.span_m is None  # three balls of which only the mean is known


def test_means_of_unequal_numbers_are_joined_by_weight() -> None:
    rows = [
        reading("roll_distance", 2.4, direction="a", n=4),
        reading("roll_distance", 2.9, direction="a", n=1),
        reading("roll_distance", 2.5, direction="b", n=5),
    ]
    # by hand: (4 x 2.4 + 2.9) / 5 = 2.5, level ground
    (one,) = speed_sets(rows)
    assert (one.mean_a_m, one.level_speed_m) == pytest.approx((2.5, 2.5))


@pytest.mark.parametrize("share", [0.5, 0.9, 0.99, 0.999])
def test_close_to_the_slope_on_which_a_ball_never_stops(share: float) -> None:
    rho = 0.23873 / 2.743  # by hand: resistance at 9 ft
    up, down = ramp_rolls(2.743, share * rho)
    (one,) = speed_sets(balls([up] * 3, [down] * 3))
    level = 2.743 * math.sqrt(1 + (share * rho) ** 2)  # the closed form's own cos theta
    assert one.level_speed_m == pytest.approx(level, rel=1e-6)
    assert one.slope == pytest.approx(share * rho, rel=1e-4)
    # the long roll hardly matters: the sd is the uphill side's, at most four times one mean's
    assert one.sd_m < 4 * math.sqrt(number("measure.roll_sd_within_set") ** 2 / 3 + 0.0254**2)


def test_zero_spread_still_leaves_what_the_prior_and_the_writing_leave() -> None:
    sets = speed_sets([b for t in range(200) for b in balls([2.5] * 3, [2.5] * 3, date=day(t))])
    prior, step = number("measure.roll_sd_within_set"), 0.1
    # by hand: 800 degrees of freedom without spread and ten of the prior; 2.5 is written in
    # tenths as far as anyone can see; both ways weigh (1/2)^2 each
    ball = 10 * prior**2 / 810
    wanted = math.sqrt(0.5 * (ball / 3 + step**2 / 12))
    assert sets[0].sd_m == pytest.approx(wanted, rel=1e-6)


def test_the_same_row_sent_twice_is_one_ball_and_twins_are_two() -> None:
    twice = [*balls([2.4], id="u1"), *balls([2.4], id="u1"), *balls([2.6], id="u2")]
    assert speed_sets(twice)[0].n == 2
    assert speed_sets(twice)[0].level_speed_m == pytest.approx(2.5)
    assert speed_sets(balls([2.4, 2.4, 2.6]))[0].n == 3


def test_a_ball_of_no_stated_direction_is_no_part_of_the_slope() -> None:
    loose = [reading("roll_distance", 9.0)]
    sets = speed_sets([*balls([2.4] * 3, [3.6] * 3), *loose])
    both = next(s for s in sets if s.way == "both")
    alone = next(s for s in sets if s.way == "one")
    assert (both.n, both.level_speed_m) == (6, pytest.approx(2.88))
    assert (alone.n, alone.level_speed_m, alone.direction) == (1, 9.0, "")
    assert alone.shift_sd_m == number("measure.one_way_sd")


def test_loose_balls_do_not_borrow_the_slope_of_the_first_ball() -> None:
    place = [Station(green="1", station="C", slope_pct=1.632)]
    up, loose = balls([8 * FOOT] * 3, station="C"), [reading("roll_distance", 2.9, station="C")]
    for rows in ([*up, *loose], [*loose, *up]):
        levels = {s.direction: s.level_speed_m for s in speed_sets(rows, place)}
        # table of the ramp on a slope: 8 ft up 1.632 % is 9.6 ft
        assert levels["a"] == pytest.approx(9.6 * FOOT, abs=1e-3)
        assert levels[""] == 2.9


def test_two_parts_of_a_green_are_two_sets() -> None:
    front, back = balls([2.4], [2.4], part="front"), balls([2.8], [2.8], part="back")
    sets = speed_sets([*front, *back])
    assert sorted((s.part, s.level_speed_m) for s in sets) == [("back", 2.8), ("front", 2.4)]


def test_a_mean_without_a_time_repeats_a_set_of_its_day() -> None:
    rolled = balls([2.5] * 3, [2.5] * 3, time=at(7))
    bare = reading("green_speed", 2.51)
    assert [s.way for s in speed_sets([*rolled, bare])] == ["both"]
    elsewhere = reading("green_speed", 2.51, part="front")
    later = reading("green_speed", 2.51, time=at(15))
    for other in (elsewhere, later):
        assert len(speed_sets([*rolled, other])) == 2


def test_a_repeat_on_another_day_green_station_or_by_another_is_news() -> None:
    rolled = balls([2.5] * 3, [2.5] * 3, station="C", time=at(7))
    for other in ({"date": day(1)}, {"green": "2"}, {"station": "D"}, {"observer": "ben"}):
        row = reading("green_speed", 2.5, **({"station": "C", "time": at(7)} | other))
        assert len(speed_sets([*rolled, row])) == 2


def test_an_hour_is_counted_from_the_first_ball() -> None:
    times = (at(7), at(7, 40), at(8), at(8, 1), at(8, 40))
    rows = [ball for time in times for ball in balls([2.5], time=time)]
    # by hand: 0, 40 and 60 are within the hour of the first; 61 begins another
    assert [s.n for s in speed_sets(rows)] == [3, 2]


@pytest.mark.parametrize("direction", ["a", "b"])
def test_level_ground_needs_no_correction_either_way(direction: str) -> None:
    place = [Station(green="1", station="C", slope_pct=0.0)]
    rows = [reading("roll_distance", 2.6, direction=direction, station="C")]
    assert speed_sets(rows, place)[0].level_speed_m == pytest.approx(2.6)


def test_the_slope_of_another_green_is_not_borrowed() -> None:
    place = [Station(green="2", station="C", slope_pct=3.0)]
    one = speed_sets(balls([2.6], station="C"), place)[0]
    assert (one.level_speed_m, one.shift_sd_m) == (2.6, number("measure.one_way_sd"))


def test_nothing_rolled_makes_no_set() -> None:
    assert speed_sets([]) == ()
    assert speed_sets([reading("moisture", 20.0)]) == ()


@given(st.permutations(range(12)))
def test_the_order_of_rows_does_not_matter(order: list[int]) -> None:
    rows: list[Reading] = [
        *balls([2.4, 2.5], [2.8, 2.7], set="s", time=at(7)),
        *balls([2.2, 2.3], [2.9, 2.6], time=at(9), green="2"),
        *balls([2.6, 2.7], time=at(11), green="2"),
        reading("green_speed", 2.9, green="3"),
        reading("green_speed", 2.5, green="1", date=date(2026, 6, 2)),
    ]
    shuffled = [rows[i] for i in order] + rows[12:]
    one, other = speed_sets(rows), speed_sets(shuffled)
    assert [(s.green, s.n, s.way) for s in one] == [(s.green, s.n, s.way) for s in other]
    assert np.allclose([s.level_speed_m for s in one], [s.level_speed_m for s in other])
