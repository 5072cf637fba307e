"""Forecasts on invented courses, judged as track judges them: the judge himself, and small runs."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.verify.references import PERSISTENCE, RULES
from tests.calibration.track_worlds import (
    END,
    KEPT_PLAN,
    SUPPOSED,
    Scored,
    joined,
    play,
    share,
    skill,
    told,
    within,
    world,
)


def by_hand() -> Scored:
    """Return four readings, scored by hand: two a day ahead, two a week."""
    theirs = {rule: np.array([2.0, 2.0, np.nan, 4.0]) for rule in RULES}
    return Scored(
        0,
        "green_speed",
        ahead=np.array([1, 1, 7, 9]),
        group=np.array([0, 1, 0, 1]),
        pit=np.array([0.5, 0.97, 0.3, 0.05]),
        ours=np.array([1.0, 1.0, 9.0, 3.0]),
        theirs=theirs,
    )


def test_shares_are_counted() -> None:
    # by hand: distances from the middle of the pit, doubled, are 0, 0.94, 0.4, 0.9
    one = by_hand()
    assert [share(one, level) for level in (0.5, 0.91, 0.95)] == [0.5, 0.75, 1.0]
    assert share(one, 0.5, within(one, 1)) == 0.5
    assert np.isnan(share(one, 0.5, within(one, 14)))


def test_skill_is_over_what_both_were_asked() -> None:
    one = by_hand()
    # by hand: 1 - (1 + 1) / (2 + 2), and 1 - 3 / 4 without the reading no rule could speak of
    assert skill(one, PERSISTENCE, within(one, 1)) == pytest.approx(0.5)
    assert skill(one, PERSISTENCE, within(one, 7)) == pytest.approx(0.25)
    assert np.isnan(skill(one, PERSISTENCE, within(one, 14)))


def test_courses_are_joined_reading_by_reading() -> None:
    both = joined([by_hand(), by_hand()], "green_speed")
    assert len(both.pit) == 8 and share(both, 0.5) == 0.5
    assert any("green_speed: 8 readings" in line for line in told(both))


def test_the_courses_lie_in_four_climates() -> None:
    assert len({world(k).place.key for k in range(4)}) == 4
    assert world(0, greens=5).greens == 5 and END.month == 7


@pytest.fixture(scope="module")
def small() -> dict[str, list[Scored]]:
    return play(0, origins=(20,), greens=3, days=80)


def test_a_small_run_holds_about_what_it_promises(small: dict[str, list[Scored]]) -> None:
    one = joined(small[KEPT_PLAN], "green_speed")
    # Some dozen readings of six days: wide limits, to catch the gross.
    assert len(one.pit) > 8 and 0.6 < share(one, 0.9) <= 1.0


def test_both_kinds_of_work_are_judged_by_the_same_readings(
    small: dict[str, list[Scored]],
) -> None:
    kept, supposed = (joined(small[name], "green_speed") for name in (KEPT_PLAN, SUPPOSED))
    assert (kept.ahead == supposed.ahead).all()
    assert all(np.array_equal(kept.theirs[r], supposed.theirs[r], equal_nan=True) for r in RULES)
    assert not np.array_equal(kept.ours, supposed.ours)
