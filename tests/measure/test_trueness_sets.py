"""End offsets into sets: what rolls belong together, their squares, how they were written."""

from __future__ import annotations

import pytest

from greenwright.base.values import Reading
from greenwright.measure.trueness_sets import OffsetSet, offset_sets

from .invented import day, reading


def offsets(values: list[float], **more: object) -> list[Reading]:
    filled = {"unit": "mm", "observer": "", "instrument": "ramp-1", "roll_length_m": 3.0}
    return [reading("end_offset", v, **(filled | more)) for v in values]


def only(rows: list[Reading]) -> OffsetSet:
    (one,) = offset_sets(rows)
    return one


def test_squares_about_the_mean_line() -> None:
    one = only(offsets([100.0, 110.0, 120.0]))
    # by hand: (-10)^2 + 0 + 10^2 = 200 mm2; three rolls leave two degrees of freedom
    assert one.squares_m2 == pytest.approx(200e-6)
    assert (one.freedom, one.rows, one.launcher, one.length_m) == (2, 3, "ramp-1", 3.0)


def test_each_line_keeps_its_own_mean() -> None:
    rows = offsets([100, 110], direction="a") + offsets([-100, -90], direction="b")
    made = offset_sets(rows)
    # by hand: two sets of 2 * 5^2 = 50 mm2 each; pooled they would give 40,000 mm2
    assert [s.squares_m2 for s in made] == pytest.approx([50e-6, 50e-6])


def test_a_set_name_used_again_on_another_day_is_another_set() -> None:
    rows = offsets([1, 2], set="o1") + offsets([50, 60], set="o1", date=day(30))
    assert [s.freedom for s in offset_sets(rows)] == [1, 1]


def test_lengths_of_one_set_name_are_told_apart() -> None:
    rows = offsets([1, 2], set="o1") + offsets([50, 60], set="o1", roll_length_m=1.5)
    assert sorted(s.length_m for s in offset_sets(rows)) == [1.5, 3.0]


def test_sets_of_one_place_share_a_place() -> None:
    rows = offsets([1, 2]) + offsets([5, 6], roll_length_m=1.5)
    assert len({s.place for s in offset_sets(rows)}) == 1


def test_a_ball_alone_says_nothing() -> None:
    assert offset_sets(offsets([12.0])) == ()


def test_other_kinds_are_left_alone() -> None:
    assert offset_sets([reading("roll_distance", 3.0), reading("roll_distance", 3.1)]) == ()


def test_no_length_stays_open() -> None:
    assert only(offsets([1, 2], roll_length_m=None)).length_m is None


def test_rounding_follows_the_writer() -> None:
    # step^2 / 12: 5 mm where all eight values are fives, 1 mm where not, 5 mm (usual) for few
    fives = only(offsets([5, 10, 20, 35, -5, -15, 25, 40]))
    ones = only(offsets([5, 11, 20, 35, -5, -15, 25, 40]))
    few = only(offsets([3, 4]))
    expected = [25e-6 / 12, 1e-6 / 12, 25e-6 / 12]
    assert [s.rounding_m2 for s in (fives, ones, few)] == pytest.approx(expected)


def test_means_of_several_rolls_weigh_as_many() -> None:
    one = only(offsets([0.0, 10.0], n=4))
    # by hand: means of 4 rolls, each square weighs 4: 4 * (25 + 25) = 200 mm2, one degree left
    assert one.squares_m2 == pytest.approx(200e-6)
    assert one.freedom == 1


def test_the_observer_is_the_launcher_where_no_instrument_is_named() -> None:
    assert only(offsets([1, 2], instrument="", observer="ash")).launcher == "ash"
