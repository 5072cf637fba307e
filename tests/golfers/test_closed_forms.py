"""What has a closed form or a ball-by-ball answer, held to it by hand."""

from __future__ import annotations

from datetime import date, timedelta
from math import erf, exp, log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import beta, norm

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.golfers import (
    Player,
    complaint_rate,
    custom_player,
    holing_chance,
    notice_chance,
    player,
    putts_to_tell,
    rounds_to_tell,
    spread_from_pair,
    spread_from_range,
    spread_from_sd,
)
from greenwright.golfers.consistency import range_in_sds
from greenwright.golfers.feedback import Remarks, TopicRemarks
from greenwright.golfers.notice import NOTICED, any_two_notice, notice_keys, pair_notice
from greenwright.golfers.putt_tables import (
    PuttTable,
    binomial_height,
    fit_logistic,
    fit_one_angle,
    fit_physical,
    normal_height,
)
from greenwright.golfers.putting_round import _round_sd
from greenwright.golfers.stroke import stroke, stroke_draws
from greenwright.golfers.surveys import survey_shares
from greenwright.golfers.tally import Asked, DayOfPlay, chance_blank
from greenwright.golfers.verdict import Verdict, _judged

MONDAY = date(2026, 6, 1)
RAMP_M_S, HOLE_M, BALL_M = 1.8288, 0.05398, 0.02134
"""6 ft/s off the ramp; half of 4.25 in and of 1.68 in, by the rules of golf [memory]."""


# -- holing


def braking(speed_m: float) -> float:
    """Return the deceleration of a ball that rolls so far from the ramp: v^2 / (2 S)."""
    return RAMP_M_S**2 / (2 * speed_m)


def room(v: np.ndarray | float, limit: float) -> np.ndarray:
    """Return the half-width of the hole for a ball of speed v, as the player's fit states it."""
    return HOLE_M * np.sqrt(np.maximum(1 - np.asarray(v) / limit, 0.0))


@pytest.mark.parametrize("name", ["tour", "90"])
@pytest.mark.parametrize("distance_m", [0.6, 1.524, 3.048, 6.0])
def test_the_integral_is_that_of_an_adaptive_quadrature(name: str, distance_m: float) -> None:
    who, speed = player(name), 3.0
    aimed = distance_m + who.overshoot_m
    sd, slow = who.distance_sd * aimed, braking(speed)

    def held(u: float) -> float:
        v = sqrt(2 * slow * (u - distance_m))
        inside = erf(float(room(v, who.capture_speed)) / (who.angle_sd * distance_m) / sqrt(2))
        return float(norm.pdf(u, aimed, sd)) * inside

    last = distance_m + who.capture_speed**2 / (2 * slow)  # farther, and it jumps the hole
    # outside: the quadrature of a reference library, over the roll itself
    expected, _ = quad(held, distance_m, last, epsabs=1e-10, limit=200)
    found = holing_chance(distance_m, green_speed_m=speed, player=who)
    assert found == pytest.approx(expected, abs=2e-6)


@pytest.mark.parametrize("heading_k", [0.0, 3e-4, 1.2e-3])
def test_the_chance_is_that_of_balls_rolled_one_by_one(heading_k: float) -> None:
    who, d, n, steps = Player("own", 0.015, 0.03, 0.6, 1.32, 3.0), 2.0, 30_000, 160
    rng = np.random.default_rng(5)
    reach = (d + 0.6) * (1 + 0.03 * rng.standard_normal(n))
    heading = 0.015 * rng.standard_normal(n)
    aside, ds = np.zeros(n), d / steps
    for step in range(steps):  # d psi = sqrt(K) / (way left) dW, the walk of the roughness law
        left = reach - (step + 0.5) * ds
        heading += sqrt(heading_k * ds) / left * rng.standard_normal(n)
        aside += heading * ds
    v = np.sqrt(2 * braking(3.0) * (reach - d))
    rolled = float(np.mean(np.abs(aside) < room(v, 1.32)))
    found = holing_chance(d, green_speed_m=3.0, heading_k=heading_k, player=who)
    # Monte-Carlo error of 30,000 balls: at most 0.3 points
    assert found == pytest.approx(rolled, abs=0.009)


@pytest.mark.parametrize(
    ("angle_sd", "distance_sd", "capture"), [(-0.01, 0.1, 1.3), (0.01, 0.0, 1.3), (0.01, 0.1, 0)]
)
def test_players_that_cannot_be(angle_sd: float, distance_sd: float, capture: float) -> None:
    with pytest.raises(BadInput, match="'x' has errors that cannot be"):
        Player("x", angle_sd, distance_sd, 0.4, capture, 3.0)


def test_a_sure_player_is_drawn_as_he_is() -> None:
    who = custom_player(0.02, 0.1)
    drawn = stroke_draws(who, n=5, rng=np.random.default_rng(1))
    for name in ("angle_sd", "distance_sd", "overshoot_m", "capture_speed"):
        assert getattr(drawn, name) == pytest.approx(np.full(5, getattr(stroke(who), name)))


def test_an_unsure_player_is_drawn_about_his_numbers_and_never_aims_short() -> None:
    spread = ((0.04, 0.0, 0.0), (0.0, 0.01, 0.0), (0.0, 0.0, 0.25))
    who = Player("x", 0.02, 0.1, 0.4, 1.32, 3.0, spread)
    drawn = stroke_draws(who, n=20_000, rng=np.random.default_rng(2))
    # medians of log-normals are their middles; sds of the logarithms 0.2 and 0.1
    assert np.median(drawn.angle_sd) == pytest.approx(0.02, rel=0.01)
    assert np.std(np.log(drawn.angle_sd)) == pytest.approx(0.2, rel=0.03)
    assert np.std(np.log(drawn.distance_sd)) == pytest.approx(0.1, rel=0.03)
    assert drawn.overshoot_m.min() == 0.0
    # by hand: N(0.4, 0.5) lies below zero in Phi(-0.8) = 21.19 % of draws
    assert np.mean(drawn.overshoot_m == 0) == pytest.approx(0.2119, abs=0.01)


@pytest.mark.parametrize(
    ("mean", "one_putts", "sd"),
    [
        # by hand: 30 % ones, 60 % twos, 10 % threes: 3.6 - 1.8^2 = 0.36, times 18
        (1.8, 0.3, sqrt(18 * 0.36)),
        (1.5, 0.5, sqrt(18 * 0.25)),  # the toss of a coin between one and two
        (1.0, 1.0, 0.0),  # every first putt holed
        (2.0, 0.0, 0.0),
    ],
)
def test_scatter_of_one_round_by_hand(mean: float, one_putts: float, sd: float) -> None:
    assert _round_sd(mean, one_putts) == pytest.approx(sd, abs=1e-9)


# -- tables of putts


@pytest.mark.parametrize("angle_sd", [0.01, 0.02664, 0.06])
def test_one_angle_comes_back_from_its_own_shares(angle_sd: float) -> None:
    d = np.array([0.6, 1.0, 1.5, 2.5, 4.0, 6.0])
    # p = 2 Phi(asin((R - r) / x) / sd) - 1, by the error function of the standard library
    p = np.array([erf(np.arcsin((HOLE_M - BALL_M) / x) / angle_sd / sqrt(2)) for x in d])
    found = fit_one_angle(PuttTable(d, np.full(6, 500.0), 500 * p))
    assert found.numbers["angle_sd"] == pytest.approx(angle_sd, rel=1e-3)
    assert found.chances == pytest.approx(p, abs=1e-3)


def test_a_logistic_table_gives_its_line_back() -> None:
    d = np.array([0.5, 1.0, 2.0, 3.0, 5.0])
    p = 1 / (1 + np.exp(-(2.2 - 0.8 * d)))
    tried = np.array([400.0, 300.0, 300.0, 200.0, 200.0])
    found = fit_logistic(PuttTable(d, tried, tried * p))
    assert found.numbers == pytest.approx({"intercept": 2.2, "slope": -0.8}, abs=1e-3)
    # outside: the information matrix of a logistic regression, X' diag(n p (1 - p)) X
    x = np.column_stack([np.ones(5), d])
    sds = np.sqrt(np.diag(np.linalg.inv(x.T @ (x * (tried * p * (1 - p))[:, None]))))
    assert list(found.sds.values()) == pytest.approx(sds.tolist(), rel=0.02)


@pytest.mark.parametrize("by_counts", [False, True])
def test_a_player_comes_back_from_his_own_chances(by_counts: bool) -> None:
    d = np.array([0.6, 0.9, 1.5, 2.1, 3.0, 4.5, 6.0])
    who = Player("x", 0.024, 0.1, 0.5, 1.4, 3.3)
    p = np.asarray(holing_chance(d, green_speed_m=3.3, player=who))
    table = PuttTable(d, np.full(7, 5000.0), 5000 * p)
    found = fit_physical(table, green_speed_m=3.3, distance_sd=0.1, by_counts=by_counts)
    assert found.numbers["angle_sd"] == pytest.approx(0.024, rel=0.01)
    assert found.chances == pytest.approx(p, abs=1e-3)


def test_likelihoods_by_hand() -> None:
    one = PuttTable(np.array([1.0]), np.array([10.0]), np.array([5.0]))
    # by hand: 10 ln 0.5
    assert binomial_height(one, np.array([0.5])) == pytest.approx(-6.931472)
    # by hand: variance 0.6 x 0.4 / 10 = 0.024; -(0.1^2 / 0.024 + ln 0.024) / 2
    assert normal_height(one, np.array([0.6]), 0.0) == pytest.approx(1.656517, abs=1e-6)
    # by hand: variance 0.024 + 0.1^2 = 0.034; (3.381395 - 0.294118) / 2
    assert normal_height(one, np.array([0.6]), 0.1) == pytest.approx(1.543639, abs=1e-6)


@pytest.mark.parametrize(
    ("distance", "tried", "made"),
    [(0.0, 10, 5), (1.0, 10, 11), (1.0, 0, 0), (1.0, 10, -1), (-1.0, 10, 5)],
)
def test_tables_that_do_not_add_up(distance: float, tried: float, made: float) -> None:
    with pytest.raises(BadInput, match="does not add up"):
        PuttTable(np.array([distance]), np.array([float(tried)]), np.array([float(made)]))


# -- how much tells


@pytest.mark.parametrize(
    ("p1", "p2", "n"),
    [
        # by hand, z = 1.644854 and 0.841621: (1.644854 sqrt(0.5))^2 = 1.3528
        (1.0, 0.0, 2),
        # (1.644854 sqrt(0.095) + 0.841621 sqrt(0.09))^2 / 0.01 = 57.68
        (1.0, 0.9, 58),
        # (1.644854 sqrt(0.495) + 0.841621 sqrt(0.25 + 0.24))^2 / 0.01 = 304.7
        (0.5, 0.4, 305),
    ],
)
def test_putts_to_tell_by_hand(p1: float, p2: float, n: int) -> None:
    assert putts_to_tell(p1, p2) == n


def test_rounds_to_tell_at_even_odds_by_hand() -> None:
    # by hand: z of one half is 0, so 2 x 1.644854^2 x 2^2 = 21.64
    assert rounds_to_tell(1.0, 2.0, power=0.5) == 22
    assert rounds_to_tell(-1.0, 2.0, power=0.5) == 22


# -- noticing and consistency


@pytest.mark.parametrize("quantity", list(NOTICED))
@pytest.mark.parametrize(
    # Phi(1), Phi(2) and Phi(-1) of the normal table
    ("spreads", "chance"),
    [(0.0, 0.5), (1.0, 0.841345), (2.0, 0.977250), (-1.0, 0.158655)],
)
def test_each_curve_is_the_normal_one(quantity: str, spreads: float, chance: float) -> None:
    threshold, spread = (value(key) for key in notice_keys(quantity))
    size = threshold + spreads * spread
    if size >= 0:
        assert notice_chance(size, quantity) == pytest.approx(chance, abs=1e-6)
        assert notice_chance(-size, quantity) == notice_chance(size, quantity)


def test_greens_alike_in_pairs_are_noticed_less_than_any_two() -> None:
    # six greens in two steps: of five neighbours one pair differs, of fifteen pairs nine
    levels = np.tile([2.8, 2.8, 2.8, 3.3, 3.3, 3.3], (400, 1))
    near = pair_notice(levels, "green_speed", seed=3).value
    any_two = any_two_notice(levels, "green_speed", seed=3).value
    same = pair_notice(np.tile([2.8, 2.8], (400, 1)), "green_speed", seed=3).value
    other = pair_notice(np.tile([2.8, 3.3], (400, 1)), "green_speed", seed=3).value
    assert near == pytest.approx((4 * same + other) / 5, abs=1e-9)
    assert any_two == pytest.approx((6 * same + 9 * other) / 15, abs=1e-9)


def test_the_range_of_three_is_its_closed_form() -> None:
    # the mean range of three normals is 3 / sqrt(pi), half as much again as of two
    assert range_in_sds(3) == pytest.approx(3 / sqrt(pi), abs=1e-6)


@given(st.floats(1e-3, 1e3), st.integers(2, 40))
def test_each_word_for_a_spread_leads_back(sd: float, n: int) -> None:
    held = spread_from_sd(sd, n)
    for other in (spread_from_range(held.range, n), spread_from_pair(held.pair, n)):
        assert other.sd == pytest.approx(sd)
        assert other.pair_sd == pytest.approx(sqrt(2) * sd)


# -- what is said


def test_a_chance_of_any_counts_how_remarks_cluster() -> None:
    draws = {"rates": np.array([0.01, 0.02]), "prior_rates": np.array([0.02, 0.04])}
    topic = TopicRemarks(
        "bumpy", **draws, overdispersion=np.array([1.0, 1.0]), spell_sd=np.zeros(2),
        share_local=0.0, verdict=Verdict("cannot tell", "", 0.5), n_days=0, n_remarks=0,
    )  # fmt: skip
    held = Remarks({"bumpy": topic}, ())
    # by hand: 100 rounds bring 1 or 2, a negative binomial of size 1 has none in 1/2 or 1/3
    assert held.chance_of_any("bumpy", 100) == pytest.approx((1 / 2 + 2 / 3) / 2)
    assert held.expected("bumpy", 100).value == pytest.approx(1.5)
    assert held.prior("bumpy", 100).value == pytest.approx(3.0)
    assert held.chance_of_any("bumpy", 0) == 0.0
    with pytest.raises(BadInput, match="no topic 'slow'"):
        held.topic("slow")


def test_sundays_that_are_counted_lend_little_to_other_days() -> None:
    # four weeks: Sundays carry a written zero, the other 24 days nothing
    days = [
        DayOfPlay(MONDAY + timedelta(days=t), 50.0, counts={"bumpy": 0} if t % 7 == 6 else None)
        for t in range(28)
    ]
    blank = chance_blank(days)
    # by hand: over all 4 / 28; a Monday (0 + 2/7) / 6 = 1/21, over the quarter needed 4/21
    assert blank[0] == pytest.approx(1 - 4 / 21)
    assert blank[6] == 0.0  # (4 + 2/7) / 6 is far over a quarter


def test_two_days_that_contradict_each_other_weigh_as_three() -> None:
    rows = [Asked(MONDAY, "bumpy", 0, 10), Asked(MONDAY + timedelta(days=28), "bumpy", 10, 10)]
    (found,) = survey_shares(rows)
    # by hand: 2 x 25 / 2.5 = 20, (20 + 2) / (1 + 2) = 22/3: 10 of 20 weigh as 15/11 of 30/11
    half = 15 / 11 + 0.5
    low, high = beta.ppf([0.05, 0.95], half, half)  # outside: the beta law of scipy
    assert (found.share.value, found.n_asked, found.n_days) == (pytest.approx(0.5), 20, 2)
    assert (found.share.low, found.share.high) == pytest.approx((low, high), abs=1e-6)


@pytest.mark.parametrize(
    ("chance", "related", "words"),
    [
        (0.99, "yes", "more was said when the surface was worse"),
        (0.9899, "partly", "some sign"),
        (0.95, "partly", "some sign"),
        (0.9499, "cannot tell", "does not follow"),
        (0.0501, "cannot tell", "does not follow"),
        (0.05, "cannot tell", "less was said when the surface was worse"),
    ],
)
def test_verdicts_change_at_the_stated_chances(chance: float, related: str, words: str) -> None:
    held = _judged(chance, "9 remarks on 30 days counted", falling=False)
    assert (held.related, held.chance) == (related, chance)
    assert words in held.reason and held.reason.endswith("9 remarks on 30 days counted")


@settings(deadline=None)
@given(st.floats(0, 7.5), st.floats(0.05, 0.4))
def test_complaints_keep_their_law_between_scores(score: float, step: float) -> None:
    def free(s: float) -> float:
        rate = float(complaint_rate(s))
        return 1 / sqrt(1 / rate**2 - 1 / 0.05**2)  # undo the flattening towards 1 in 20

    # doubling a point lost: the unflattened rates of two scores stand as 2^step
    assert log(free(score) / free(score + step)) == pytest.approx(step * log(2), rel=1e-6)
    assert free(score) == pytest.approx(0.005 * exp((8 - score) * log(2)), rel=1e-6)
