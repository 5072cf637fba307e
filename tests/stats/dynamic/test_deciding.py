"""Work done by need: the joint belief against brute force, and against a world that is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic import (
    Choice,
    DecidedFit,
    Decisions,
    DynamicFit,
    DynamicModel,
    Pulse,
    Readings,
    Term,
    effects,
    fit_decided,
    fit_dynamic,
    readings,
    separate,
    under_need,
)
from greenwright.stats.dynamic.deciding import overruled
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.worlds import scales

UNITS, DAYS, EFFECT, KEEP = 8, 160, 0.30, 0.5
SCALES = {
    "noise_sd": 0.05, "set_sd": 0.05, "unit_sd": 0.1, "day_sd": 0.15,
    "day_time": 3.0, "own_sd": 0.12, "own_time": 3.0,
}  # fmt: skip


def world(seed: int, *, need: float, days: int = DAYS) -> tuple[np.ndarray, Readings]:
    """Doses and readings of a world whose decider sees the level before the work.

    P(done) = Phi(-need x (level before work + 0.1 seen amiss - 2.9)), a dose halves daily.
    """
    rng = np.random.default_rng([seed, 77])
    shared, own, left = np.zeros(1), np.zeros(UNITS), np.zeros(UNITS)
    unit_level = 0.1 * rng.standard_normal(UNITS)
    keep = np.exp(-1 / 3.0)
    dose, rows = np.zeros((UNITS, days)), []
    for day in range(days):
        shared = keep * shared + 0.15 * np.sqrt(1 - keep**2) * rng.standard_normal()
        own = keep * own + 0.12 * np.sqrt(1 - keep**2) * rng.standard_normal(UNITS)
        left = KEEP * left
        before = 2.9 + unit_level + shared + own + EFFECT * left
        lean = -need * (before - 2.9) + rng.standard_normal(UNITS)
        dose[:, day] = lean > 0
        left = left + dose[:, day]
        for unit in np.flatnonzero(rng.random(UNITS) < 0.4):
            level = before[unit] + EFFECT * dose[unit, day]
            rows.append((level + 0.07 * rng.standard_normal(), unit, day))
    value, unit, day = np.array(rows).T
    return dose, readings(value, unit.astype(int), day.astype(int))


def model_of(dose: np.ndarray) -> DynamicModel:
    return DynamicModel(
        *dose.shape, 2.9, 0.3, scales(**SCALES), {"half": HyperPrior(1.0, 0.3)},
        (Term("press", "press", dose, Pulse("half"), 0.1, 0.5),),
    )  # fmt: skip


def decisions_of(dose: np.ndarray) -> Decisions:
    unit, day = (a.ravel() for a in np.indices(dose.shape))
    return Decisions(unit, day, dose.ravel(), np.ones((dose.size, 1)), np.ones(dose.size))


Fitted = tuple[DynamicFit, DecidedFit, Decisions]


def fitted(seed: int, need: float, days: int = DAYS) -> Fitted:
    dose, rows = world(seed, need=need, days=days)
    rng = np.random.default_rng(seed)
    fit = fit_dynamic(model_of(dose), rows, rng=rng, pairs=3)
    chosen = decisions_of(dose)
    return fit, fit_decided(fit, chosen, rng=rng, need_sd=10.0), chosen


@pytest.fixture(scope="module")
def driven() -> list[Fitted]:
    return [fitted(seed, 5.0) for seed in range(6)]


@pytest.fixture(scope="module")
def tossed() -> list[Fitted]:
    return [fitted(seed, 0.0) for seed in range(4)]


def test_readings_alone_credit_too_little_and_both_together_do_not(driven: list[Fitted]) -> None:
    plain = np.array([effects(fit).at("press") for fit, _, _ in driven])
    joint = np.array([effects(d.fit).at("press") for _, d, _ in driven])
    assert plain[:, 0].mean() < 0.9 * EFFECT
    # Mean of six estimates: four standard errors of it are allowed.
    error = 4 * joint[:, 1].mean() / np.sqrt(len(driven))
    assert abs(joint[:, 0].mean() - EFFECT) < min(error, 0.06 * EFFECT)
    assert (np.abs(joint[:, 0] - EFFECT) < 2.6 * joint[:, 1]).all()
    needs = np.array([d.choice.need for _, d, _ in driven])
    assert needs.mean() == pytest.approx(5.0, rel=0.15)


def test_a_tossed_coin_is_left_alone(tossed: list[Fitted]) -> None:
    for fit, decided, _ in tossed:
        (plain, plain_sd), (joint, joint_sd) = (effects(f).at("press") for f in (fit, decided.fit))
        assert abs(joint - plain) < plain_sd
        assert joint_sd < 1.5 * plain_sd
        assert abs(decided.choice.need) < 4 * decided.choice.need_sd
        assert separate(fit, "press", decided=decided).verdict == "yes"


def test_more_need_makes_fewer_coins_and_a_larger_sway(
    driven: list[Fitted], tossed: list[Fitted]
) -> None:
    by_need = [separate(f, "press", decided=d) for f, d, _ in (tossed[0], driven[0])]
    assert by_need[1].coin_flips < by_need[0].coin_flips
    assert abs(by_need[1].sway) > abs(by_need[0].sway)
    always = Choice(np.zeros(1), 0.0, np.eye(2), np.array([0.5, 1.0, 0.0, 0.9]))
    # By hand: 4 (0.25 + 0 + 0 + 0.09).
    assert always.coin_flips == pytest.approx(1.36)


def test_without_doses_or_overlap_the_record_cannot_tell(driven: list[Fitted]) -> None:
    fit, decided, _ = driven[0]
    sure = DecidedFit(decided.fit, Choice(np.zeros(1), 9.0, np.eye(2), np.full(100, 0.999)))
    found = separate(fit, "press", decided=sure)
    assert found.verdict == "cannot tell" and "no overlap" in found.reasons
    idle = model_of(np.zeros((UNITS, DAYS)))
    nothing = fit_dynamic(idle, fit.layout.rows, rng=np.random.default_rng(0), pairs=0)
    silent = separate(nothing, "press")
    assert silent.verdict == "cannot tell"
    assert silent.reasons == ("few doses", "little learned") and silent.doses == 0


def test_a_supposed_need_moves_the_effect_its_way(driven: list[Fitted]) -> None:
    _, decided, chosen = driven[0]
    mean, sd = under_need(decided, chosen, "press", needs=np.array([0.0, 2.5, 5.0]))
    assert mean[0] < mean[1] < mean[2]
    assert (sd > 0).all()


def test_the_joint_belief_is_that_of_brute_force() -> None:
    """A record small enough to weigh prior draws by the probit chances of its decisions."""
    dose = np.array([[1.0, 0.0, 1.0, 0.0, 1.0, 1.0]])
    rows = readings(np.array([3.05, 2.8, 3.2]), np.zeros(3, int), np.array([0, 1, 4]))
    model, chosen = model_of(dose), decisions_of(dose)
    fit = fit_dynamic(model, rows, rng=np.random.default_rng(0), pairs=0)
    decided = fit_decided(fit, chosen, rng=np.random.default_rng(0), need_sd=10.0)
    need = 4.0
    at = overruled(decided, chosen, need=need, sweeps=30)
    place = decided.fit.layout.border.terms
    mean, sd = weighed(dict(fit.hyper), dose, rows, push=decided.choice.pushes[0], need=need)
    # 400,000 prior draws: the weighted mean's own error is about 0.005; sites add as much.
    assert at.mean[place] == pytest.approx(mean, abs=0.015)
    assert np.sqrt(at.cov[place, place]) == pytest.approx(sd, rel=0.04)
    alone = fit.at[0].mean[place]
    assert abs(mean - alone) > 0.03


def weighed(
    h: dict[str, float], dose: np.ndarray, rows: Readings, *, push: float, need: float
) -> tuple[float, float]:
    """Mean and sd of the effect by weighing prior draws; levels counted from the prior's 2.9."""
    rng, n, days = np.random.default_rng(5), 400_000, dose.shape[1]
    gap = np.abs(np.arange(days)[:, None] - np.arange(days)[None, :])
    cov = h["day_sd"] ** 2 * np.exp(-gap / h["day_time"]) + h["unit_sd"] ** 2 + 0.3**2
    cov += h["own_sd"] ** 2 * np.exp(-gap / h["own_time"])
    level = rng.standard_normal((n, days)) @ np.linalg.cholesky(cov).T
    effect = 0.1 + 0.5 * rng.standard_normal(n)
    left = np.zeros(days)
    for day in range(days):
        left[day] = dose[0, day] + (0.5 ** (1 / h["half"]) * left[day - 1] if day else 0.0)
    before = level + effect[:, None] * (left - dose[0])
    after = level + effect[:, None] * left
    noise = np.sqrt(h["noise_sd"] ** 2 + h["set_sd"] ** 2)
    logs = norm.logpdf(rows.value - 2.9, after[:, rows.day], noise).sum(axis=1)
    logs += norm.logcdf(np.where(dose[0] > 0, 1, -1) * (push - need * before)).sum(axis=1)
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    mean = float(weight @ effect)
    return mean, float(np.sqrt(weight @ (effect - mean) ** 2))


def test_decisions_that_do_not_fit_are_refused() -> None:
    with pytest.raises(BadInput, match="as many"):
        Decisions(np.zeros(2, int), np.zeros(2, int), np.ones(2), np.ones((3, 1)), np.ones(2))
