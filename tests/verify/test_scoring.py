"""Coverage, misses and skill: by hand, in the long run, and spoiled on purpose."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from greenwright.verify.references import PERSISTENCE, SEASONAL, Readings
from greenwright.verify.scores import crps_log_normal, crps_normal
from greenwright.verify.scoring import (
    BEST,
    LEVELS,
    NOTHING,
    Forecasts,
    Judged,
    coverage,
    hardest,
    mean_error,
    meet,
    rules_of,
    skills,
)


def judged(
    z: np.ndarray, day: np.ndarray | None = None, *, sd: float = 1.0, ahead: int = 1, log=False
) -> Judged:
    """Return forecasts of 0 that came out by z spreads higher."""
    z = np.asarray(z, dtype=float)
    days = np.arange(len(z)) + 30 if day is None else np.asarray(day)
    zero = np.zeros(len(z))
    places = np.arange(len(z))
    return Judged(days - ahead, days, places * 0, zero, zero + sd, z * sd, places, log)


def test_the_share_held_is_counted() -> None:
    # by hand: of z = 0.5, 1.0, 1.7, 2.5 the ranges of 50, 80, 90, 95 % hold 1, 2, 2, 3
    one = judged([0.5, -1.0, 1.7, -2.5])
    assert [coverage(one, level).value for level in LEVELS] == [0.25, 0.5, 0.5, 0.75]


def test_readings_that_share_their_days_widen_the_interval() -> None:
    z = norm.ppf(np.linspace(0.01, 0.99, 60))
    apart = coverage(judged(z), 0.8)
    together = coverage(judged(np.repeat(z[::6], 6), np.repeat(np.arange(10), 6)), 0.8)
    assert (apart.n, apart.n_days) == (60, 60) and (together.n, together.n_days) == (60, 10)
    assert together.high - together.low > 2 * (apart.high - apart.low)


def test_the_interval_without_clusters_is_wilson_s() -> None:
    # statsmodels proportion_confint(8, 10, method="wilson") is (0.490, 0.943) with z = 1.96;
    # t of 9 degrees (2.262) in its place, by hand: (0.446, 0.952)
    z = np.array([0.0] * 8 + [3.0, -3.0])
    told = coverage(judged(z), 0.9)
    share, n, t = 0.8, 9.0, 2.2622  # ten days are worth nine: the variance is that of a sample
    middle = (share + t**2 / (2 * n)) / (1 + t**2 / n)
    half = t * np.sqrt(share * 0.2 / n + t**2 / (4 * n**2)) / (1 + t**2 / n)
    assert (told.low, told.high) == pytest.approx((middle - half, middle + half), abs=1e-3)


@pytest.mark.parametrize("wanted", [0.5, 0.9])
def test_nineteen_of_twenty_intervals_hold_the_share(wanted: float) -> None:
    rng, held = np.random.default_rng(3), 0
    for _ in range(200):
        day = np.repeat(np.arange(30), 6)
        shared = rng.normal(0, np.sqrt(0.5), 30)[day]
        told = coverage(judged(shared + rng.normal(0, np.sqrt(0.5), 180), day), wanted)
        held += told.low <= wanted <= told.high
    # 190 of 200 expected; three standard errors of a share of 200
    assert held / 200 > 0.95 - 3 * np.sqrt(0.95 * 0.05 / 200)


def test_ranges_half_as_wide_as_they_should_be_are_caught() -> None:
    z = np.random.default_rng(8).normal(0, 2.0, 400)
    told = coverage(judged(z), 0.9)
    # by hand: a normal twice as wide holds 2 Phi(0.822) - 1 = 0.589
    assert told.value == pytest.approx(0.589, abs=0.06) and told.high < 0.9


def test_one_day_says_nothing_of_the_interval() -> None:
    told = coverage(judged([0.1, 0.2], [5, 5]), 0.9)
    assert (told.low, told.high, told.n_days) == (0.0, 1.0, 1)


def test_misses_have_the_reading_s_sign_and_unit() -> None:
    told = mean_error(judged([1.0, 3.0], sd=0.1))
    assert told.value == pytest.approx(0.2)  # by hand: (0.1 + 0.3) / 2
    # by hand: sd of the two misses 0.1414, over sqrt(2)
    assert told.se == pytest.approx(0.1)


def test_misses_of_logs_are_in_the_natural_unit() -> None:
    told = mean_error(judged([0.0, 0.0], sd=0.2, log=True))
    assert told.value == pytest.approx(1 - np.exp(0.02))  # mean of a log-normal, by hand


def test_nothing_judged_is_nothing_told() -> None:
    none = judged([])
    assert coverage(none, 0.9) == NOTHING == mean_error(none)
    assert skills(none, {}) == ()


def series() -> Readings:
    """Return one green read daily for three months, steady but for noise."""
    days = np.arange(90)
    value = 3 + np.random.default_rng(2).normal(0, 0.1, 90)
    return Readings(days * 0, days, value)


def forecast_all(readings: Readings, ahead: int, mean: np.ndarray, sd: float) -> Judged:
    some = readings.day >= 40
    day = readings.day[some]
    given = Forecasts(day - ahead, day, day * 0, mean[some], np.full(len(day), sd))
    return meet(given, readings, log=False)


def test_each_forecast_meets_the_readings_of_its_green_and_day() -> None:
    readings = Readings(np.array([0, 1, 0, 0]), np.array([3, 5, 5, 5]), np.array([1.0, 2, 3, 4]))
    given = Forecasts(
        np.array([4, 4, 4]), np.array([5, 5, 6]), np.array([0, 1, 0]), np.zeros(3), np.ones(3)
    )
    found = meet(given, readings, log=False)
    # by hand: green 0 was read twice on day 5, green 1 once, nobody on day 6
    assert sorted(found.value) == [2.0, 3.0, 4.0] and set(found.ahead) == {1}
    assert meet(given, Readings(*(np.array([]),) * 3), log=False).day.size == 0


def test_skill_is_one_less_the_ratio_of_scores() -> None:
    readings = series()
    one = forecast_all(readings, 1, np.full(90, 3.0), 0.1)
    rules = rules_of(readings, one)
    found = {s.against: s for s in skills(one, rules)}
    middle, sd = rules[PERSISTENCE]
    theirs = crps_normal(one.value, middle, sd).mean()
    assert found[PERSISTENCE].told.value == pytest.approx(1 - one.crps.mean() / theirs)
    assert found[PERSISTENCE].theirs == pytest.approx(theirs)
    # in theory: yesterday's noise comes on top, so a steady level is missed by 1 - 1/sqrt(2) less
    assert found[PERSISTENCE].told.value == pytest.approx(1 - np.sqrt(0.5), abs=0.08)


def test_a_rule_in_our_place_has_no_skill_over_itself() -> None:
    readings = series()
    said = rules_of(readings, forecast_all(readings, 1, readings.value, 0.1))[PERSISTENCE]
    some = readings.day[readings.day >= 40]
    given = Forecasts(some - 1, some, some * 0, said[0], said[1])
    one = meet(given, readings, log=False)
    told = {s.against: s.told for s in skills(one, rules_of(readings, one))}
    assert told[PERSISTENCE].value == pytest.approx(0.0, abs=1e-12)
    assert told[BEST].value <= 1e-12


def test_the_best_rule_is_the_one_hardest_to_beat_and_absent_ones_are_left_out() -> None:
    readings = series()
    one = forecast_all(readings, 1, np.full(90, 3.0), 0.1)
    found = skills(one, rules_of(readings, one))
    names = [s.against for s in found]
    assert SEASONAL not in names and names[-1] == BEST
    worst = min(found[:-1], key=lambda s: s.told.value)
    assert found[-1].told == worst.told and hardest(found) == worst.against


def test_the_interval_of_skill_holds_what_the_long_run_shows() -> None:
    rng, held = np.random.default_rng(6), 0
    truth = 1 - 1 / np.sqrt(2)  # spread 1 against a rule of spread 2 ** 0.5, both honest
    for _ in range(100):
        came = rng.normal(0, 1, 80)
        one = judged(came)
        rule = {PERSISTENCE: (rng.normal(0, 1, 80), np.full(80, np.sqrt(2)))}
        told = skills(one, rule)[0].told
        held += told.low <= truth <= told.high
    # 95 expected; three standard errors of a share of 100
    assert held > 88


def test_only_the_chosen_are_judged() -> None:
    one = judged([0.0, 9.0], ahead=3)
    assert coverage(one, 0.9, one.day == 30).value == 1.0
    assert one.within(3).all() and not one.within(7).any() and one.within(None).all()


def test_scores_of_logs_are_in_the_natural_unit() -> None:
    one = judged([0.4], sd=0.3, log=True)
    assert one.crps == pytest.approx(crps_log_normal(0.12, 0.0, 0.3))
