"""Estimates: intervals against tables and hand arithmetic."""

from __future__ import annotations

import math

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, draws_estimate, normal_estimate, quantile


def test_a_normal_interval_has_the_table_width() -> None:
    # 1.6449 and 1.9600: two-sided 90 % and 95 % points of the normal table
    ninety = normal_estimate(10.0, 2.0, "m")
    assert ninety.high - 10.0 == pytest.approx(2.0 * 1.6449, abs=1e-3)
    assert 10.0 - ninety.low == pytest.approx(2.0 * 1.6449, abs=1e-3)
    assert normal_estimate(0.0, 1.0, "m", level=0.95).high == pytest.approx(1.9600, abs=1e-3)


def test_quantiles_by_hand() -> None:
    # by hand: five equally spaced numbers, place = q * 4
    numbers = [0.0, 1.0, 2.0, 3.0, 4.0]
    assert [quantile(numbers, q) for q in (0.0, 0.05, 0.5, 0.95, 1.0)] == pytest.approx(
        [0.0, 0.2, 2.0, 3.8, 4.0]
    )


def test_draws_are_summarised_in_any_order() -> None:
    estimate = draws_estimate([4.0, 0.0, 2.0, 3.0, 1.0], "score")
    assert estimate.value == 2.0
    assert estimate.sd == pytest.approx(math.sqrt(2.5))  # by hand: squares 4+1+0+1+4 over 4
    assert (estimate.low, estimate.high) == pytest.approx((0.2, 3.8))
    assert estimate.quantiles == pytest.approx(
        {"0.05": 0.2, "0.25": 1.0, "0.5": 2.0, "0.75": 3.0, "0.95": 3.8}
    )
    assert estimate.basis == "draws"


@pytest.mark.parametrize(
    ("value", "sd", "low", "high"),
    [(math.nan, 1, 0, 1), (0, -1, 0, 1), (0, 1, 1, 0), (0, 1, -math.inf, 1)],
)
def test_an_impossible_estimate_is_refused(
    value: float, sd: float, low: float, high: float
) -> None:
    with pytest.raises(BadInput, match="finite numbers"):
        Estimate(value, "m", sd, low, high)


def test_an_unknown_basis_is_refused() -> None:
    with pytest.raises(BadInput, match="unknown basis"):
        normal_estimate(1.0, 1.0, "m", basis="guess")  # type: ignore[arg-type]


def test_one_draw_is_no_estimate() -> None:
    with pytest.raises(BadInput, match="at least two"):
        draws_estimate([1.0], "m")


def test_the_json_shape_has_quantiles_only_where_there_are_any() -> None:
    assert "quantiles" not in normal_estimate(1.0, 0.1, "m").as_dict()
    assert set(draws_estimate([1.0, 2.0], "m").as_dict()) == {
        "value", "unit", "sd", "low", "high", "level", "n", "basis", "quantiles",
    }  # fmt: skip
