"""Tables of made putts, and the models that were published for them, fitted again here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.golfers.holing import holing_chance
from greenwright.golfers.stroke import Stroke
from greenwright.roll.constants import BALL_RADIUS_M, HOLE_RADIUS_M
from greenwright.stats.central_area import area_below, central_area
from greenwright.stats.summit import Summit, summit

Floats = NDArray[np.float64]
Chances = Callable[[Floats], Floats]

_FEW = 1e-12


@dataclass(frozen=True, slots=True)
class PuttTable:
    """Putts tried and made by distance, each (n,).

    Args:
        distance_m: above zero [m].
        tried, made: counts, 0 <= made <= tried, tried above zero.
    """

    distance_m: Floats
    tried: Floats
    made: Floats

    def __post_init__(self) -> None:
        fair = np.all((self.made >= 0) & (self.made <= self.tried) & (self.tried > 0))
        if not (fair and np.all(self.distance_m > 0) and len(self.made) == len(self.distance_m)):
            raise BadInput(
                "a table of putts does not add up",
                where="putts",
                expected="0 <= made <= tried at distances above zero",
            )


@dataclass(frozen=True, slots=True)
class Fit:
    """Fitted numbers by name, their standard deviations, and the chances they give (n,)."""

    numbers: dict[str, float]
    sds: dict[str, float]
    chances: Floats


def fit_logistic(table: PuttTable) -> Fit:
    """Return logit p = intercept + slope x distance [1/m], by maximum likelihood."""

    def chances(point: Floats) -> Floats:
        return 1 / (1 + np.exp(-(point[0] + point[1] * table.distance_m)))

    found = summit(
        lambda p: binomial_height(table, chances(p)), np.array([2.0, -1.0]), np.array([1.0, 0.5])
    )
    return _fit(("intercept", "slope"), found, chances)


def fit_one_angle(table: PuttTable) -> Fit:
    """Return the direction sd [rad] of p = 2 Phi(asin((R - r) / x) / sd) - 1, by likelihood.

    Source keys: players.one_angle.sd.
    """

    def chances(point: Floats) -> Floats:
        return _angle_share(table, np.exp(point[0]))

    found = summit(lambda p: binomial_height(table, chances(p)), np.log([0.03]), np.array([0.5]))
    return _natural(("angle_sd",), found, chances)


def fit_angle_distance(table: PuttTable) -> Fit:
    """Return direction sd [rad], relative distance sd and extra sd of the made share.

    p = angle share x [Phi((limit - past) / ((x + past) sd)) - Phi(-past / ((x + past) sd))];
    made / tried ~ N(p, p (1 - p) / tried + extra^2); flat priors on positive numbers.

    Source keys: players.angle_distance.*.
    """
    past, limit = (value(f"players.angle_distance.{k}") for k in ("overshoot", "past_limit"))

    def chances(point: Floats) -> Floats:
        spread = (table.distance_m + past) * np.exp(point[1])
        along = area_below((limit - past) / spread) - area_below(-past / spread)
        return _angle_share(table, np.exp(point[0])) * along

    found = summit(
        lambda p: normal_height(table, chances(p), float(np.exp(p[2]))),
        np.log([0.02, 0.1, 0.004]),
        np.array([0.2, 0.2, 0.3]),
    )
    return _natural(("angle_sd", "distance_sd", "extra_sd"), found, chances)


def fit_physical(
    table: PuttTable, *, green_speed_m: float, distance_sd: float, by_counts: bool = False
) -> Fit:
    """Return direction sd [rad], overshoot [m] and capture speed [m/s] of the holing integral.

    Least squares on made / tried, weighted by p (1 - p) / tried + extra^2.

    Args:
        green_speed_m: assumed for all putts of the table [m].
        distance_sd: relative, held at this value since the three trade off with it.
        by_counts: maximise the binomial likelihood instead; in a table of many thousands the
            short putts then decide alone.

    Source keys: players.tour.*.
    """
    extra = value("players.tour.extra_sd")

    def chances(point: Floats) -> Floats:
        angle, past, limit = np.exp(point)
        held = Stroke(angle, np.asarray(distance_sd), past, limit)
        return np.asarray(holing_chance(table.distance_m, green_speed_m=green_speed_m, player=held))

    def height(point: Floats) -> float:
        p = chances(point)
        return binomial_height(table, p) if by_counts else -_squares(table, p, extra) / 2

    found = summit(height, np.log([0.02, 0.4, 1.4]), np.array([0.1, 0.2, 0.1]))
    return _natural(("angle_sd", "overshoot_m", "capture_speed"), found, chances)


def binomial_height(table: PuttTable, chances: Floats) -> float:
    """Return the log likelihood of the counts, up to a constant."""
    p = np.clip(chances, _FEW, 1 - _FEW)
    return float(table.made @ np.log(p) + (table.tried - table.made) @ np.log1p(-p))


def normal_height(table: PuttTable, chances: Floats, extra_sd: float) -> float:
    """Return the log likelihood of the shares with an extra sd beside the binomial."""
    logs = float(np.log(_variance(table, chances, extra_sd)).sum())
    return -(_squares(table, chances, extra_sd) + logs) / 2


def _squares(table: PuttTable, chances: Floats, extra_sd: float) -> float:
    off = table.made / table.tried - chances
    return float((off**2 / _variance(table, chances, extra_sd)).sum())


def _variance(table: PuttTable, chances: Floats, extra_sd: float) -> Floats:
    return np.asarray(
        np.clip(chances * (1 - chances), _FEW, None) / table.tried + extra_sd**2, dtype=float
    )


def _angle_share(table: PuttTable, angle_sd: float) -> Floats:
    room = np.minimum((HOLE_RADIUS_M - BALL_RADIUS_M) / table.distance_m, 1.0)
    return central_area(np.arcsin(room) / angle_sd)


def _fit(names: tuple[str, ...], found: Summit, chances: Chances) -> Fit:
    sds = np.sqrt(np.diag(found.cov)).tolist()
    point = dict(zip(names, found.point.tolist(), strict=True))
    return Fit(point, dict(zip(names, sds, strict=True)), chances(found.point))


def _natural(names: tuple[str, ...], found: Summit, chances: Chances) -> Fit:
    """Return the fit of logarithms as the numbers themselves."""
    numbers = np.exp(found.point)
    sds = numbers * np.sqrt(np.diag(found.cov))
    return Fit(
        dict(zip(names, numbers.tolist(), strict=True)),
        dict(zip(names, sds.tolist(), strict=True)),
        chances(found.point),
    )
