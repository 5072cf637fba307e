"""A linear special case against statsmodels' MixedLM: the same numbers by another road.

With flat priors and the processes pinned near zero the engine's evidence is the restricted
likelihood (REML) of a linear mixed model: fixed effects integrated out under a flat prior.
Every expected number here comes from statsmodels.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import statsmodels.formula.api as smf

from greenwright.stats.dynamic import (
    Covariate,
    DynamicFit,
    DynamicModel,
    Held,
    Readings,
    Term,
    effects,
    fit_dynamic,
    readings,
)
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.hyper import HyperPrior

UNITS, DAYS = 15, 40
PINNED, FREE, FLAT = HyperPrior(1e-5, 1e-3), HyperPrior(0.2, 30.0), 1e4
SEEDS = (1, 2, 3)


@dataclass(frozen=True)
class Both:
    """One record fitted by the engine and by statsmodels."""

    fit: DynamicFit
    slopes: bool
    peer: object


def record(seed: int, *, slopes: bool) -> tuple[np.ndarray, np.ndarray, pd.DataFrame]:
    """Unbalanced: about half the days read; slope of x by unit, w shared by all units."""
    rng = np.random.default_rng([seed, 7])
    x, w = rng.standard_normal((UNITS, DAYS)), rng.standard_normal((1, DAYS))
    unit, day = np.nonzero(rng.random((UNITS, DAYS)) < 0.5)
    slope = 0.4 + (0.25 if slopes else 0.0) * rng.standard_normal(UNITS)
    level = 3.0 + 0.3 * rng.standard_normal(UNITS)
    noise = 0.2 * rng.standard_normal(len(unit))
    y = level[unit] + slope[unit] * x[unit, day] - 0.15 * w[0, day] + noise
    frame = pd.DataFrame({"y": y, "x": x[unit, day], "w": w[0, day], "unit": unit, "day": day})
    return x, w, frame


def model_of(x: np.ndarray, w: np.ndarray, *, slopes: bool) -> DynamicModel:
    scales = dict.fromkeys(("set_sd", "day_sd", "own_sd"), PINNED)
    scales |= {"noise_sd": FREE, "unit_sd": FREE}
    scales |= {name: HyperPrior(3.0, 1e-3) for name in ("day_time", "own_time")}
    apart = FREE if slopes else None
    return DynamicModel(
        UNITS,
        DAYS,
        0.0,
        FLAT,
        scales,
        terms=(Term("x", "x", x, Held(), 0.0, FLAT, apart),),
        covariates=(Covariate("w", w, 0.0, FLAT),),
    )


def rows_of(frame: pd.DataFrame) -> Readings:
    return readings(frame["y"], frame["unit"], frame["day"])


def peer_of(frame: pd.DataFrame, *, slopes: bool) -> object:
    made = smf.mixedlm(
        "y ~ w + x",
        frame,
        groups="unit",
        re_formula="1",
        vc_formula={"slope": "0 + x"} if slopes else None,
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return made.fit(reml=True, method=["bfgs", "lbfgs"], gtol=1e-10)


@pytest.fixture(
    scope="module",
    params=[(seed, slopes) for seed in SEEDS for slopes in (False, True)],
    ids=lambda p: f"{p[0]}-{'slopes' if p[1] else 'levels'}",
)
def both(request: pytest.FixtureRequest) -> Both:
    seed, slopes = request.param
    x, w, frame = record(seed, slopes=slopes)
    model = model_of(x, w, slopes=slopes)
    rng = np.random.default_rng(0)
    fit = fit_dynamic(model, rows_of(frame), rng=rng, pairs=0, gain=1e-14)
    return Both(fit, slopes, peer_of(frame, slopes=slopes))


def test_fixed_effects_are_the_same(both: Both) -> None:
    at = both.fit.at[0]
    border = both.fit.layout.border
    ours = [at.mean[0], at.mean[1], at.mean[border.terms]]
    theirs = both.peer.fe_params[["Intercept", "w", "x"]].to_numpy()
    assert np.abs(np.array(ours) - theirs).max() < 1e-4


def test_standard_errors_are_the_same(both: Both) -> None:
    """Theirs come from the observed curvature of all parameters at once: equal to about 5e-6."""
    at = both.fit.at[0]
    border = both.fit.layout.border
    ours = np.sqrt(np.diagonal(at.cov))[[0, 1, border.terms]]
    theirs = both.peer.bse_fe[["Intercept", "w", "x"]].to_numpy()
    assert np.abs(ours - theirs).max() < 2e-5


def test_variance_components_are_the_same(both: Both) -> None:
    hyper = both.fit.hyper
    theirs = {
        "noise_sd": np.sqrt(both.peer.scale),
        "unit_sd": np.sqrt(both.peer.cov_re.iloc[0, 0]),
    }
    if both.slopes:
        theirs["apart:x"] = np.sqrt(both.peer.vcomp[0])
    for name, value in theirs.items():
        assert hyper[name] == pytest.approx(float(value), abs=1e-4), name


def test_units_own_parts_are_the_same(both: Both) -> None:
    """Predicted random effects: what is believed of each unit's level and slope."""
    border, at = both.fit.layout.border, both.fit.at[0]
    own = border.own(np.arange(UNITS))
    levels = [both.peer.random_effects[unit]["unit"] for unit in range(UNITS)]
    assert np.abs(at.mean[own[:, 0]] - levels).max() < 2e-4
    if both.slopes:
        slopes = [both.peer.random_effects[unit]["slope[x]"] for unit in range(UNITS)]
        assert np.abs(at.mean[own[:, 1]] - slopes).max() < 2e-4
        assert effects(both.fit).unit_mean[0] == pytest.approx(
            both.peer.fe_params["x"] + np.array(slopes), abs=2e-4
        )


def test_the_restricted_likelihood_falls_alike_away_from_the_top() -> None:
    """Differences of it between scales, at which constants and flat priors drop out."""
    x, w, frame = record(5, slopes=False)
    layout = lay_out(model_of(x, w, slopes=False), rows_of(frame))
    peer = smf.mixedlm("y ~ w + x", frame, groups="unit")
    pinned = {"set_sd": 1e-7, "day_sd": 1e-7, "own_sd": 1e-7, "day_time": 3.0, "own_time": 3.0}
    ours, theirs = [], []
    for ratio in (0.5, 1.0, 3.0):
        params = peer.fit(reml=True).params_object.copy()
        params.cov_re = np.array([[ratio]])
        params.fe_params = peer.get_fe_params(params.cov_re, params.vcomp)[0]
        theirs.append(peer.loglike(params, profile_fe=True))
        noise = np.sqrt(peer.get_scale(params.fe_params, params.cov_re, params.vcomp))
        hyper = pinned | {"noise_sd": noise, "unit_sd": noise * np.sqrt(ratio)}
        ours.append(condition(layout, hyper).log_likelihood)
    assert np.diff(ours) == pytest.approx(np.diff(theirs), abs=1e-4)


def test_a_wrong_likelihood_would_be_seen(both: Both) -> None:
    """Full likelihood, not restricted, gives another unit sd: far outside the tolerance."""
    full = both.peer.model.fit(reml=False)
    assert abs(np.sqrt(full.cov_re.iloc[0, 0]) - both.fit.hyper["unit_sd"]) > 1e-3
