"""What not knowing the weather or the work ahead adds to a forecast."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from greenwright.respond.beliefs import Floats
from greenwright.respond.coming import Other
from greenwright.stats.dynamic import DynamicFit, DynamicModel
from greenwright.stats.dynamic.evidence import Conditioned
from greenwright.stats.dynamic.kernels import responded, worth
from greenwright.stats.dynamic.model import Ints, Term


def varied(
    fit: DynamicFit, plan: DynamicModel, others: Sequence[Other], *, units: Ints, days: int
) -> tuple[Floats, Floats]:
    """Return what other weathers and works that may come add to the plan's levels.

    Args:
        fit: what was learned.
        plan: the fitted model with the days ahead as planned, the last ones of its calendar.
        others: ways in which they may come instead, each as likely; none = the plan is sure.
        units: which are looked at.
        days: how many.

    Returns:
        (m, days, units) added to the means, (m, days, units, units) to the covariances. With few
        ways their spread is raised to that of a further one, whose mean is not known either.
    """
    count = len(units)
    means = np.zeros((len(fit.at), days, count))
    covs = np.zeros((len(fit.at), days, count, count))
    if not others:
        return means, covs
    acting = np.array([_acted(one, plan, units, days) for one in others])
    slopes = slice(1, 1 + acting.shape[1])
    more = (others[0].once + 1) / max(others[0].once - 1, 1)
    for i, at in enumerate(fit.at):
        worked = np.zeros((len(others), days, count))
        for k, one in enumerate(others):
            worked[k] = _worked(fit, at, plan, one, units=units)
        moved = np.einsum("c,kcdu->kdu", at.mean[slopes], acting) + worked
        means[i] = moved.mean(axis=0)
        apart = moved - means[i]
        covs[i] = more * np.einsum("kdu,kdv->duv", apart, apart) / len(others)
        # The slopes' own doubt counts too, as far as the weather departs from the plan's.
        doubt = np.einsum("kcdu,ce->kedu", acting, at.cov[slopes, slopes])
        covs[i] += np.einsum("kedu,kedv->duv", doubt, acting) / len(others)
    return means, covs


def _acted(one: Other, plan: DynamicModel, units: Ints, days: int) -> Floats:
    """Return (covariates, days, units): covariates of the days ahead less the plan's."""
    shape = (plan.units, plan.days)
    made = [
        np.broadcast_to(one.acting[c.name], (plan.units, days))[units]
        - np.broadcast_to(c.values, shape)[units, -days:]
        for c in plan.covariates
    ]
    return np.array(made).reshape(len(made), len(units), days).transpose(0, 2, 1)


def _worked(
    fit: DynamicFit, at: Conditioned, plan: DynamicModel, one: Other, *, units: Ints
) -> Floats:
    """Return (days, units) what other work adds to the plan's, at one point of the fit."""
    border, apart = fit.layout.border, fit.layout.model.apart
    total: Floats = np.zeros((1, 1))
    for k, term in enumerate(plan.terms):
        more = one.more.get(term.name)
        if more is None or not more.any():
            continue
        effect = np.full(len(units), at.mean[border.terms + k])
        if k in apart:
            effect = effect + at.mean[border.own(units)[:, 1 + apart.index(k)]]
        planned = term.dose[:, -more.shape[1] :]
        gone = _dose(term, planned + more, at) - _dose(term, planned, at)
        total = total + effect * responded(term.kernel, gone, at.hyper)[0][units].T
    return total


def _dose(term: Term, dose: Floats, at: Conditioned) -> Floats:
    return dose if term.again is None else worth(dose, at.hyper[term.again])[0]
