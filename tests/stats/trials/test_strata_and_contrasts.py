"""Strata, coding and contrasts against hand numbers and against dense least squares."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.stats.trials import factor, fit_strata, strata_of, terms_of
from greenwright.stats.trials.contrasts import design, estimate, mean_row, pairs, solver
from greenwright.stats.trials.factors import (
    crossed,
    indicator,
    number_of,
    span,
    term_of,
    trend_coding,
    with_trend,
)
from greenwright.stats.trials.strata import f_values, split


def small():
    """Three blocks of two treatments: by hand SS blocks 28, treatments 6, error 0.0 + ..."""
    y = np.array([1.0, 3.0, 4.0, 5.0, 6.0, 9.0])
    block = factor("block", [1, 1, 2, 2, 3, 3])
    way = factor("way", ["a", "b"] * 3)
    return y, block, way


def analysed():
    y, block, way = small()
    strata = strata_of([("blocks", block.codes)], 6, last="plots")
    return y, fit_strata(y, split(strata, terms_of([way])))


def test_a_block_layout_by_hand() -> None:
    # By hand: block means 2, 4.5, 7.5, grand 14/3; differences b - a 2, 1, 3, mean 2, variance 1.
    # SS treatments = 3/2 * 2^2 = 6, SS error = 2 * 1/2 = 1 on 2 df, F = 12.
    _, fit = analysed()
    row = fit.row("way")
    assert (row.df, row.df_error) == (1, 2)
    assert row.ss == pytest.approx(6.0) and row.f == pytest.approx(12.0)
    assert fit.error["plots"] == (2, pytest.approx(1.0))
    assert fit.total["blocks"] == (2, pytest.approx(2 * (64 / 9 + 1 / 36 + 289 / 36)))


def test_the_difference_by_hand() -> None:
    y, fit = analysed()
    _, _, way = small()
    terms = terms_of([way])
    rows = [mean_row(terms, {"way": way}, {"way": k}) for k in (0, 1)]
    made = estimate("b - a", (rows[1] - rows[0]) @ solver(design(terms, 6)), y, fit)
    # A paired t: mean 2, sd 1, n 3.
    assert made.value == pytest.approx(2.0)
    assert made.se == pytest.approx(1 / 3**0.5)
    assert made.df == pytest.approx(2.0)
    assert made.p == pytest.approx(fit.row("way").p)


def test_strata_share_the_whole_space_and_are_square_to_each_other() -> None:
    block = np.repeat(np.arange(3), 8)
    whole = np.repeat(np.arange(6), 4)
    strata = strata_of([("blocks", block), ("whole", whole)], 24, last="sub")
    sizes = [s.basis.shape[1] for s in strata]
    assert sizes == [2, 3, 18] and sum(sizes) == 23
    joined = np.hstack([s.basis for s in strata])
    assert np.allclose(joined.T @ joined, np.eye(23), atol=1e-10)


def test_a_term_that_is_the_blocks_is_aliased_with_them() -> None:
    a, b = factor("a", [0, 0, 1, 1] * 2), factor("b", [0, 1, 0, 1] * 2)
    block = np.array([0, 1, 1, 0] * 2)
    made = split(strata_of([("blocks", block)], 8, last="plots"), terms_of([a, b]))
    assert made.found("a:b") == {"blocks": 1}
    assert made.found("a") == {"plots": 1} and made.aliased == ()


def test_a_term_that_repeats_another_is_lost() -> None:
    a, twin = factor("a", [0, 0, 1, 1]), factor("twin", [5, 5, 9, 9])
    made = split(strata_of([], 4, last="plots"), [term_of([a]), term_of([twin])])
    assert made.aliased == ("twin",) and made.found("twin") == {}


def test_a_term_in_two_strata_is_partial() -> None:
    way = factor("way", ["a", "a", "b", "a", "b", "b"])
    block = np.array([0, 0, 0, 1, 1, 1])
    made = split(strata_of([("blocks", block)], 6, last="plots"), terms_of([way]))
    assert made.partial == ("way",)


def test_f_of_many_responses_is_the_f_of_each() -> None:
    rng = np.random.default_rng(3)
    block, way = factor("b", np.repeat(range(5), 3)), factor("w", list("abc") * 5)
    made = split(strata_of([("blocks", block.codes)], 15, last="plots"), terms_of([way]))
    many = rng.normal(size=(15, 4))
    each = [fit_strata(many[:, k], made).row("w").f for k in range(4)]
    assert f_values(made, "w", many) == pytest.approx(each)


def test_f_of_a_term_that_is_not_there_is_refused() -> None:
    made = split(strata_of([], 4, last="plots"), terms_of([factor("w", [0, 0, 1, 1])]))
    with pytest.raises(CannotAnswer, match="cannot be tested"):
        f_values(made, "other", np.ones((4, 2)))


def test_nothing_left_for_error_gives_no_f() -> None:
    way = factor("w", ["a", "b"])
    fit = fit_strata(np.array([1.0, 2.0]), split(strata_of([], 2, last="p"), terms_of([way])))
    assert fit.row("w").f is None and fit.row("w").p is None


def test_one_level_is_refused() -> None:
    with pytest.raises(BadInput, match="only one level"):
        factor("way", ["a", "a"])


def test_numbers_stand_in_order_and_none_is_a_level() -> None:
    assert factor("n", ["10", "2", "0"]).levels == ("0", "2", "10")
    assert factor("d", ["None", "S1", "None"]).levels == ("None", "S1")
    assert number_of("inf") is None


def test_trends_are_square_and_skip_no_spacing() -> None:
    coding = trend_coding([0.0, 1.0, 4.0, 5.0])
    assert np.allclose(coding.T @ coding, np.eye(3))
    assert np.allclose(coding.sum(axis=0), 0, atol=1e-12)
    # Linear contrast of unequal steps is proportional to the dose less its mean: by hand.
    assert coding[:, 0] / coding[3, 0] == pytest.approx([-1.0, -0.6, 0.6, 1.0])


def test_textbook_orthogonal_polynomials_of_four_levels() -> None:
    # Tables of orthogonal polynomials: -3 -1 1 3; 1 -1 -1 1; -1 3 -3 1.
    wanted = np.array([[-3, -1, 1, 3], [1, -1, -1, 1], [-1, 3, -3, 1]], float).T
    got = trend_coding([1.0, 2.0, 3.0, 4.0])
    assert np.allclose(got, wanted / np.linalg.norm(wanted, axis=0))


def test_a_trend_needs_different_doses() -> None:
    with pytest.raises(BadInput, match="different number"):
        with_trend(factor("n", ["a", "b"]), [1.0, 1.0])


def test_crossed_codes_and_indicators() -> None:
    codes = crossed([np.array([0, 0, 1, 1]), np.array([0, 1, 0, 0])])
    assert codes.tolist() == [0, 1, 2, 2]
    assert indicator(codes).sum(axis=0).tolist() == [1, 1, 2]
    assert span(np.ones((3, 2))).shape == (3, 1)


def test_pairs() -> None:
    assert len(pairs(5)) == 10 and pairs(3, control=1) == [(0, 1), (2, 1)]


def test_a_mean_over_strata_carries_the_error_of_the_blocks() -> None:
    y, fit = analysed()
    _, _, way = small()
    terms = terms_of([way])
    row = mean_row(terms, {"way": way}, {"way": 0}) @ solver(design(terms, 6))
    # By hand: the mean has a sixth, plots within blocks another; mean squares 91/6 (blocks), 1/2.
    assert estimate("a", row, y, fit).se == pytest.approx(((91 / 6 + 0.5) / 6) ** 0.5)
    held = estimate("a", row, y, fit, level="plots")
    # With the blocks held fixed: sqrt(error mean square / 3), by hand sqrt(0.5 / 3).
    assert held.se == pytest.approx((0.5 / 3) ** 0.5)
