"""What some of an effect's doses tell by themselves, such as those that fell by toss."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from greenwright.stats.dynamic.effects import effects
from greenwright.stats.dynamic.evidence import condition
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.layout import lay_out
from greenwright.stats.dynamic.model import DynamicModel, Floats
from greenwright.stats.dynamic.separating import Separation, against, felt_doses, verdict_of
from greenwright.stats.pooling import one_blas_thread

_WIDE = 10.0


def alone(
    fit: DynamicFit,
    term: str,
    dose: Floats,
    *,
    coin_flips: float = float("nan"),
    rest: str | None = None,
    reach: int = 2,
) -> Separation:
    """Return what some doses of a term tell of its effect, whatever its other doses seem to say.

    The others get a term of their own, so wide that they say nothing of the effect.

    Args:
        fit: of the readings.
        term: its name.
        dose: (units, days) those of its doses that are to tell.
        coin_flips: what the decisions behind them are worth in tosses; nan = does not matter.
        rest: the term that takes the others up already; None = there is none.
        reach: days after a dose on which a reading still feels it.

    At the best hyper-parameters alone.
    """
    share = _split_share(fit, term, dose) if rest is None else _share(fit, term)
    shown = replace(fit, layout=replace(fit.layout, model=_dosed(fit, term, dose)))
    doses = felt_doses(shown, term, reach=reach)
    reasons = against(doses=doses, share=share, coin_flips=coin_flips)
    return Separation(verdict_of(reasons), reasons, doses, coin_flips, share, float("nan"))


def _share(fit: DynamicFit, term: str) -> float:
    found = effects(fit)
    return float(found.share_local[found.names.index(term)])


def _split_share(fit: DynamicFit, term: str, dose: Floats) -> float:
    model = fit.layout.model
    place = [t.name for t in model.terms].index(term)
    old = model.terms[place]
    others = replace(
        old, name=f"{term}.rest", dose=old.dose - dose, mean=0.0, sd=_WIDE * old.sd, apart=None
    )
    with one_blas_thread():
        layout = lay_out(replace(model, terms=(*model.terms, others)), fit.layout.rows)
        at = condition(layout, fit.hyper)
    seat = layout.border.terms + place
    return float(np.clip(1 - at.cov[seat, seat] / old.sd**2, 0, 1))


def _dosed(fit: DynamicFit, term: str, dose: Floats) -> DynamicModel:
    model = fit.layout.model
    return replace(
        model,
        terms=tuple(replace(t, dose=dose) if t.name == term else t for t in model.terms),
    )
