"""What was said to change against what changed."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from greenwright.verify.references import Ints
from greenwright.verify.scores import Floats
from greenwright.verify.scoring import NOTHING, Judged, Told, told_about

FEWEST = 3
"""Days of asking without which no slope is told."""


@dataclass(frozen=True, slots=True)
class Changes:
    """Changes of a green between two of its readings under one forecast.

    Args:
        predicted, realised: (n,) of the means forecast, and of the readings [unit].
        predicted_sd, realised_sd: what the forecast held possible about its own change, by chance
            of reading and surface together; of the realised one nothing more is known [unit].
        made_on, day, green: of the later reading.
    """

    predicted: Floats
    realised: Floats
    predicted_sd: Floats
    made_on: Ints
    day: Ints
    green: Ints


def changes(judged: Judged) -> Changes:
    """Return each green's change from its first reading under a forecast to the later ones.

    Both ends are forecast on one day from the same knowledge, so that a sound forecast's
    predicted change is the mean of what comes: realised = predicted + chance.
    """
    order = np.lexsort((judged.day, judged.green, judged.made_on))
    firsts: dict[tuple[int, int], int] = {}
    pairs = []
    for k in order:
        first = firsts.setdefault((int(judged.made_on[k]), int(judged.green[k])), int(k))
        if judged.day[k] > judged.day[first]:
            pairs.append((first, int(k)))
    one, two = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    centre = judged.mean
    return Changes(
        predicted=centre[two] - centre[one],
        realised=judged.value[two] - judged.value[one],
        predicted_sd=np.hypot(judged.sd[one], judged.sd[two]),
        made_on=judged.made_on[two],
        day=judged.day[two],
        green=judged.green[two],
    )


def gain_slope(found: Changes) -> Told:
    """Return the slope of realised on predicted changes; 1 where they come as forecast.

    Least squares with an intercept. The predicted change is known exactly: it is what was said.
    Its error lies between it and the truth and is independent of it (Berkson's case), which
    widens the scatter and leaves the slope as it is; a correction for a predictor measured with
    noise would raise the slope without a reason. Forecasts that promise too much show a slope
    under 1, too little over 1. The interval counts days of asking, not readings.

    Args:
        found: changes under several forecasts.
    """
    days = len(np.unique(found.made_on))
    if days < FEWEST:
        return NOTHING
    x = found.predicted - found.predicted.mean()
    size = float(x @ x)
    if size <= 0:
        return NOTHING
    slope = float(x @ found.realised) / size
    residual = found.realised - found.realised.mean() - slope * x
    sums = np.bincount(np.unique(found.made_on, return_inverse=True)[1], weights=x * residual)
    se = sqrt(days / (days - 1) * float(sums @ sums)) / size
    return told_about(slope, se, len(x), found.made_on)
