"""Tukey, Dunnett, Holm, letters, margins, progress curves: other libraries and hand numbers."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import dunnett, studentized_range

from greenwright.base.errors import BadInput
from greenwright.stats.trials.equivalence import within_margin
from greenwright.stats.trials.multiple import (
    dunnett_chance,
    dunnett_factor,
    dunnett_p,
    holm_p,
    letters,
    tukey_factor,
    tukey_p,
)
from greenwright.stats.trials.series import progress_area, sphericity


@pytest.mark.parametrize(("groups", "df"), [(3, 5.0), (4, 45.0), (9, 16.0)])
def test_tukey_against_scipy(groups: int, df: float) -> None:
    t = np.array([0.4, 1.7, 3.1])
    assert tukey_p(t, groups, df) == pytest.approx(
        studentized_range.sf(t * 2**0.5, groups, df), abs=2e-6
    )


def test_tukey_factor_against_the_printed_table() -> None:
    # Tables of the studentized range, 5 %: q(3, 10) = 3.88, q(4, 20) = 3.96, q(5, 30) = 4.10.
    for groups, df, q in ((3, 10, 3.88), (4, 20, 3.96), (5, 30, 4.10)):
        assert tukey_factor(groups, df) * 2**0.5 == pytest.approx(q, abs=0.006)


def test_dunnett_against_scipy() -> None:
    rng = np.random.default_rng(5)
    control, *others = (rng.normal(m, 1, 8) for m in (0.0, 0.6, 1.2))
    theirs = dunnett(*others, control=control, rng=np.random.default_rng(1))
    df = 21
    pooled = sum(np.sum((x - x.mean()) ** 2) for x in (control, *others)) / df
    t = np.array([(x.mean() - control.mean()) / (pooled * 2 / 8) ** 0.5 for x in others])
    ours = dunnett_p(t, np.full(2, 0.5**0.5), df)
    assert ours == pytest.approx(theirs.pvalue, abs=2e-3)


def test_dunnett_factor_against_the_printed_table() -> None:
    # Dunnett's two-sided table, 5 %, equal groups: k = 2, df 10: 2.57; k = 3, df 20: 2.54.
    assert dunnett_factor(np.full(2, 0.5**0.5), 10) == pytest.approx(2.57, abs=0.006)
    assert dunnett_factor(np.full(3, 0.5**0.5), 20) == pytest.approx(2.54, abs=0.006)


def test_one_comparison_is_a_plain_t() -> None:
    # Student's t, 5 %, 10 df: 2.228 (any table).
    assert dunnett_factor(np.array([0.7]), 10) == pytest.approx(2.2281, abs=1e-3)
    assert 0.9 < dunnett_chance(2.0, np.array([0.5]), 30) < 0.96


def test_holm_by_hand() -> None:
    # 0.005 * 4, 0.01 * 3, 0.03 * 2, 0.2 * 1.
    assert holm_p([0.2, 0.005, 0.03, 0.01]).tolist() == [0.2, 0.02, 0.06, 0.03]


def test_letters_join_only_what_does_not_differ() -> None:
    apart = {(0, 3), (0, 2), (1, 3)}
    got = letters(lambda i, j: (i, j) in apart, 4)
    for i in range(4):
        for j in range(i + 1, 4):
            assert bool(set(got[i]) & set(got[j])) == ((i, j) not in apart)


def test_a_margin_by_hand() -> None:
    # Difference 0.5, se 0.25, margin 1, 20 df: t = 6 and -2; one-sided p of -2 on 20 df = 0.0296.
    held = within_margin(0.5, 0.25, 20, margin=1.0)
    assert held.p_high == pytest.approx(0.0296, abs=1e-4)
    assert held.alike and held.no_worse
    assert not within_margin(0.8, 0.25, 20, margin=1.0).alike


def test_no_worse_is_one_sided() -> None:
    held = within_margin(3.0, 0.5, 20, margin=1.0)
    assert held.no_worse and not held.alike


@pytest.mark.parametrize("bad", [{"margin": 0.0, "se": 1.0}, {"margin": 1.0, "se": 0.0}])
def test_a_margin_of_nothing_is_refused(bad) -> None:
    with pytest.raises(BadInput):
        within_margin(0.0, bad["se"], 10, margin=bad["margin"])


def test_progress_area_by_hand() -> None:
    assert progress_area([0, 3, 10], [2.0, 4.0, 0.0]) == pytest.approx(9.0 + 14.0)
    with pytest.raises(BadInput):
        progress_area([0, 0], [1.0, 2.0])


def test_sphericity_limits() -> None:
    rng = np.random.default_rng(8)
    groups = np.repeat([0, 1], 400)
    free = sphericity(rng.normal(size=(800, 4)), groups)
    tied = sphericity(np.outer(rng.normal(size=800), [0.0, 1.0, 2.0, 3.0]), groups)
    assert free > 0.97
    assert tied == pytest.approx(1 / 3, abs=1e-9)
