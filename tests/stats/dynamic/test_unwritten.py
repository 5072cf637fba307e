"""Work that was never written: its chance by hand and by integration, its share, its effect."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic import (
    DecidedFit,
    Decisions,
    DynamicFit,
    DynamicModel,
    Pulse,
    Term,
    effects,
    fit_decided,
    fit_dynamic,
    readings,
    separate,
)
from greenwright.stats.dynamic.deciding import overruled
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.dynamic.model import joined
from greenwright.stats.dynamic.unwritten import Blanks, Missed, Stories, hidden, stories_of, told
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.test_deciding import EFFECT, decisions_of, model_of, world
from tests.stats.dynamic.worlds import scales

PRIOR = HyperPrior(0.05, 1.0)
MISSING = 0.15


def stories(odds: list[float], chance: list[float], *, read: bool = True) -> Stories:
    count = len(odds)
    return Stories(np.array(odds), np.array(chance), np.ones(count), np.full(count, read))


@pytest.mark.parametrize("done", [0.0, 0.3, 1.0])
def test_the_pull_of_a_decision_is_the_slope_of_its_log_chance(done: float) -> None:
    score, step = np.array([-2.0, 0.1, 3.0]), 1e-5

    def height(at: np.ndarray) -> np.ndarray:
        return done * norm.logcdf(at) + (1 - done) * norm.logcdf(-at)

    slope, bend = told(score, np.full(3, done))
    by_difference = (height(score + step) - height(score - step)) / (2 * step)
    assert slope == pytest.approx(by_difference, abs=1e-8)
    higher = told(score + step, np.full(3, done))[0]
    assert bend == pytest.approx(-(higher - slope) / step, rel=1e-3, abs=1e-6)


def test_what_is_in_doubt_bends_less_and_never_the_wrong_way() -> None:
    score, half = np.array([-1.0, 0.0, 1.0]), np.full(3, 0.5)
    sure, doubtful = told(score, half)[1], told(score, half, 0.25)[1]
    assert (doubtful < sure).all() and (doubtful >= 0).all()


def test_a_blank_without_a_reading_is_as_the_share_says() -> None:
    # By hand: p = 0.4, u = 0.1: 0.1 x 0.4 / (0.6 + 0.1 x 0.4) = 0.0625.
    blank = stories([np.log(0.4 / 0.6)] * 2, [0.4, 0.4], read=False)
    found = hidden(blank, np.array([0.0, 1.0]), 0.1)
    assert found == pytest.approx([0.0625, 0.0])


def test_shares_move_by_their_sd_and_stay_thinkable() -> None:
    belief = Missed(float(np.log(0.1)), 0.5)
    assert belief.share == pytest.approx(0.1)
    # By hand: 0.1 e^0.5 = 0.1649; far out the largest share thought of.
    assert belief.moved(np.array([0.0, 1.0, 9.0])) == pytest.approx([0.1, 0.16487, 0.6], rel=1e-4)


@pytest.mark.parametrize("need", [0.0, 6.0])
@pytest.mark.parametrize("value", [2.7, 3.0, 3.3])
def test_the_two_stories_are_weighed_as_by_integration(need: float, value: float) -> None:
    """One unit, one day, one reading: the level before the work is the prior's."""
    effect, lean = 0.3, 0.2
    term = Term("press", "press", np.zeros((1, 3)), Pulse("half"), effect, 1e-6)
    model = DynamicModel(1, 3, 2.9, 0.3, scales(), {"half": HyperPrior(1.0, 0.3)}, (term,))
    h = {name: prior.median for name, prior in model.hypers.items()}
    read = readings(np.array([value]), np.zeros(1, int), np.array([1]))
    blank = readings(np.array([2.9]), np.zeros(1, int), np.array([1]), count=np.inf,
                     variance=100.0, before=1.0, settled=0.0)  # fmt: skip
    layout = lay_out(model, joined(read, blank))
    blanks = Blanks(np.zeros(1, int), np.array([1]), np.zeros(1), np.ones(1), 0)
    found = stories_of(layout, condition(layout, h), blanks, lean=np.array([lean]), need=need,
                       held=np.zeros(1))  # fmt: skip
    spread = np.sqrt(0.3**2 + h["unit_sd"] ** 2 + h["day_sd"] ** 2 + h["own_sd"] ** 2)
    noise = np.hypot(h["noise_sd"], h["set_sd"])

    def story(dose: float, side: float) -> float:
        def at(away: float) -> float:
            seen = norm.pdf(value, 2.9 + away + effect * dose, noise)
            return norm.pdf(away, 0, spread) * seen * norm.cdf(side * (lean - need * away))

        return quad(at, -8 * spread, 8 * spread, points=[value - 2.9, value - 3.2])[0]

    assert found.odds[0] == pytest.approx(np.log(story(1, 1) / story(0, -1)), abs=1e-3)
    plain = quad(lambda x: norm.pdf(x, 0, spread) * norm.cdf(lean - need * x), -9, 9)[0]
    assert found.chance[0] == pytest.approx(plain, abs=1e-3)
    assert found.read[0] and found.worth[0] == pytest.approx(1 / (spread**2 + noise**2), rel=1e-3)


@dataclass(frozen=True)
class Known:
    plain: DynamicFit
    blind: DecidedFit
    open_eyed: DecidedFit
    decisions: Decisions


def known(seed: int, need: float) -> Known:
    """A world of which 15 % of the work was not written, read twice: blind to it, and not."""
    dose, rows = world(seed, need=need)
    kept = dose * (np.random.default_rng([seed, 3]).random(dose.shape) > MISSING)
    fit = fit_dynamic(model_of(kept), rows, rng=np.random.default_rng(seed), pairs=3)
    chosen = decisions_of(kept)
    wary = replace(chosen, term="press", unwritten=PRIOR)
    both = [
        fit_decided(fit, one, rng=np.random.default_rng(seed), need_sd=10.0)
        for one in (chosen, wary)
    ]
    return Known(fit, both[0], both[1], wary)


@pytest.fixture(scope="module")
def coins() -> list[Known]:
    return [known(seed, 0.0) for seed in range(3)]


def average(fits: list[DecidedFit]) -> float:
    return float(np.mean([effects(one.fit).at("press")[0] for one in fits]))


def test_unwritten_work_no_longer_thins_the_effect(coins: list[Known]) -> None:
    blind, wary = average([w.blind for w in coins]), average([w.open_eyed for w in coins])
    assert blind < 0.95 * EFFECT
    # At least half of what was lost comes back, and no more than was lost by much.
    assert EFFECT - wary < 0.5 * (EFFECT - blind)
    assert wary < 1.06 * EFFECT


def test_the_share_is_learned(coins: list[Known]) -> None:
    shares = [w.open_eyed.choice.missed for w in coins]
    assert all(s is not None for s in shares)
    middle = np.mean([s.share for s in shares if s])
    assert 0.5 * MISSING < middle < 1.6 * MISSING


def test_where_all_is_written_hardly_any_is_thought_missing() -> None:
    dose, rows = world(4, need=0.0)
    fit = fit_dynamic(model_of(dose), rows, rng=np.random.default_rng(4), pairs=2)
    wary = replace(decisions_of(dose), term="press", unwritten=PRIOR)
    found = fit_decided(fit, wary, rng=np.random.default_rng(4), need_sd=10.0)
    assert found.choice.missed is not None and found.choice.missed.share < 0.05
    mean, sd = effects(found.fit).at("press")
    assert abs(mean - effects(fit).at("press")[0]) < sd


def test_hidden_doses_stand_in_for_the_work(coins: list[Known]) -> None:
    found = coins[0].open_eyed
    done = found.choice.done
    assert done is not None
    assert (done[coins[0].decisions.done > 0] == 1).all() and (done >= 0).all()
    written = coins[0].plain.layout.model.terms[0].dose.sum()
    believed = found.fit.layout.model.terms[0].dose.sum()
    assert believed == pytest.approx(done.sum()) and believed > written
    at = overruled(found, coins[0].decisions, need=0.0)
    assert np.isfinite(at.mean).all()


def test_too_much_unwritten_work_is_said(coins: list[Known]) -> None:
    found = coins[0].open_eyed
    much = replace(found, choice=replace(found.choice, missed=Missed(float(np.log(0.5)), 0.1)))
    told_so = separate(coins[0].plain, "press", decided=much)
    assert told_so.verdict == "partly" and told_so.reasons == ("unwritten work",)


def test_a_term_that_is_not_there_is_refused(coins: list[Known]) -> None:
    wrong = replace(coins[0].decisions, term="brush")
    with pytest.raises(BadInput, match="no term 'brush'"):
        fit_decided(coins[0].plain, wrong, rng=np.random.default_rng(0), need_sd=10.0)
