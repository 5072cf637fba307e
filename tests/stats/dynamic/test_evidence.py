"""The engine against the plain joint normal, written out densely: equal to rounding."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.stats.dynamic import Readings, fit_dynamic, levels, readings
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.fitting import named
from greenwright.stats.dynamic.layout import Layout, lay_out
from greenwright.stats.dynamic.left_out import left_out
from greenwright.stats.dynamic.slope import slopes
from tests.stats.dynamic.worlds import Dense, dense, rich_model, rich_readings

MODEL = rich_model()
ROWS = rich_readings(MODEL)
CUTS = ([], [10.5], [10.5, 11.5, 20.5])
ASKED = (np.repeat([0, 1, 2], 6), np.tile([0, 3, 12, 22, 28, 29], 3))


@pytest.fixture(scope="module")
def point() -> np.ndarray:
    return 0.3 * np.random.default_rng(3).standard_normal(len(MODEL.hypers))


@pytest.fixture(scope="module")
def plain(point: np.ndarray) -> Dense:
    return dense(MODEL, ROWS, named(MODEL, point), ASKED)


@pytest.mark.parametrize("cuts", CUTS)
def test_evidence_and_effects_are_those_of_the_dense_normal(
    cuts: list[float], point: np.ndarray, plain: Dense
) -> None:
    layout = lay_out(MODEL, ROWS, knots=np.array(cuts))
    at = condition(layout, named(MODEL, point))
    assert at.log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-8)
    fixed = len(plain.fixed_mean)
    assert at.mean[:fixed] == pytest.approx(plain.fixed_mean, abs=1e-8)
    assert at.cov[:fixed, :fixed] == pytest.approx(plain.fixed_cov, abs=1e-8)


@pytest.mark.parametrize("cuts", CUTS)
def test_levels_on_any_day_are_those_of_the_dense_normal(cuts: list[float]) -> None:
    fit = fit_dynamic(MODEL, ROWS, rng=np.random.default_rng(0), pairs=0, knots=np.array(cuts))
    plain = dense(MODEL, ROWS, fit.hyper, ASKED)
    found = levels(fit, *ASKED)
    assert found.mean == pytest.approx(plain.mean, abs=1e-8)
    assert found.cov == pytest.approx(plain.cov, abs=1e-8)


def differences(layout: Layout, point: np.ndarray, *, step: float = 1e-3) -> np.ndarray:
    """Five-point differences of the log likelihood by the log hyper-parameters."""
    spread = np.array([p.log_sd for p in MODEL.hypers.values()])

    def value(away: np.ndarray) -> float:
        return condition(layout, named(MODEL, point + away / spread)).log_likelihood

    return np.array([
        (value(-2 * v) - 8 * value(-v) + 8 * value(v) - value(2 * v)) / (12 * step)
        for v in step * np.eye(len(point))
    ])  # fmt: skip


@pytest.mark.parametrize("cuts", CUTS)
def test_the_slope_is_exact(cuts: list[float], point: np.ndarray) -> None:
    layout = lay_out(MODEL, ROWS, knots=np.array(cuts))
    found = np.array(list(slopes(layout, condition(layout, named(MODEL, point))).values()))
    assert found == pytest.approx(differences(layout, point), abs=1e-7)


def test_a_wrong_slope_would_be_seen(point: np.ndarray) -> None:
    layout = lay_out(MODEL, ROWS)
    right = differences(layout, point)
    found = np.array(list(slopes(layout, condition(layout, named(MODEL, 1.01 * point))).values()))
    assert np.abs(found - right).max() > 1e-4


def test_left_out_is_what_the_others_say(point: np.ndarray) -> None:
    """The dense normal without the row, asked for its level, rater and hour included."""
    layout, hyper = lay_out(MODEL, ROWS, knots=np.array([12.5])), named(MODEL, point)
    found = left_out(layout, condition(layout, hyper))
    bare = np.flatnonzero((ROWS.members["reader"] < 0) & (ROWS.before == 0))[:3]
    for row in bare:
        others = without(row)
        plain = dense(MODEL, others, hyper, (ROWS.unit[[row]], ROWS.day[[row]]))
        hour = ROWS.conditions["hour"][row]
        # The row's own hour adds its slope times it: the slope is column 2 of the fixed part.
        assert found.mean[row] == pytest.approx(
            plain.mean[0] + hour * plain.fixed_mean[2], abs=1e-8
        )


def without(row: int) -> Readings:
    kept = np.arange(len(ROWS)) != row
    return readings(
        ROWS.value[kept], ROWS.unit[kept], ROWS.day[kept], count=ROWS.count[kept],
        variance=0.001, before=ROWS.before[kept],
        members={k: v[kept] for k, v in ROWS.members.items()},
        conditions={k: v[kept] for k, v in ROWS.conditions.items()},
    )  # fmt: skip


def test_no_reading_at_all_leaves_the_prior(point: np.ndarray) -> None:
    nothing = readings(np.zeros(0), np.zeros(0, int), np.zeros(0, int))
    layout = lay_out(MODEL, nothing)
    at = condition(layout, named(MODEL, point))
    assert at.log_likelihood == pytest.approx(0.0, abs=1e-9)
    assert at.mean[: layout.border.fixed] == pytest.approx(layout.centre)
    found = slopes(layout, at)
    assert np.array(list(found.values())) == pytest.approx(np.zeros(len(found)), abs=1e-9)
