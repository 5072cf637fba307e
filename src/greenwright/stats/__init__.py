"""Models and intervals with no turf word in them."""

from greenwright.stats.binomial import LogitBelief, logit_belief
from greenwright.stats.crediting import credited, surprises
from greenwright.stats.draws import normal_draws
from greenwright.stats.hyper import HyperPrior, PoolingPrior
from greenwright.stats.layout import Observations
from greenwright.stats.marginal import HYPERS
from greenwright.stats.normal import normal_area, normal_quantile
from greenwright.stats.pooling import (
    PooledFit,
    PooledPosterior,
    fit_pooled,
    one_blas_thread,
    posterior,
)
from greenwright.stats.sites import Sites, fit_sited
from greenwright.stats.truncated import (
    chance_within,
    piled_chance,
    piled_estimate,
    truncated_estimate,
)

__all__ = [
    "HYPERS",
    "HyperPrior",
    "LogitBelief",
    "Observations",
    "PooledFit",
    "PooledPosterior",
    "PoolingPrior",
    "Sites",
    "chance_within",
    "credited",
    "fit_pooled",
    "fit_sited",
    "logit_belief",
    "normal_area",
    "normal_draws",
    "normal_quantile",
    "one_blas_thread",
    "piled_chance",
    "piled_estimate",
    "posterior",
    "surprises",
    "truncated_estimate",
]
