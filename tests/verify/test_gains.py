"""The slope of what came on what was said: right for an honest forecaster, and for a boaster."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.verify.gains import changes, gain_slope
from greenwright.verify.scoring import NOTHING, Judged


def lived(boast: float = 1.0, *, seed: int = 0, days: int = 40) -> Judged:
    """Return forecasts from many days, each of two greens on two days ahead.

    The truth moves by what is foreseen and by chance; the forecaster tells what he foresees times
    his boast.
    """
    rng = np.random.default_rng(seed)
    made_on = np.repeat(np.arange(days) * 10, 4)
    green = np.tile([0, 0, 1, 1], days)
    day = made_on + np.tile([1, 5, 2, 7], days)
    foreseen = rng.normal(0, 0.1, 4 * days)
    value = 3 + foreseen + rng.normal(0, 0.08, 4 * days)
    n = len(day)
    return Judged(
        made_on, day, green, 3 + boast * foreseen, np.full(n, 0.08), value, np.arange(n), False
    )


def test_changes_run_from_a_green_s_first_reading_under_a_forecast() -> None:
    one = lived()
    found = changes(one)
    assert len(found.predicted) == 80  # by hand: one later reading for each of 40 x 2
    # by hand, the first green of the first day: places 0 and 1
    assert found.predicted[0] == pytest.approx(one.mean[1] - one.mean[0])
    assert found.realised[0] == pytest.approx(one.value[1] - one.value[0])
    assert found.predicted_sd[0] == pytest.approx(0.08 * np.sqrt(2))
    assert (found.day[0], found.green[0], found.made_on[0]) == (5, 0, 0)


def test_what_comes_as_foreseen_has_slope_one_in_spite_of_chance() -> None:
    slopes = [gain_slope(changes(lived(seed=s))).value for s in range(40)]
    # The chance about what was foreseen does not pull the slope down.
    assert np.mean(slopes) == pytest.approx(1.0, abs=3 * np.std(slopes) / np.sqrt(40))


@pytest.mark.parametrize("boast", [0.5, 2.0])
def test_one_who_promises_too_much_or_too_little_is_caught(boast: float) -> None:
    told = gain_slope(changes(lived(boast, days=120)))
    assert told.low < 1 / boast < told.high
    assert not told.low < 1.0 < told.high


def test_nineteen_of_twenty_intervals_hold_one() -> None:
    told = [gain_slope(changes(lived(seed=s, days=30))) for s in range(100)]
    # 95 expected; three standard errors of a share of 100
    assert sum(t.low < 1 < t.high for t in told) > 88


def test_the_slope_without_clusters_is_least_squares() -> None:
    found = changes(lived())
    slope, _ = np.polyfit(found.predicted, found.realised, 1)  # numpy
    assert gain_slope(found).value == pytest.approx(slope, rel=1e-9)


def test_few_days_or_no_change_say_nothing() -> None:
    assert gain_slope(changes(lived(days=2))) == NOTHING
    assert gain_slope(changes(lived(boast=0.0))) == NOTHING


def test_changes_of_logs_are_told_as_shares() -> None:
    plain = lived()
    logs = Judged(
        plain.made_on, plain.day, plain.green, np.log(plain.mean), plain.sd, np.log(plain.value),
        plain.place, True,
    )  # fmt: skip
    found = changes(logs)
    # by hand: a difference of logs is the log of a ratio
    assert np.exp(found.realised[0]) == pytest.approx(plain.value[1] / plain.value[0])
