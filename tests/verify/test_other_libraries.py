"""The analysis of trials against scipy and statsmodels on made-up data, and what never changes."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from greenwright.stats.trials.counts import deviance_test, fit_spread
from greenwright.stats.trials.factors import crossed, factor, indicator, terms_of
from greenwright.stats.trials.mixed import fit_mixed, kenward_roger
from greenwright.stats.trials.strata import fit_strata, split, strata_of
from greenwright.verify.analyse import analyse
from greenwright.verify.declared import Declared
from greenwright.verify.designing import lay_out
from tests.verify.test_designing import CASES, made

SEEDS = range(4)

# The newest pandas warns of what statsmodels does as it loads, not of anything here.
with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from statsmodels.genmod.families import Binomial
    from statsmodels.genmod.generalized_linear_model import GLM
    from statsmodels.regression.mixed_linear_model import MixedLM


def texts(values) -> list[str]:
    return [repr(float(v)) for v in values]


def one_way(groups: int, each: int, seed: int) -> tuple[list[np.ndarray], dict]:
    rng = np.random.default_rng(seed)
    held = [rng.normal(0.3 * k, 1.0, each) for k in range(groups)]
    table = {
        "way": [f"w{k}" for k in range(groups) for _ in range(each)],
        "y": texts(np.concatenate(held)),
    }
    return held, table


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("groups", [2, 3, 5])
def test_one_way_is_scipys(groups: int, seed: int) -> None:
    held, table = one_way(groups, 6, seed)
    found = analyse(table, Declared("crd", "y", {"treatments": ("way",)}))
    theirs = stats.f_oneway(*held)
    assert found.term("way").f == pytest.approx(theirs.statistic)
    assert found.term("way").p == pytest.approx(theirs.pvalue)


@pytest.mark.parametrize("seed", SEEDS)
def test_all_pairs_are_scipys_tukey(seed: int) -> None:
    held, table = one_way(4, 6, seed)
    found = analyse(table, Declared("crd", "y", {"treatments": ("way",)}))
    theirs = stats.tukey_hsd(*held)
    ends = theirs.confidence_interval(0.95)
    for one in found.contrasts:
        i, j = int(one.first[1:]), int(one.second[1:])
        assert one.p_adjusted == pytest.approx(theirs.pvalue[i, j], abs=2e-5)
        assert one.low == pytest.approx(ends.low[i, j], abs=1e-4)
        assert one.high == pytest.approx(ends.high[i, j], abs=1e-4)


@pytest.mark.parametrize("seed", SEEDS)
def test_half_greens_are_a_paired_t(seed: int) -> None:
    rng = np.random.default_rng(seed)
    left, right = rng.normal(0, 1, 7), rng.normal(0.5, 1, 7)
    table = {
        "green": [str(i) for i in range(7) for _ in range(2)],
        "way": ["a", "b"] * 7,
        "y": texts(np.stack([left, right], 1).ravel()),
    }
    roles = {"units": ("green",), "treatments": ("way",)}
    found = analyse(table, Declared("half-greens", "y", roles))
    theirs = stats.ttest_rel(right, left)
    assert found.term("way").p == pytest.approx(theirs.pvalue)
    one = found.contrasts[0]
    assert (one.first, one.second) == ("b", "a")
    ends = theirs.confidence_interval(0.95)
    assert (one.low, one.high) == (pytest.approx(ends.low), pytest.approx(ends.high))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_p_by_the_lot_is_scipys_exact_permutation(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.normal(0, 1, 4), rng.normal(1, 1, 4)
    table = {"way": ["a"] * 4 + ["b"] * 4, "y": texts([*a, *b])}
    found = analyse(table, Declared("crd", "y", {"treatments": ("way",)}))

    def gap(x, y, axis):
        return np.abs(np.mean(x, axis=axis) - np.mean(y, axis=axis))

    theirs = stats.permutation_test((a, b), gap, alternative="greater", n_resamples=np.inf,
                                    vectorized=True)  # fmt: skip
    assert found.term("way").ways == 70
    assert found.term("way").p_lot == pytest.approx(theirs.pvalue)


@pytest.mark.parametrize("seed", SEEDS)
def test_pairs_by_the_lot_are_scipys_sign_flips(seed: int) -> None:
    rng = np.random.default_rng(seed)
    gaps = rng.normal(0.4, 1, 6)
    table = {
        "green": [str(i) for i in range(6) for _ in range(2)],
        "way": ["a", "b"] * 6,
        "y": texts(np.stack([np.zeros(6), gaps], 1).ravel()),
    }
    found = analyse(
        table, Declared("half-greens", "y", {"units": ("green",), "treatments": ("way",)})
    )
    theirs = stats.permutation_test((gaps,), lambda x, axis: np.abs(np.mean(x, axis=axis)),
                                    permutation_type="samples", alternative="greater",
                                    n_resamples=np.inf, vectorized=True)  # fmt: skip
    assert found.term("way").p_lot == pytest.approx(theirs.pvalue)


def split_plot(seed: int):
    plan = made("split-plot", seed + 1)
    rng = np.random.default_rng(seed)
    block = factor("block", [r["block"] for r in plan.rows])
    roll = factor("roll", [r["roll"] for r in plan.rows])
    cut = factor("cut", [r["cut"] for r in plan.rows])
    whole = crossed([block.codes, roll.codes])
    y = rng.normal(0, 0.6, 4)[block.codes] + rng.normal(0, 0.8, 8)[whole] + rng.normal(0, 0.5, 24)
    return y, block.codes, whole, terms_of([roll, cut])


@pytest.mark.parametrize("seed", SEEDS)
def test_reml_of_a_balanced_split_plot_is_its_strata(seed: int) -> None:
    y, block, whole, terms = split_plot(seed)
    exact = fit_strata(y, split(strata_of([("b", block), ("w", whole)], 24, last="s"), terms))
    mean = {s: exact.mean_square(s) for s in ("b", "w", "s")}
    x = np.hstack([np.ones((24, 1)), *(t.columns for t in terms)])
    fit = fit_mixed(y, x, [("b", indicator(block)), ("w", indicator(whole))])
    if not mean["b"] > mean["w"] > mean["s"]:
        # A variance at zero: REML pools strata, and the two part by intention.
        assert min(fit.variances) < 1e-6
        return
    # By hand: the whole plots' mean square is residual + 3 whole; the blocks' + 6 blocks.
    assert fit.variance("w") == pytest.approx((mean["w"] - mean["s"]) / 3, rel=1e-4)
    assert fit.variance("b") == pytest.approx((mean["b"] - mean["w"]) / 6, rel=1e-4)
    test = kenward_roger(fit, np.eye(6)[1:2])
    assert test.f == pytest.approx(exact.row("roll").f, rel=1e-4)
    assert test.df_error == pytest.approx(3, rel=1e-4)


@pytest.mark.parametrize("seed", SEEDS)
def test_reml_is_that_of_statsmodels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(8), [3, 4, 5, 3, 4, 5, 3, 4])
    x = np.stack([np.ones(31), rng.normal(size=31)], 1)
    y = x @ [2.0, 0.7] + rng.normal(0, 1.2, 8)[group] + rng.normal(0, 0.6, 31)
    ours = fit_mixed(y, x, [("g", indicator(group))])
    theirs = MixedLM(y, x, groups=group).fit(reml=True, method="lbfgs")
    assert ours.beta == pytest.approx(theirs.fe_params, rel=1e-3)
    assert ours.variance("g") == pytest.approx(float(theirs.cov_re[0, 0]), rel=1e-2)
    assert ours.variance("residual") == pytest.approx(theirs.scale, rel=1e-2)


@pytest.mark.parametrize("seed", SEEDS)
def test_shares_are_those_of_statsmodels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = np.stack([np.ones(12), np.repeat([0.0, 1.0], 6)], 1)
    of = rng.integers(8, 15, 12).astype(float)
    y = rng.binomial(of.astype(int), 0.3 + 0.3 * x[:, 1]).astype(float)
    ours = fit_spread(y, x, kind="share", of=of)
    theirs = GLM(np.stack([y, of - y], 1), x, family=Binomial()).fit()
    assert ours.beta == pytest.approx(theirs.params, rel=1e-6)
    assert ours.deviance == pytest.approx(theirs.deviance, rel=1e-6)
    small = fit_spread(y, x[:, :1], kind="share", of=of)
    assert deviance_test(small, ours).df == 1


@given(shift=st.floats(-1e3, 1e3), scale=st.floats(0.01, 100.0), seed=st.integers(0, 50))
@settings(max_examples=25, deadline=None)
def test_shift_and_scale_leave_every_f_alone(shift: float, scale: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    block, way = factor("b", np.repeat(range(4), 3)), factor("w", list("abc") * 4)
    made_up = split(strata_of([("b", block.codes)], 12, last="p"), terms_of([way]))
    y = rng.normal(size=12)
    one, other = fit_strata(y, made_up).row("w"), fit_strata(shift + scale * y, made_up).row("w")
    assert other.f == pytest.approx(one.f, rel=1e-6)


@given(seed=st.integers(0, 200))
@settings(max_examples=25, deadline=None)
def test_sums_of_squares_add_up(seed: int) -> None:
    rng = np.random.default_rng(seed)
    y = rng.normal(size=24)
    _, block, whole, terms = split_plot(1)
    fit = fit_strata(y, split(strata_of([("b", block), ("w", whole)], 24, last="s"), terms))
    told = sum(r.ss for r in fit.rows) + sum(ss for _, ss in fit.error.values())
    assert told == pytest.approx(float(np.sum((y - y.mean()) ** 2)))
    assert sum(r.df for r in fit.rows) + sum(df for df, _ in fit.error.values()) == 23


DEGREES = {
    # By hand: target's own degrees of freedom, and those of the error it is held against.
    "completely-randomised": ("way", 1, 4),
    "complete-block": ("way", 3, 15),
    "latin-square": ("way", 3, 6),
    "split-plot": ("cut", 2, 12),
    "strip": ("cut", 2, 6),
    "split-plot-in-time": ("way", 1, 5),
    "crossover": ("way", 1, 14),
    "stepped-wedge": ("way", 1, 14),
    "half-greens": ("way", 1, 5),
}


@pytest.mark.parametrize("key", DEGREES)
def test_degrees_of_freedom_by_hand(key: str) -> None:
    term, df, df_error = DEGREES[key]
    plan = made(key)
    y = texts(np.random.default_rng(3).normal(size=len(plan.rows)))
    found = analyse(plan.table() | {"y": y}, Declared(key, "y", plan.roles)).term(term)
    assert (found.df, found.df_error) == (df, df_error)


@pytest.mark.parametrize("key", [k for k in CASES if k not in ("before-after", "stepped-wedge")])
def test_names_of_levels_and_greens_do_not_matter(key: str) -> None:
    factors, units, periods = CASES[key]
    plan = lay_out(key, factors=factors, units=units, seed=4, periods=periods)
    y = texts(np.random.default_rng(5).normal(size=len(plan.rows)))
    table = plan.table() | {"y": y}
    renamed = {
        name: cells if name == "y" else [f"None {cell}" for cell in cells]
        for name, cells in table.items()
    }
    declared = Declared(key, "y", plan.roles)
    one, other = analyse(table, declared), analyse(renamed, declared)
    assert [t.term for t in one.terms] == [t.term for t in other.terms]
    for a, b in zip(one.terms, other.terms, strict=True):
        assert b.f == pytest.approx(a.f)
