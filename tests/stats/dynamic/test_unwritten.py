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
from greenwright.stats.dynamic.left_out import LeftOut, left_out, weighed
from greenwright.stats.dynamic.model import joined
from greenwright.stats.dynamic.propagating import told
from greenwright.stats.dynamic.reach import Blanks
from greenwright.stats.dynamic.unwritten import (
    Asked,
    Missed,
    dosed,
    idle_chance,
    missed,
    odds_of,
    redrawn,
    share_drawn,
)
from greenwright.stats.hyper import HyperPrior
from tests.stats.dynamic.test_deciding import EFFECT, decisions_of, model_of, world
from tests.stats.dynamic.worlds import scales

PRIOR = HyperPrior(0.05, 1.0)
MISSING = 0.15


def blanks_of(lost: list[int]) -> Blanks:
    """One blank a story, in one unit day after day; stories of like number were lost in one go."""
    day = np.arange(len(lost))
    one_kind = np.zeros(max(lost) + 1, int)
    return Blanks(day, np.zeros(len(lost), int), day, day, np.array(lost), one_kind, 0)


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


def test_what_was_lost_in_one_go_hides_together() -> None:
    rng, blanks = np.random.default_rng(1), blanks_of([0, 0, 0, 1, 1, 1])
    drawn = np.array(
        [
            redrawn(blanks, np.full(6, 9.0), np.zeros(6), share=np.full(2, 0.2), rng=rng)
            for _ in range(4000)
        ]
    )
    first, other = drawn[:, :3].max(axis=1), drawn[:, 3:].max(axis=1)
    # By hand: a go is lost with chance 0.2, and one of three stories is drawn anew with 7/8.
    assert first.mean() == pytest.approx(0.2 * 7 / 8, abs=0.03)
    assert np.corrcoef(first, other)[0, 1] == pytest.approx(0, abs=0.08)
    assert (drawn[first > 0, :3].sum(axis=1) > 1).mean() == pytest.approx(4 / 7, abs=0.08)


def test_nothing_hides_where_nothing_is_ever_lost() -> None:
    rng, blanks = np.random.default_rng(1), blanks_of([0, 1, 2])
    assert redrawn(blanks, np.full(3, 9.0), np.zeros(3), share=np.zeros(3), rng=rng).sum() == 0
    # What the last draw had hidden may be found not done again.
    again = [
        redrawn(blanks, np.full(3, -50.0), np.ones(3), share=np.zeros(3), rng=rng)
        for _ in range(20)
    ]
    assert np.mean(again) == pytest.approx(0.5, abs=0.2)


def shares_drawn(blanks: Blanks, odds: np.ndarray, chance: float, n: int) -> np.ndarray:
    """Draws of the share under a flat prior of its log; every decision to work had one chance."""
    rng, flat = np.random.default_rng(3), HyperPrior(0.1, 30.0)
    idle = np.full(len(blanks.row), np.log1p(-chance))
    return np.array([share_drawn(blanks, odds, idle, flat, rng=rng)[-1] for _ in range(n)])


def test_the_share_is_that_of_blanks_where_all_is_plain() -> None:
    """8 blanks plainly hide work, 32 plainly do not, and work was done with chance 0.4."""
    odds = np.array([50.0] * 8 + [-50.0] * 32)
    drawn = shares_drawn(blanks_of(list(range(40))), odds, 0.4, 3000)
    # By hand: of blanks, q = 0.4 u / (0.6 + 0.4 u) hide work, and q^8 (1 - q)^32 du / u is
    # what is believed, no share above 0.6 being thought of.
    u = np.geomspace(1e-3, 0.6, 20_000)
    hides = 0.4 * u / (0.6 + 0.4 * u)
    weight = hides**8 * (1 - hides) ** 32
    assert np.mean(drawn) == pytest.approx((u * weight).sum() / weight.sum(), rel=0.03)


def test_that_little_was_done_is_no_sign_of_hidden_work() -> None:
    # Readings say nothing: the odds are those of the decision alone, and the share is the prior's.
    blanks, odds = blanks_of(list(range(60))), np.full(60, np.log(0.4 / 0.6))
    rng, prior = np.random.default_rng(3), HyperPrior(0.05, 0.5)
    idle = np.full(60, np.log(0.6))
    logs = np.log([share_drawn(blanks, odds, idle, prior, rng=rng)[0] for _ in range(2000)])
    assert logs.mean() == pytest.approx(np.log(0.05), abs=0.05)
    assert logs.std() == pytest.approx(0.5, rel=0.06)


def test_one_go_of_many_greens_counts_once() -> None:
    odds = np.array([50.0] * 12 + [-50.0] * 60)
    single = list(range(12, 72))
    many = shares_drawn(blanks_of([*range(12), *single]), odds, 0.4, 500).mean()
    once = shares_drawn(blanks_of([*[0] * 12, *single]), odds, 0.4, 500).mean()
    assert many > 4 * once


def test_the_chance_to_leave_work_undone_knows_nothing_of_the_days_readings() -> None:
    dose, rows = world(1, need=4.0, days=170)
    model = model_of(dose)
    h = {name: prior.median for name, prior in model.hypers.items()}
    unit, day = np.array([0, 3]), np.array([40, 41])
    blank = readings(np.full(2, 2.9), unit, day, count=np.full(2, np.inf), variance=50.0,
                     before=1.0, settled=0.0)  # fmt: skip
    asked = Asked(np.array([0.3, -0.2]), 4.0, np.ones(2))

    def chance(seen: np.ndarray) -> np.ndarray:
        kept = replace(rows, **{
            name: getattr(rows, name)[seen]
            for name in ("value", "unit", "day", "count", "squares", "free", "variance", "before",
                         "settled")
        })  # fmt: skip
        layout = lay_out(model, joined(kept, blank))
        blanks = Blanks(
            len(kept) + np.arange(2), unit, day, np.arange(2), np.arange(2), np.zeros(2, int), 0
        )
        at = condition(layout, h)
        return idle_chance(layout, at, blanks, asked=asked, known=weighed(layout, at))

    of_the_day = ((rows.unit == 0) & (rows.day == 40)) | ((rows.unit == 3) & (rows.day == 41))
    first = (rows.unit == 0) & (rows.day == 40)
    all_but_own = chance(~first)
    assert chance(np.ones(len(rows), bool))[0] == pytest.approx(all_but_own[0], abs=1e-4)
    assert chance(~of_the_day)[0] == pytest.approx(all_but_own[0], abs=0.2)


def test_a_belief_of_the_share_is_that_of_its_draws() -> None:
    found = missed([0.05, 0.2])
    # By hand: the geometric mean, and half the distance of the logs.
    assert found.share == pytest.approx(0.1)
    assert found.log_sd == pytest.approx(np.log(4) / 2)


@pytest.mark.parametrize("need", [0.0, 6.0])
@pytest.mark.parametrize("value", [2.7, 3.0, 3.3])
@pytest.mark.parametrize("held", [0.0, 1.0])
def test_the_two_stories_are_weighed_as_by_integration(
    need: float, value: float, held: float
) -> None:
    """One unit, one day, one reading: the level before the work is the prior's."""
    effect, lean = 0.3, 0.2
    term = Term("press", "press", np.zeros((1, 3)), Pulse("half"), effect, 1e-6)
    model = DynamicModel(1, 3, 2.9, 0.3, scales(), {"half": HyperPrior(1.0, 0.3)}, (term,))
    h = {name: prior.median for name, prior in model.hypers.items()}
    read = readings(np.array([value]), np.zeros(1, int), np.array([1]))
    blank = readings(np.array([2.9]), np.zeros(1, int), np.array([1]), count=np.inf,
                     variance=100.0, before=1.0, settled=0.0)  # fmt: skip
    blanks = Blanks(np.ones(1, int), np.zeros(1, int), np.ones(1, int), np.zeros(1, int),
                    np.zeros(1, int), np.zeros(1, int), 0)  # fmt: skip
    layout = dosed(lay_out(model, joined(read, blank)), blanks, np.array([held]))
    at = condition(layout, h)
    without = left_out(layout, at)
    asked = Asked(np.array([lean]), need, np.ones(1))
    seen = LeftOut(without.mean[1:] - 2.9, without.variance[1:])
    found = odds_of(layout, at, blanks, seen=seen, asked=asked, held=np.array([held]),
                    rng=np.random.default_rng(0))  # fmt: skip
    spread = np.sqrt(0.3**2 + h["unit_sd"] ** 2 + h["day_sd"] ** 2 + h["own_sd"] ** 2)
    noise = np.hypot(h["noise_sd"], h["set_sd"])

    def story(dose: float, side: float) -> float:
        def height(away: float) -> float:
            seen = norm.pdf(value, 2.9 + away + effect * dose, noise)
            return norm.pdf(away, 0, spread) * seen * norm.cdf(side * (lean - need * away))

        return quad(height, -8 * spread, 8 * spread, points=[value - 2.9, value - 3.2])[0]

    assert found[0] == pytest.approx(np.log(story(1, 1) / story(0, -1)), abs=2e-3)


def test_work_hidden_on_several_units_is_weighed_as_the_readings_weigh_it() -> None:
    """The odds are what the log likelihood gains by the doses: shared days, later days and all."""
    dose, rows = world(1, need=0.0, days=170)
    model = model_of(dose)
    model = replace(model, terms=(replace(model.terms[0], mean=EFFECT, sd=1e-5),))
    h = {name: prior.median for name, prior in model.hypers.items()}
    unit, day = np.array([0, 3, 5, 2, 2]), np.array([40, 40, 40, 41, 80])
    blank = readings(np.full(5, 2.9), unit, day, count=np.full(5, np.inf), variance=1e6,
                     before=1.0, settled=0.0)  # fmt: skip
    story = np.array([0, 0, 0, 1, 2])
    blanks = Blanks(len(rows) + np.arange(5), unit, day, story, np.arange(3), np.zeros(3, int), 0)
    plain = lay_out(model, joined(rows, blank))
    held = np.array([0.0, 1.0, 0.0])
    layout = dosed(plain, blanks, held)
    at = condition(layout, h)
    found = odds_of(
        layout, at, blanks, seen=LeftOut(np.zeros(5), np.ones(5)),
        asked=Asked(np.zeros(5), 0.0, np.zeros(5)), held=held, rng=np.random.default_rng(0),
    )  # fmt: skip
    for story in range(3):
        both = [np.where(np.arange(3) == story, done, held) for done in (0.0, 1.0)]
        heights = [condition(dosed(plain, blanks, one), h).log_likelihood for one in both]
        assert found[story] == pytest.approx(heights[1] - heights[0], abs=0.02)


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
    # Readings on two days of five leave part of it to the prior, whose middle is a third.
    assert 0.35 * MISSING < middle < 1.6 * MISSING


def test_where_all_is_written_hardly_any_is_thought_missing() -> None:
    dose, rows = world(4, need=0.0)
    fit = fit_dynamic(model_of(dose), rows, rng=np.random.default_rng(4), pairs=2)
    wary = replace(decisions_of(dose), term="press", unwritten=PRIOR)
    found = fit_decided(fit, wary, rng=np.random.default_rng(4), need_sd=10.0)
    assert found.choice.missed is not None and found.choice.missed.share < 0.05
    mean, sd = effects(found.fit).at("press")
    assert abs(mean - effects(fit).at("press")[0]) < sd


@pytest.mark.parametrize("need", [6.0])
def test_work_done_by_need_is_not_thinned_further(need: float) -> None:
    worlds = [known(seed, need) for seed in (1, 2)]
    blind, wary = average([w.blind for w in worlds]), average([w.open_eyed for w in worlds])
    assert blind < 0.95 * EFFECT
    assert blind < wary < 1.06 * EFFECT


def test_hidden_doses_stand_in_for_the_work(coins: list[Known]) -> None:
    found = coins[0].open_eyed
    done = found.choice.done
    assert done is not None
    assert done[coins[0].decisions.done > 0] == pytest.approx(1.0) and (done >= 0).all()
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
