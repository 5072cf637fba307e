"""The surface of a day: shapes, observers, links, windows, staleness, odd greens, bands."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from greenwright.base.errors import UnknownKey
from greenwright.base.evidence import look_up
from greenwright.base.values import Reading
from greenwright.measure import Surface, quantities_read, share_in_band, surface
from tests.measure.invented import balls, day, reading, record

QUANTITIES = ("green_speed", "smoothness", "trueness_score", "moisture", "clippings", "quality")
USUAL = {"green_speed": 2.8, "smoothness": 7.5, "moisture": 22.0, "clippings": 20.0}
KINDS = {"smoothness": "smoothness_score"}


def diary(quantity: str, days: int = 20, seed: int = 1) -> list[Reading]:
    """One reading of each of three greens a day, about a usual value."""
    rng, kind = np.random.default_rng(seed), KINDS.get(quantity, quantity)
    middle = USUAL.get(quantity, 7.0)
    return [
        reading(kind, middle * (1 + 0.03 * rng.standard_normal()), date=day(t), green=g)
        for t in range(days)
        for g in ("1", "2", "3")
    ]


def seen(readings: list[Reading], quantity: str = "green_speed", **more: object) -> Surface:
    last = max(r.date for r in readings)
    found = surface(record(readings, on=more.pop("on", last), **more), quantity)
    assert found is not None
    return found


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_shapes_units_and_keys(quantity: str) -> None:
    rows = diary(quantity)
    one = seen(rows, quantity)
    assert one.greens == ("1", "2", "3")
    assert one.mean.shape == (3,)
    assert one.cov.shape == (3, 3)
    assert np.linalg.eigvalsh(one.cov).min() > 0
    assert len(one.per_green) == len(one.change_7d) == len(one.last_read) == 3
    assert {e.unit for e in one.per_green} == {one.course.unit, one.unit}
    assert one.n_readings == sum(one.n_per_green) == len(rows)
    assert one.course_last_read == day(19)
    assert one.course.sd < max(e.sd for e in one.per_green)
    for key in one.evidence:
        assert look_up(key).key == key


def test_no_reading_no_surface_and_unknown_quantities_are_named() -> None:
    assert surface(record([]), "green_speed") is None
    assert surface(record(diary("moisture")), "green_speed") is None
    with pytest.raises(UnknownKey, match="bounce"):
        surface(record([]), "bounce")


def test_readings_after_the_day_are_not_seen() -> None:
    early, late = diary("green_speed", 5), [reading("green_speed", 4.5, date=day(9))]
    one = surface(record([*early, *late], on=day(30)), "green_speed", on=day(4))
    other = surface(record(early, on=day(4)), "green_speed")
    assert one is not None
    assert other is not None
    assert one.per_green == other.per_green


def test_same_record_same_answer() -> None:
    rows = diary("smoothness")
    assert seen(rows, "smoothness").per_green == seen(rows, "smoothness").per_green


@pytest.mark.parametrize("quantity", ["green_speed", "smoothness", "clippings"])
def test_wider_with_every_day_without_a_reading(quantity: str) -> None:
    rows = diary(quantity)
    snapshot = record(rows, on=day(100))
    widths = []
    for later in (19, 20, 22, 26, 40, 80):
        found = surface(snapshot, quantity, on=day(later))
        assert found is not None
        widths.append([math.sqrt(found.belief.cov[i, i]) for i in range(3)])
    assert np.all(np.diff(widths, axis=0) > 0)


def test_a_year_old_reading_still_answers_widely() -> None:
    one = seen(diary("green_speed"), on=day(400))
    assert one.course_last_read == day(19)
    assert one.course.sd > 0.1
    assert 2.3 < one.course.value < 3.3


def test_green_speed_of_one_spot_carries_the_greens_own_spread() -> None:
    """A month at one station leaves the station's departure from its green unknown.

    By hand: spots and greens both spread by 0.0914 m, so of what one spot tells of its green
    half the variance is the spot's: sd 0.0914/sqrt(2) = 0.065 m, however often it is read.
    """
    rng, fixed = np.random.default_rng(3), []
    for t in range(30):
        for g in ("1", "2", "3"):
            value = 2.8 + 0.02 * rng.standard_normal()
            fixed.append(reading("green_speed", value, date=day(t), green=g, station="C"))
    moved = [
        reading("green_speed", r.value, date=r.date, green=r.green, station=str(i % 5))
        for i, r in enumerate(fixed)
    ]
    one, many = seen(fixed), seen(moved)
    assert one.per_green[0].sd > 0.05
    assert many.per_green[0].sd < one.per_green[0].sd


def test_biased_observers_are_found_and_taken_out() -> None:
    """Ben scores 1.2 points under ana (planted) and alone reads green 3."""
    rng, rows = np.random.default_rng(5), []
    for t in range(40):
        for g, truth in (("1", 7.0), ("2", 8.0), ("3", 7.5)):
            for who, bias in (("ana", 0.6), ("ben", -0.6)):
                if (g == "3" and who == "ana") or rng.random() < 0.4:
                    continue
                value = truth + bias + 0.3 * rng.standard_normal()
                rows.append(reading("smoothness_score", value, date=day(t), green=g, observer=who))
    one = seen(rows, "smoothness")
    ana, ben = (o.shift.value for o in one.observers)
    assert [o.observer for o in one.observers] == ["ana", "ben"]
    assert ana - ben == pytest.approx(1.2, abs=0.25)  # planted
    raw = np.mean([r.value for r in rows if r.green == "3"])
    assert one.per_green[2].value > raw + 0.2
    assert one.per_green[1].value - one.per_green[0].value == pytest.approx(1.0, abs=0.35)


def test_what_informs_what() -> None:
    def told(*kinds: str) -> tuple[tuple[str, str], ...]:
        rows = [reading(k, 7, n=10 if k in ("hops", "drifts", "clean_rolls") else None)
                for k in kinds]  # fmt: skip
        return quantities_read(record(rows))

    both = (("smoothness", ""), ("trueness_score", ""))
    assert told("roll_score") == told("clean_rolls") == both
    assert told("hops") == told("smoothness_score") == both[:1]
    assert told("drifts") == told("trueness_score") == both[1:]
    assert told("roll_distance") == (("green_speed", ""),)
    assert quantities_read(record([reading("hops", 3)])) == ()  # a count of how many?


def test_a_linked_reading_tells_less_than_a_direct_one() -> None:
    direct = seen([reading("smoothness_score", 8)], "smoothness")
    for kind, n in (("roll_score", None), ("clean_rolls", 10)):
        linked = seen([reading(kind, 8, n=n)], "smoothness")
        assert linked.per_green[0].sd > direct.per_green[0].sd


def test_clean_rolls_and_hops_point_the_right_way() -> None:
    def level(kind: str, k: int) -> float:
        return seen([reading(kind, k, n=20)], "smoothness").per_green[0].value

    assert level("clean_rolls", 19) > level("clean_rolls", 10) > level("clean_rolls", 2)
    assert level("hops", 1) == pytest.approx(level("clean_rolls", 19), abs=0.2)
    # half of the rolls clean = score 5 (evidence); pulled up towards the usual 7, above 5
    assert 5 < level("clean_rolls", 10) < 7


def test_the_link_is_learnt_where_both_were_taken() -> None:
    """Roll scores run 1.5 under smoothness scores (planted); later only roll scores are given."""
    both = [
        reading(kind, value, date=day(t), green=g)
        for t in range(25)
        for g in ("1", "2", "3")
        for kind, value in (("smoothness_score", 8.0), ("roll_score", 6.5))
    ]
    alone = [reading("roll_score", 6.5, date=day(t)) for t in range(25, 32)]
    after, only = seen([*both, *alone], "smoothness"), seen(alone, "smoothness")
    assert after.per_green[0].value == pytest.approx(8.0, abs=0.45)
    assert after.per_green[0].sd < only.per_green[0].sd


def test_scores_stay_inside_their_window() -> None:
    rows = [reading("smoothness_score", 10, date=day(t), green=g)
            for t in range(15) for g in ("1", "2", "3")]  # fmt: skip
    one = seen(rows, "smoothness")
    for e in (*one.per_green, one.course):
        assert 0 <= e.low <= e.value <= e.high <= 10
    assert share_in_band(one, 8, 10).per_green.min() > 0.9


def test_clippings_are_asymmetric_and_zero_is_allowed() -> None:
    one = seen([*diary("clippings"), reading("clippings", 0.0, date=day(19))], "clippings")
    for e in one.per_green:
        assert 0 < e.low < e.value < e.high
        assert e.high - e.value > e.value - e.low


def firmness(value: float, method: str, **more: object) -> Reading:
    unit = "g" if method.startswith("impact") else "mm"
    return reading("firmness", value, method=method, unit=unit, **more)


def test_methods_are_never_pooled() -> None:
    rows = [firmness(90.0 + t, "impact deceleration", date=day(t)) for t in range(4)]
    rows += [firmness(9.0, "penetration depth", date=day(2))]
    snapshot = record(rows, on=day(4))
    assert quantities_read(snapshot) == (
        ("firmness", "impact deceleration"),
        ("firmness", "penetration depth"),
    )
    usual, depth = (surface(snapshot, "firmness", method=m) for m in ("", "penetration depth"))
    assert usual is not None
    assert depth is not None
    assert (usual.method, usual.unit, usual.n_readings) == ("impact deceleration", "g", 4)
    assert (depth.unit, depth.n_readings) == ("mm", 1)
    assert 80 < usual.per_green[0].value < 100
    assert 7 < depth.per_green[0].value < 11
    assert surface(snapshot, "firmness", method="ball-drop mark depth") is None


def test_bench_and_effective_height_are_apart() -> None:
    rows = [reading("height_of_cut", 3.2, method="bench", unit="mm"),
            reading("height_of_cut", 3.6, method="effective", unit="mm")]  # fmt: skip
    bench, effective = (surface(record(rows), "height_of_cut", method=m)
                        for m in ("bench", "effective"))  # fmt: skip
    assert bench is not None
    assert effective is not None
    assert bench.course.value < effective.course.value


def test_a_green_that_stands_apart_is_named() -> None:
    rows = [
        reading("green_speed", 2.8 - (0.6 if g == "3" else 0), date=day(t), green=g, station=s)
        for t in range(20)
        for g in ("1", "2", "3", "4", "5")
        for s in ("A", "B", "C")
    ]
    one = seen(rows, greens=("1", "2", "3", "4", "5"))
    assert one.odd_greens == ("3",)
    assert one.odd[0].difference.value == pytest.approx(-0.6, abs=0.12)  # planted
    assert one.odd[0].chance >= 0.95
    assert seen(rows, greens=("1", "2", "3", "4", "5"), resting=["3"]).odd_greens == ()


def test_course_is_the_mean_of_greens_in_play() -> None:
    rows = [reading("green_speed", 2.5 + 0.3 * int(g), date=day(t), green=g)
            for t in range(15) for g in ("1", "2", "3")]  # fmt: skip
    one = seen(rows, resting=["3"])
    assert one.course.value == pytest.approx(one.mean[:2].mean(), abs=1e-6)
    assert one.playing.tolist() == [0.5, 0.5, 0.0]


def test_between_greens_spread() -> None:
    rows = [reading("green_speed", 2.5 + 0.3 * int(g), date=day(t), green=g, station=s)
            for t in range(15) for g in ("1", "2", "3") for s in ("A", "B", "C", "D")]  # fmt: skip
    spread = seen(rows).between_greens_sd
    assert spread is not None
    # by hand: sd of 2.8, 3.1, 3.4 is 0.3; the belief may add what it does not know
    assert spread.low < 0.3 < spread.high
    assert seen(rows[:4], greens=("1",)).between_greens_sd is None


def test_a_fall_shows_in_the_change_over_seven_days() -> None:
    rows = [reading("green_speed", 3.0 if t < 13 else 2.6, date=day(t), green=g)
            for t in range(16) for g in ("1", "2", "3")]  # fmt: skip
    one = seen(rows)
    # planted: 3.0 to 2.6
    assert one.course_change_7d.value == pytest.approx(-0.4, abs=0.08)
    assert one.course_change_7d.high < 0


def test_an_unread_green_borrows_from_the_others_and_says_so() -> None:
    one = seen([r for r in diary("green_speed") if r.green != "2"])
    assert one.last_read[1] is None
    assert (one.per_green[1].n, one.per_green[1].basis) == (0, "model")
    assert one.per_green[1].sd > one.per_green[0].sd


def test_bands_are_chances_that_add_up() -> None:
    for quantity in ("green_speed", "smoothness", "clippings"):
        one = seen(diary(quantity), quantity)
        middle = one.course.value
        below, above = share_in_band(one, None, middle), share_in_band(one, middle, None)
        assert below.per_green + above.per_green == pytest.approx(np.ones(3))
        assert below.course == pytest.approx(0.5, abs=0.05)


def test_sets_to_repeat_are_said() -> None:
    rows = balls([2.4, 2.5, 2.7], [2.5] * 3)
    assert "repeat" in seen(rows).cautions[0]
    assert seen(rows, on=day(0) + timedelta(days=60)).cautions == ()
