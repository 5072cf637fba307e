"""Lines between the eye scale and what is counted or measured: hand numbers and planted lines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from greenwright.base.evidence import look_up
from greenwright.base.evidence import value as number
from greenwright.measure.links import (
    LINK_KEYS,
    Pair,
    clean,
    intercept_sd,
    line,
    line_name,
    lines,
    link_noise,
    measured,
)
from tests.measure.invented import day, reading

PROFILE = "profile_vertical"


def pairs(
    slope: float, *, n: int = 80, score_sd: float = 0.5, x_sd: float = 0.1, seed: int = 1
) -> list[Pair]:
    """Return pairs whose x follows a planted line of the true score, both read with error."""
    rng = np.random.default_rng(seed)
    truth = 7 + 0.8 * rng.standard_normal(n)
    score = truth + score_sd * rng.standard_normal(n)
    x = 0.4 + slope * (truth - 7) + x_sd * rng.standard_normal(n)
    return [Pair(s, score_sd**2, v, x_sd**2) for s, v in zip(score, x, strict=True)]


@pytest.mark.parametrize("kind", ["hops", "drifts", "clean_rolls", PROFILE])
def test_every_line_rests_on_evidence(kind: str) -> None:
    for key in LINK_KEYS["clean_rolls" if kind != PROFILE else PROFILE]:
        assert look_up(key).grade == "elicited"
    assert link_noise(kind) > 0
    assert intercept_sd(kind) > 0


def test_the_line_of_counts_before_any_pair_by_hand() -> None:
    """Half clean at 5 and 1.8 points a logit (evidence): at 7, (7 - 5) / 1.8 = 1.111 logits."""
    one = line("hops", [])
    assert one.at == pytest.approx(2 / 1.8)
    assert one.score(0.0) == pytest.approx(5.0)
    assert one.score(1.0) == pytest.approx(6.8)
    # relative sd 0.6 / 1.8: sd of the log sqrt(log(1 + 1/9)) = 0.3246
    assert one.log_sd == pytest.approx(0.3246, abs=1e-4)
    assert one.slope_variance(8.0) == pytest.approx(0.3246**2, abs=1e-4)
    assert one.slope_variance(7.0) == 0.0


def test_the_line_of_an_instrument_before_any_pair_by_hand() -> None:
    """1 mm/m at 7 and a quarter of the log a point: two points rougher is e^0.5 = 1.65 mm/m."""
    one = line(PROFILE, [])
    assert one.score(0.0) == pytest.approx(7.0)
    assert one.score(math.log(1.6487)) == pytest.approx(5.0, abs=1e-3)
    # wide on purpose: log sd 1 at 0.25 a point is 4 points, and the link's own besides
    assert intercept_sd(PROFILE) == pytest.approx(math.sqrt(16 + 0.5 * 1.2**2))


@pytest.mark.parametrize("slope", [-0.1, -0.25, -0.6])
def test_a_planted_slope_is_found_with_its_uncertainty(slope: float) -> None:
    one = line(PROFILE, pairs(slope))
    prior = line(PROFILE, [])
    assert one.pairs == 80
    assert one.log_sd < 0.6 * prior.log_sd
    assert abs(math.log(one.slope / slope)) < 2.5 * one.log_sd


def test_errors_of_the_scores_do_not_flatten_the_line() -> None:
    """Scores as noisy as the greens differ: plain least squares would halve 1 / slope."""
    found = [line(PROFILE, pairs(-0.4, score_sd=0.8, n=200, seed=s)).slope for s in range(8)]
    noisy = pairs(-0.4, score_sd=0.8, n=200)
    plain = np.polyfit([p.score for p in noisy], [p.x for p in noisy], 1)[0]
    assert abs(plain) < 0.3  # flattened
    assert np.mean(found) == pytest.approx(-0.4, rel=0.2)


def test_slopes_hold_the_truth_as_often_as_they_say() -> None:
    """Truth drawn from the prior, 30 pairs each: the log slope within 1.645 sds, 9 in 10."""
    prior, rng, inside = line(PROFILE, []), np.random.default_rng(3), []
    noise = math.sqrt(link_noise(PROFILE))
    for seed in range(150):
        slope = prior.slope * math.exp(prior.log_sd * rng.standard_normal())
        held = pairs(slope, n=30, score_sd=1.0, x_sd=noise, seed=seed)
        one = line(PROFILE, [Pair(p.score, p.score_variance, p.x, 0.0) for p in held])
        inside.append(abs(math.log(one.slope / slope)) < 1.645 * one.log_sd)
    # binomial sd 2.4 points
    assert 0.83 <= np.mean(inside) <= 0.97


def test_pairs_are_of_one_green_and_day() -> None:
    rows = [
        reading("smoothness_score", 7.0 + g, green=str(g), date=day(t))
        for g in range(2)
        for t in range(4)
    ]
    rows += [
        reading(PROFILE, math.exp(-0.3 * g), green=str(g), date=day(t), instrument="sled")
        for g in range(2)
        for t in range(4)
    ]
    rows += [reading(PROFILE, 5.0, green="0", date=day(9), instrument="sled")]
    found = lines(rows, "smoothness_score")
    assert list(found) == [f"{PROFILE} sled"]
    assert found[f"{PROFILE} sled"].pairs == 8  # day 9 has no score beside it


def test_a_score_of_both_together_helps_where_the_direct_one_is_missing() -> None:
    rows = [reading("roll_score", 7.0 + t % 3, date=day(t)) for t in range(6)]
    rows += [reading("hops", 5 - t % 3, n=20, date=day(t)) for t in range(6)]
    assert lines(rows, "smoothness_score")["hops"].pairs == 6


def test_two_instruments_have_two_lines() -> None:
    names = {line_name(reading(PROFILE, 1.0, instrument=i)) for i in ("a", "b", "")}
    assert names == {f"{PROFILE} a", f"{PROFILE} b", PROFILE}
    assert line_name(reading("hops", 1, n=9, instrument="a")) == "hops"


def test_what_was_counted_is_clean_rolls() -> None:
    assert clean(reading("clean_rolls", 7, n=10)) == (7, 10)
    assert clean(reading("hops", 3, n=10)) == (7, 10)
    even = measured(reading("hops", 5, n=10))
    assert even[0] == pytest.approx(0.0)
    assert measured(reading(PROFILE, 1.0)) == (0.0, 0.0)
    # an instrument that shows nothing is taken at its last digit, not at minus infinity
    assert measured(reading(PROFILE, 0.0))[0] == pytest.approx(math.log(0.01))


def test_link_noise_is_the_passing_half_by_hand() -> None:
    # clean rolls: half of 1 point^2, at 1 / 1.8 logits a point
    assert link_noise("clean_rolls") == pytest.approx(0.5 / 1.8**2)
    assert number("measure.link.lasting_share") == 0.5
