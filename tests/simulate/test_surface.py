"""Effects in the truth are the effects that were stated; the surface behaves as turf does."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.simulate import Act, Simulated, ahead, difference, replay
from greenwright.simulate.practices import RESPONSES, curve, dose
from greenwright.simulate.surface import QUANTITIES

JUNE = 460  # a day of the demo's second June


def test_a_replay_without_change_is_the_same_world(demo: Simulated) -> None:
    again = replay(demo, lambda _, acts: acts)
    for quantity in QUANTITIES:
        np.testing.assert_array_equal(again[quantity], demo.truth.quantities[quantity])


def test_one_roll_more_does_what_the_world_says(demo: Simulated) -> None:
    gain = difference(demo, JUNE, Act("roll", (0, 4), "06:00"))["green_speed"]
    # by hand: 0.16 m * 0.5 ** (h / 0.8 d) at h = 0, 1, 2, 3
    stated = np.array([0.16, 0.06727, 0.02828, 0.01189])
    for green in (0, 4):
        slope = demo.truth.slopes["roll"][green]
        np.testing.assert_allclose(gain[JUNE : JUNE + 4, green], slope * stated, atol=2e-5)
    assert not gain[:JUNE].any()
    assert not np.delete(gain, [0, 4], axis=1).any()
    np.testing.assert_allclose(demo.truth.effects["roll", "green_speed"][:4], stated, atol=2e-5)


def test_slopes_of_the_greens_average_to_one(demo: Simulated) -> None:
    for practice, slope in demo.truth.slopes.items():
        assert slope.mean() == pytest.approx(1.0, abs=1e-9), practice  # by construction
        assert slope.std() > 0.03


def test_sand_disturbs_first_and_helps_later(demo: Simulated) -> None:
    sand = Act("topdress", (2,), "09:00", 0.5, material="sand")
    moved = difference(demo, 420, sand)
    slope = demo.truth.slopes["topdress"][2]
    speed = moved["green_speed"][420:, 2] / slope
    assert speed[0] == 0  # done after the morning's readings
    # by hand: -0.30 * 0.5 ** (h / 0.8) + 0.08 * 0.5 ** (h / 8) at h = 1 and 7
    assert speed[1] == pytest.approx(-0.0528, abs=1e-4)
    assert speed[7] == pytest.approx(0.0429, abs=1e-4)
    smooth = moved["smoothness"][420:, 2]
    assert smooth[1] < -0.4 and smooth[7] > 0.1


def test_cores_hurt_for_weeks(demo: Simulated) -> None:
    core = Act("core", (1,), "08:00", 5.0)
    smooth = difference(demo, 60, core)["smoothness"][60:, 1] / demo.truth.slopes["core"][1]
    # by hand: -2.4 * 0.5 ** (h / 7) + 0.4 * 0.5 ** (h / 45) at h = 1 and 7
    assert smooth[1] == pytest.approx(-1.7798, abs=1e-3)
    assert smooth[7] == pytest.approx(-0.8409, abs=1e-3)
    assert smooth[40] > 0


def test_a_lower_cut_held_is_faster_while_it_is_held(demo: Simulated) -> None:
    def lower(index: int, acts: tuple[Act, ...]) -> tuple[Act, ...]:
        if not 90 <= index < 97:
            return acts
        return tuple(
            replace(a, amount=a.amount - 0.25) if a.practice == "mow" and a.amount else a
            for a in acts
        )

    gain = replay(demo, lower)["green_speed"] - demo.truth.quantities["green_speed"]
    mown = [any(a.practice == "mow" for a in demo.acts[i]) for i in range(90, 97)]
    # by hand: -0.25 mm * -0.30 m/mm
    np.testing.assert_allclose(gain[90:97][mown], 0.075, atol=1e-9)
    assert mown.count(True) >= 5
    np.testing.assert_allclose(gain[120:], 0, atol=1e-9)


def test_food_feeds_growth_and_the_regulator_slows_it(demo: Simulated) -> None:
    everywhere = tuple(range(18))
    feed = difference(demo, 100, Act("feed", everywhere, "10:00", 1.2, material="urea"))
    slow = difference(demo, 100, Act("regulator", everywhere, "11:00", 0.04))
    assert (feed["growth"][104:114] > 0).all()
    assert (slow["growth"][101:110] < 0).all()
    assert feed["green_speed"][104:114].mean() < 0 < slow["green_speed"][101:110].mean()
    assert np.nanmean(feed["clippings"][104:114]) > 0 > np.nanmean(slow["clippings"][101:110])


def test_an_unmown_day_grows_longer_and_slower(demo: Simulated) -> None:
    moved = replay(demo, lambda i, acts: tuple(a for a in acts if i != 95 or a.practice != "mow"))
    truth = demo.truth.quantities
    assert any(act.practice == "mow" for act in demo.acts[95])
    assert (moved["height_of_cut"][95] > truth["height_of_cut"][95]).all()
    assert (moved["green_speed"][95] < truth["green_speed"][95]).all()
    assert np.isnan(moved["clippings"][95]).all()
    assert (moved["clippings"][96] > truth["clippings"][96]).all()


def test_magnitudes_are_those_of_the_trade(demo: Simulated) -> None:
    truth = demo.truth.quantities
    months = np.array([day.month for day in demo.truth.days])
    summer = (months >= 5) & (months <= 9)
    # common practice: member courses run at 8 to 11 ft, so 2.4 to 3.4 m
    assert 2.4 < truth["green_speed"][summer].mean() < 3.4
    assert truth["green_speed"].min() > 1.8 and truth["green_speed"].max() < 4
    # a talk on green speed and its variability, 2018: greens differ by about 0.3 ft = 0.09 m
    assert 0.05 < truth["green_speed"].std(axis=1).mean() < 0.16
    # daily clippings on greens at nine courses: middle half 6.7 to 22 mL/m2
    assert 5 < np.nanmean(truth["clippings"][summer]) < 25
    assert 6.5 < truth["smoothness"][summer].mean() < 9
    assert truth["moisture"].min() > 5 and truth["moisture"].max() < 50
    assert truth["trueness"].min() > 1e-7 and truth["trueness"].max() < 1e-5


def test_dose_counts_what_the_practice_counts() -> None:
    # all by hand from the reference doses
    assert dose(Act("roll", (0,))) == 1
    assert dose(Act("roll", (0,), passes=2)) == pytest.approx(1.3)
    assert dose(Act("mow", (0,), amount=3.5)) == 0
    assert dose(Act("mow", (0,), amount=3.5, passes=2)) == 1
    assert dose(Act("feed", (0,), amount=1.2, material="urea")) == pytest.approx(1.104)
    assert dose(Act("core", (0,), amount=2.5)) == pytest.approx(0.5)
    assert dose(Act("verticut", (0,), amount=2.0)) == 1


def test_what_fades_by_heat_has_no_curve_in_days() -> None:
    with pytest.raises(ValueError, match="fades by heat"):
        curve(RESPONSES, practice="regulator", quantity="growth", horizons=np.arange(3))


def test_an_act_outside_the_record_is_refused(small: Simulated) -> None:
    with pytest.raises(ValueError, match="index: day 60"):
        difference(small, 60, Act("roll", (0,)))


def test_a_plan_can_be_played_into_the_days_ahead(demo: Simulated) -> None:
    today = demo.stage.today
    days = [today + timedelta(days=k) for k in range(1, 11)]
    mow = Act("mow", tuple(range(18)), "05:30", 3.5)
    roll = Act("roll", tuple(range(18)), "06:00")
    plain = ahead(demo, dict.fromkeys(days, (mow,)))["green_speed"]
    rolled = ahead(demo, dict.fromkeys(days, (mow, roll)))["green_speed"]
    assert plain.shape == (10, 18)
    slopes = demo.truth.slopes["roll"]
    np.testing.assert_allclose((rolled - plain)[0], 0.16 * slopes)
    # by hand: daily rolls pile up to 0.16 / (1 - 0.5 ** (1 / 0.8)) = 0.2761 m
    np.testing.assert_allclose((rolled - plain)[-1], 0.2761 * slopes, rtol=0.001)


def test_truth_cannot_be_written_to(small: Simulated) -> None:
    with pytest.raises(ValueError, match="read-only"):
        small.truth.quantities["green_speed"][0, 0] = 3.0
