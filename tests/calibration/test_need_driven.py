"""Does the engine see through a manager who rolls when greens look slow?

The simulator shares no code with it. A small set; the larger one's numbers stand in
`docs/calibration.md`.
"""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.simulate import Manager
from greenwright.stats.dynamic import (
    DecidedFit,
    DynamicFit,
    effects,
    fit_decided,
    fit_dynamic,
    separate,
    signs,
    surprises,
)
from tests.calibration.need_world import (
    TRUE_ROLL,
    World,
    difference_of_means,
    regression,
    world,
)

SEEDS = (300, 301)
Known = tuple[World, DynamicFit, DecidedFit]


def known(seed: int, manager: Manager) -> Known:
    made = world(seed, manager, days=300)
    rng = np.random.default_rng(seed)
    fit = fit_dynamic(made.model, made.rows, rng=rng, pairs=2)
    return made, fit, fit_decided(fit, made.decisions, rng=rng, need_sd=10.0)


@pytest.fixture(scope="module")
def driven() -> list[Known]:
    return [known(seed, Manager.coin_flip().driven(1.0)) for seed in SEEDS]


@pytest.fixture(scope="module")
def tossed() -> Known:
    return known(SEEDS[0], Manager.coin_flip())


def test_the_world_is_hard_enough() -> None:
    """On the mean of worlds off by 30 % and 20 %; the regression's intervals never hold."""
    worlds = [world(seed, Manager.coin_flip().driven(1.0), days=420) for seed in range(300, 306)]
    plain = np.mean([difference_of_means(made) for made in worlds])
    slopes = np.array([regression(made) for made in worlds])
    assert abs(plain / TRUE_ROLL - 1) > 0.3
    assert abs(slopes[:, 0].mean() / TRUE_ROLL - 1) > 0.2
    assert (np.abs(slopes[:, 0] - TRUE_ROLL) > 1.96 * slopes[:, 1]).all()


def test_readings_and_decisions_together_find_the_gain(driven: list[Known]) -> None:
    plain = np.array([effects(fit).at("roll") for _, fit, _ in driven])
    joint = np.array([effects(decided.fit).at("roll") for _, _, decided in driven])
    assert plain[:, 0].mean() < 0.9 * TRUE_ROLL
    assert np.abs(joint[:, 0] / TRUE_ROLL - 1).mean() < 0.1
    assert (np.abs(joint[:, 0] - TRUE_ROLL) < 2.6 * joint[:, 1]).all()


def test_under_a_coin_the_answer_is_plain_and_stays(tossed: Known) -> None:
    made, fit, decided = tossed
    (plain, plain_sd), (joint, joint_sd) = (effects(f).at("roll") for f in (fit, decided.fit))
    assert abs(plain - TRUE_ROLL) < 2.6 * plain_sd
    assert abs(joint - plain) < plain_sd and joint_sd < 1.5 * plain_sd
    assert separate(fit, "roll", decided=decided).verdict == "yes"
    assert abs(difference_of_means(made) / TRUE_ROLL - 1) < 0.5


def test_a_sham_practice_does_nothing(driven: list[Known], tossed: Known) -> None:
    for _, _, decided in (*driven, tossed):
        mean, sd = effects(decided.fit).at("sham")
        assert abs(mean) < 2.6 * sd


def test_the_model_raises_no_alarm_on_a_world_it_is_meant_for(tossed: Known) -> None:
    _, fit, _ = tossed
    found = {s.name: s.score for s in signs(fit, surprises(fit))}
    assert max(abs(found[name]) for name in ("tails", "carry-over", "step")) < 4
