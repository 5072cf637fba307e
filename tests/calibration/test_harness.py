"""The judge is judged: analysts against statsmodels, summaries by hand, cells at work."""

from __future__ import annotations

import warnings
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import statsmodels.api as sm

from greenwright.simulate import Crew, Manager, World
from tests.calibration import analysts, harness
from tests.calibration.analysts import Found, Sets
from tests.calibration.harness import Cell, Row, hard_enough, play, summary
from tests.calibration.learning_cells import CELLS, line

SMALL = World(greens=9, days=200, crew=Crew(fewest_greens=6, most_greens=9))


@cache
def sets(seed: int = 0) -> Sets:
    """Sets of an analyst's own: 6 greens, 40 mornings, a true gain of 0.2."""
    rng = np.random.default_rng(seed)
    unit, day = (a.ravel() for a in np.meshgrid(np.arange(6), np.arange(40)))
    weather = rng.standard_normal(40)[day]
    done = (rng.random(240) < 0.4).astype(float)
    felt = 0.1 * rng.standard_normal(40)[day]
    return Sets(
        value=2.9 + 0.2 * done + 0.05 * weather + felt + 0.05 * rng.standard_normal(240),
        unit=unit,
        day=day,
        done=done,
        recorded=weather[:, None],
        season=np.cos(day / 9)[:, None],
        lags=rng.standard_normal((240, 2)),
        readers=(unit % 2 == 0).astype(float)[:, None],
    )


def row(mean: float, sd: float, verdict: str = "yes", *, truth: float = 0.2, **found: Found) -> Row:
    others = dict.fromkeys(("means", "recorded", "lags", "impression", "surface"), Found(0.2, 0.01))
    alone = Found(0.1, 0.01)
    ours = (truth, mean, sd, verdict, 0.3, Found(mean, 2 * sd), alone)
    return Row("made", 1, 500, *ours, others | found)


# --- the other analysts -----------------------------------------------------------------------


def test_least_squares_equal_a_reference_package() -> None:
    made = sets()
    ours = analysts.on_the_recorded(made)
    design = np.column_stack([made.done, np.ones(240), made.recorded])
    theirs = sm.OLS(made.value, design).fit()  # statsmodels
    assert ours.mean == pytest.approx(theirs.params[0], rel=1e-9)
    assert ours.sd == pytest.approx(theirs.bse[0], rel=1e-9)


def test_the_careful_analyst_equals_a_reference_package() -> None:
    made = sets()
    ours = analysts.with_lags(made)
    greens = (made.unit[:, None] == np.arange(1, 6)).astype(float)
    design = np.column_stack([made.done, np.ones(240), made.recorded, made.season, made.lags,
                              made.readers, greens])  # fmt: skip
    theirs = sm.OLS(made.value, design).fit()  # statsmodels; readers and greens are one too many
    assert ours.mean == pytest.approx(theirs.params[0], rel=1e-9)
    assert ours.sd == pytest.approx(theirs.bse[0], rel=1e-6)


def test_errors_by_morning_equal_a_reference_package() -> None:
    made = sets()
    ours = analysts._least_squares(made, [made.recorded], by=made.day)
    design = np.column_stack([made.done, np.ones(240), made.recorded])
    theirs = sm.OLS(made.value, design).fit(cov_type="cluster", cov_kwds={"groups": made.day})
    assert ours.sd == pytest.approx(theirs.bse[0], rel=1e-9)


def test_a_difference_of_means_by_hand() -> None:
    made = replace(sets(), value=np.array([3.0, 3.2, 2.8, 2.9]), done=np.array([1.0, 1, 0, 0]))
    found = analysts.difference_of_means(made)
    # by hand: 3.1 - 2.85; variances 0.02 and 0.005 over two each
    assert found.mean == pytest.approx(0.25)
    assert found.sd == pytest.approx(np.sqrt(0.02 / 2 + 0.005 / 2))


def test_an_interval_holds_up_to_1_96_sds() -> None:
    assert Found(1.0, 0.1).holds(1.19) and not Found(1.0, 0.1).holds(0.8)


# --- the summary ------------------------------------------------------------------------------


def test_a_summary_by_hand() -> None:
    rows = [
        row(0.22, 0.02),  # holds, works
        row(0.18, 0.005, "partly"),  # four sds off
        row(0.01, 0.1, "cannot tell"),  # holds, says nothing
        row(0.20, 0.01, means=Found(0.1, 0.01)),
    ]
    found = summary(rows)
    assert found.bias == pytest.approx((0.1 - 0.1 - 0.95 + 0.0) / 4)
    assert found.holds == 0.75
    assert found.verdicts == {"yes": 0.5, "partly": 0.25, "cannot tell": 0.25}
    assert found.holds_by == {"yes": 1.0, "partly": 0.0, "cannot tell": 1.0}
    assert found.power == 0.5 and found.works == 0.75
    assert found.width == pytest.approx((2 + 0.5 + 10 + 1) / 4)
    # moved from 0.3 towards 0.2: 0.8, 1.2, 2.9, 1.0 of the way
    assert found.moved == pytest.approx((0.8 + 1.2 + 2.9 + 1.0) / 4)
    assert found.others["means"] == (pytest.approx(-0.125), 0.75)
    assert found.alone == (pytest.approx(-0.5), 0.0)
    assert found.common == (pytest.approx(found.bias), 0.75)  # twice the sd: two sds off is out
    assert "made" in line(found)


def test_without_an_effect_errors_are_metres() -> None:
    assert summary([row(0.03, 0.02, truth=0.0)]).bias == pytest.approx(0.03)


def test_hard_enough_wants_all_three() -> None:
    off, near = Found(0.1, 0.01), Found(0.19, 0.01)
    assert hard_enough([row(0.2, 0.01, means=off, recorded=Found(0.12, 0.01))])
    assert not hard_enough([row(0.2, 0.01, means=near, recorded=off)])
    assert not hard_enough([row(0.2, 0.01, means=off, recorded=near)])
    assert not hard_enough([row(0.2, 0.01, means=off, recorded=Found(0.1, 0.1))])


def test_cells_are_told_apart_by_name() -> None:
    assert len({cell.name for cell in CELLS}) == len(CELLS)
    assert sum(not cell.right for cell in CELLS) >= 4


# --- at work ----------------------------------------------------------------------------------


@cache
def played(name: str) -> Row:
    manager = {"coin": Manager.coin_flip(), "need": Manager.coin_flip().driven(1.0)}
    world = replace(SMALL, manager=manager[name])
    return play(Cell(name, world), seed=31)


def test_the_truth_of_a_roll_is_the_stated_one() -> None:
    # by hand: the stated peak, 0.16 m, mean over greens
    assert played("coin").truth == pytest.approx(0.16, rel=1e-9)


def test_under_a_coin_all_agree() -> None:
    one = played("coin")
    assert one.holds and one.verdict == "yes" and one.works
    for name in ("lags", "impression", "surface"):
        assert abs(one.others[name].mean - 0.16) < 3 * one.others[name].sd, name
    assert one.others["surface"].sd < one.others["impression"].sd
    assert one.misfits == {}


def test_under_need_the_others_are_caught_and_the_knowing_are_not() -> None:
    one = played("need")
    assert hard_enough([one])
    assert one.others["lags"].mean < 0.8 * 0.16 and not one.others["lags"].holds(0.16)
    assert abs(one.others["impression"].mean - 0.16) < 3 * one.others["impression"].sd
    assert abs(one.others["surface"].mean - 0.16) < 3 * one.others["surface"].sd
    # One world alone: its 95 % interval may miss once in twenty, 2.6 sd once in a hundred.
    assert abs(one.mean - one.truth) < 2.6 * one.sd and one.alone.mean < one.mean


def test_of_these_greens_more_is_known_than_of_others() -> None:
    one = played("coin")
    assert one.sd < one.common.sd
    assert abs(one.mean - one.common.mean) < one.common.sd


def test_the_record_that_is_learned_from_holds_no_truth() -> None:
    made = harness.simulate.course(5, today=harness.TODAY, world=replace(SMALL, days=30))
    lean = harness.lean(made)
    assert set(lean.tables) == set(harness.KINDS)
    assert {r["kind"] for r in lean.tables["readings"]} == {"roll_distance"}
    assert lean.tables["work"] == made.tables["work"]
