"""How far a forecast was off: the continuous ranked probability score, in closed form."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Floats = NDArray[np.float64]

_ROOT_PI = np.sqrt(np.pi)


def crps_normal(value: Floats, mean: Floats, sd: Floats) -> Floats:
    """Return the score of normal forecasts; smaller is better, 0 a sure and true one.

    With z = (value - mean) / sd: sd (z (2 Phi(z) - 1) + 2 phi(z) - 1 / sqrt(pi)). Of a whole
    distribution nothing is drawn, so the score is fair as it is: it needs no correction for a
    number of draws ("Strictly Proper Scoring Rules, Prediction, and Estimation", Journal of the
    American Statistical Association 102, 2007, doi 10.1198/016214506000001437).

    Args:
        value: what came [unit].
        mean, sd: of the forecasts [unit], sd > 0.

    >>> float(crps_normal(0.0, 0.0, 1.0).round(4))
    0.2337
    """
    z = (np.asarray(value) - mean) / sd
    density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
    return sd * (z * (2 * ndtr(z) - 1) + 2 * density - 1 / _ROOT_PI)


def crps_log_normal(value: Floats, mean: Floats, sd: Floats) -> Floats:
    """Return the score of log-normal forecasts, in the unit of exp(value).

    With w = (value - mean) / sd, of logs: y (2 Phi(w) - 1) - 2 exp(mean + sd^2 / 2)
    (Phi(w - sd) + Phi(sd / sqrt(2)) - 1), y = exp(value) ("Log-normal distribution based
    ensemble model output statistics models for probabilistic wind-speed forecasting", Quarterly
    Journal of the Royal Meteorological Society 141, 2015, doi 10.1002/qj.2521).

    Args:
        value: log of what came.
        mean, sd: of the logs, sd > 0.
    """
    w, came = (np.asarray(value) - mean) / sd, np.exp(value)
    centre = np.exp(np.asarray(mean) + np.asarray(sd) ** 2 / 2)
    return came * (2 * ndtr(w) - 1) - 2 * centre * (ndtr(w - sd) + ndtr(sd / np.sqrt(2)) - 1)


def crps(value: Floats, mean: Floats, sd: Floats, *, log: bool) -> Floats:
    """Return the score of forecasts that are normal, of the log where `log`."""
    return (crps_log_normal if log else crps_normal)(value, mean, sd)
