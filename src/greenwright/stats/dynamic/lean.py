"""A fit without what only climbing needs: half the memory, for fits that are held for answers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from greenwright.stats.dynamic.evidence import Conditioned
from greenwright.stats.dynamic.fitting import DynamicFit
from greenwright.stats.dynamic.periods import Period
from greenwright.stats.dynamic.wander import Bridge

_NOTHING = np.zeros((0, 0, 0))
_NO_BRIDGE = Bridge(_NOTHING, _NOTHING, _NOTHING, _NOTHING)


def lean(fit: DynamicFit) -> DynamicFit:
    """Return the fit without the slopes of its covariances; every belief stays as it is.

    A refit that starts from it works out all periods anew.
    """
    return replace(fit, at=tuple(_lean(at) for at in fit.at))


def _lean(at: Conditioned) -> Conditioned:
    return replace(
        at,
        columns=replace(at.columns, slopes={}),
        periods=tuple(_without_bridge(one) for one in at.periods),
    )


def _without_bridge(period: Period) -> Period:
    return replace(period, chunks=tuple(replace(c, bridge=_NO_BRIDGE) for c in period.chunks))
