"""A second practice that follows the look of the greens is credited with what it does."""

from __future__ import annotations

import pytest

from tests.calibration.further_worlds import TRUE_GROOM, Further, played, told
from tests.calibration.learned_world import TRUE_ROLL


@pytest.fixture(scope="module")
def world() -> Further:
    return played(1, "coin", need=1.0, days=240, greens=9)


def test_readings_alone_credit_it_with_too_little(world: Further) -> None:
    mean, sd = world.alone
    assert mean < 0.75 * TRUE_GROOM and mean + 1.96 * sd < TRUE_GROOM


def test_with_its_decisions_it_is_found(world: Further) -> None:
    mean, sd = world.decided
    assert "groom" in world.acts
    assert abs(mean - TRUE_GROOM) < 2.6 * sd and sd < 0.2 * TRUE_GROOM


def test_rolling_is_still_found_beside_it(world: Further) -> None:
    mean, sd = world.roll
    assert abs(mean - TRUE_ROLL) < 2.6 * sd
    assert told("coin", [world]).startswith("coin, 1 worlds: alone 0.")
