"""REML, ordered ratings, counts, surfaces and ground trends against R and published answers."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.stats.trials.counts import deviance_test, fit_spread
from greenwright.stats.trials.factors import factor, indicator, term_of
from greenwright.stats.trials.mixed import fit_mixed, kenward_roger, linear
from greenwright.stats.trials.ordinal import fit_ordinal
from greenwright.stats.trials.spatial import fit_spatial
from greenwright.stats.trials.surfaces import fit_surface, quadratic
from tests.reference.r_answers import frozen, table


def sleepers():
    held = table("sleepstudy")
    y = np.array(held["Reaction"], float)
    days = np.array(held["Days"], float)
    return y, np.stack([np.ones_like(days), days], 1), factor("s", held["Subject"])


def test_sleepers_against_lmer() -> None:
    y, x, who = sleepers()
    fit = fit_mixed(y, x, [("Subject", indicator(who.codes))])
    theirs = frozen("sleepstudy", "variance")
    assert fit.variance("Subject") == pytest.approx(theirs["Subject"].value, rel=1e-4)
    assert fit.variance("residual") == pytest.approx(theirs["Residual"].value, rel=1e-4)
    assert fit.criterion == pytest.approx(frozen("sleepstudy", "reml")["criterion"].value, abs=1e-6)
    test = kenward_roger(fit, np.array([[0.0, 1.0]]))
    r = frozen("sleepstudy", "Kenward-Roger")["Days"]
    assert test.f == pytest.approx(r.f, rel=1e-6) and test.df_error == pytest.approx(161, abs=1e-3)
    # Slope 10.467 (lme4 reference page).
    assert linear(fit, "slope", np.array([0.0, 1.0])).value == pytest.approx(10.467, abs=5e-4)


def test_no_random_part_is_least_squares() -> None:
    y, x, _ = sleepers()
    fit = fit_mixed(y, x, [])
    beta, rss, *_ = np.linalg.lstsq(x, y, rcond=None)
    assert fit.beta == pytest.approx(beta)
    assert fit.variance("residual") == pytest.approx(float(rss[0]) / 178)
    assert kenward_roger(fit, np.array([[0.0, 1.0]])).df_error == pytest.approx(178, rel=1e-6)


def test_too_few_readings_are_refused() -> None:
    with pytest.raises(CannotAnswer, match="cannot tell"):
        fit_mixed(np.ones(3), np.eye(3), [])


def colours():
    held = table("colour_ratings.txt")
    levels = ["Poor", "Average", "Good", "Excellent"]
    ratings = np.array([levels.index(r) for r in held["rating"]])
    nitro, manage = factor("nitro", held["nitro"]), factor("manage", held["manage"])
    week = np.array(held["week"], float)
    plots = zip(held["rep"], held["manage"], held["nitro"], strict=True)
    return ratings, nitro, manage, week, factor("plot", ["".join(p) for p in plots])


def test_turf_colour_against_clm() -> None:
    ratings, nitro, manage, week, _ = colours()
    x = np.hstack([nitro.columns, manage.columns, week[:, None]])
    fit = fit_ordinal(ratings, x)
    theirs = frozen("colour", "clm")
    assert fit.log_likelihood == pytest.approx(theirs["log likelihood"].value, abs=1e-6)
    names = ("nitro1", "manage1", "manage2", "manage3", "week")
    for value, se, name in zip(fit.beta, fit.se, names, strict=True):
        assert value == pytest.approx(theirs[name].value, abs=2e-4)
        assert se == pytest.approx(theirs[name].se, rel=1e-3)
    cuts = [theirs[n].value for n in ("Poor|Average", "Average|Good", "Good|Excellent")]
    assert fit.cuts == pytest.approx(cuts, abs=2e-4)


def test_turf_colour_gives_the_published_marginals() -> None:
    # Contemporary Statistical Models for the Plant and Soil Sciences, CRC Press, 2002, p. 380.
    ratings, nitro, manage, week, _ = colours()
    x = np.hstack([nitro.columns, manage.columns, term_of([nitro, manage]).columns, week[:, None]])
    fit = fit_ordinal(ratings, x)
    poor, good = (0.668, 0.827, 0.001, 0.004), (0.002, 0.001, 0.695, 0.468)
    for k in range(4):
        row = np.concatenate([[0.0], manage.coding[k], np.zeros(3), [2.5]])
        chance = fit.chances(row)
        assert chance[0] == pytest.approx(poor[k], abs=1.1e-3)
        assert chance[2] == pytest.approx(good[k], abs=1.1e-3)


def test_plots_rated_again_against_clmm() -> None:
    ratings, nitro, _, week, plot = colours()
    fit = fit_ordinal(ratings, np.hstack([nitro.columns, week[:, None]]), plot.codes)
    theirs = frozen("colour", "clmm")
    assert fit.log_likelihood == pytest.approx(theirs["log likelihood"].value, abs=2e-3)
    assert fit.sd_group == pytest.approx(theirs["sd plot"].value, rel=5e-3)
    assert fit.beta[0] == pytest.approx(theirs["nitro1"].value, rel=5e-3)
    assert fit.se[1] == pytest.approx(theirs["week"].se, rel=2e-2)


def test_ratings_that_never_occur_and_perfect_ones_are_refused() -> None:
    x = np.array([[0.0], [0.0], [1.0], [1.0]])
    with pytest.raises(BadInput, match="must occur"):
        fit_ordinal(np.array([0, 2, 0, 2]), x)


def test_counts_against_glm() -> None:
    held = table("insect_sprays")
    y, spray = np.array(held["count"], float), factor("spray", held["spray"])
    one = np.ones((72, 1))
    full = fit_spread(y, np.hstack([one, spray.columns]), kind="count")
    test = deviance_test(fit_spread(y, one, kind="count"), full)
    r = frozen("insect_sprays", "quasipoisson")["spray"]
    assert test.deviance == pytest.approx(r.ss, rel=1e-6)
    assert test.f == pytest.approx(r.f, rel=1e-5)
    assert full.dispersion == pytest.approx(r.value, rel=1e-5)


def test_shares_by_hand() -> None:
    # 2 of 10 and 8 of 10: the logits are -log 4 and log 4, the difference 2 log 4.
    x = np.array([[1.0, 0.0], [1.0, 1.0]])
    fit = fit_spread(np.array([2.0, 8.0]), x, kind="share", of=np.array([10.0, 10.0]))
    assert fit.beta == pytest.approx([-np.log(4), 2 * np.log(4)])
    with pytest.raises(BadInput):
        fit_spread(np.array([11.0]), np.ones((1, 1)), kind="share", of=np.array([10.0]))


def test_bermudagrass_surface_is_the_published_one() -> None:
    # Agronomy Journal 55, 1963: quadratic in N, P, K (100 lb/acre) and their product.
    held = table("bermudagrass_npk.txt")
    doses = np.stack([np.array(held[k], float) / 100 for k in "npk"], 1)
    fit = fit_surface(doses, np.array(held["yield"], float), (*quadratic(3), (1, 1, 1)))
    published = (1.943, 2.007, 1.471, 0.6188, -0.3315, -1.295, -0.3743, 0.2078, 0.1874, 0.2348,
                 0.02789)  # fmt: skip
    for ours, theirs in zip(fit.coefficients, published, strict=True):
        assert ours == pytest.approx(theirs, rel=5e-4)
    assert fit.df == 53 and fit.r2 > 0.95 and fit.p[1] < 1e-6
    assert fit.at([0.0, 0.0, 0.0]) == pytest.approx(fit.coefficients[0])


def test_a_surface_needs_doses_enough() -> None:
    with pytest.raises(BadInput, match="apart"):
        fit_surface(np.array([[0.0], [1.0]] * 4), np.ones(8), quadratic(1))


def test_ground_trend_is_found_where_it_was_put_in_and_only_there() -> None:
    rng = np.random.default_rng(4)
    row, col = (a.ravel().astype(float) for a in np.mgrid[0:8, 0:8])
    near = 0.8 ** (np.abs(row[:, None] - row) + np.abs(col[:, None] - col))
    ways = np.tile(np.eye(4)[:, 1:], (16, 1))
    x = np.hstack([np.ones((64, 1)), ways])
    smooth = np.linalg.cholesky(near + 1e-9 * np.eye(64)) @ rng.normal(size=64)
    put_in = fit_spatial(smooth, x, np.arange(1, 4), (row, col))
    assert put_in.aic < put_in.aic_plain - 10 and put_in.row_correlation > 0.5
    none = fit_spatial(rng.normal(size=64), x, np.arange(1, 4), (row, col))
    assert none.aic > none.aic_plain - 3
