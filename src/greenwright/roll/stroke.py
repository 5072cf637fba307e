"""A stroke at a hole: where from, how hard, and how well the player repeats it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.capture import CENTRE_LIMIT_M_S
from greenwright.roll.chance import normal
from greenwright.roll.constants import PULL_M_S2
from greenwright.roll.terrain import Terrain

Floats = NDArray[np.float64]
LEAST = 0.05
"""Least share of its usual size that chance leaves of a stroke, a resistance or a rim."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What the player means to do, and how widely the strokes scatter.

    Args:
        start, hole: places (x, y) on the terrain [m].
        launch_speed: of pure rolling [m/s].
        heading_rad: direction, counter-clockwise from +x.
        angle_sd: sd of the direction [rad].
        distance_sd: relative sd of the distance.
        capture_limit: fastest ball that the hole's centre catches [m/s].

    Raises:
        BadInput: start on the hole, a speed or limit not above zero, a negative sd, or what is
            no finite number.
    """

    start: tuple[float, float]
    hole: tuple[float, float]
    launch_speed: float
    heading_rad: float
    angle_sd: float = 0.0
    distance_sd: float = 0.0
    capture_limit: float = CENTRE_LIMIT_M_S

    def __post_init__(self) -> None:
        scatter = (self.angle_sd, self.distance_sd)
        given = (*self.start, *self.hole, self.launch_speed, self.heading_rad, *scatter)
        if not np.all(np.isfinite(given)):
            raise BadInput("an aim is told in finite numbers", where="aim", expected="m, m/s, rad")
        if not (self.launch_speed > 0 and self.capture_limit > 0):
            raise BadInput("speeds must be above zero", where="aim", expected="m/s above zero")
        if min(scatter) < 0:
            raise BadInput("a scatter cannot be below zero", where="aim")
        if self.distance_m == 0:
            raise BadInput("the ball lies on the hole already", where="aim")

    @property
    def distance_m(self) -> float:
        """Return the straight distance from ball to hole [m]."""
        return float(np.hypot(self.hole[0] - self.start[0], self.hole[1] - self.start[1]))


@dataclass(frozen=True, slots=True)
class Launched:
    """Each ball as it starts: (n,) speed squared [m2/s2], heading [rad], and its own factors.

    `resistance` multiplies the green's, `limit` the hole's catching speed.
    """

    energy: Floats
    heading: Floats
    resistance: Floats
    limit: Floats


def launched(terrain: Terrain, aim: Aim, *, n: int, seed: int) -> Launched:
    """Return n balls struck with the player's scatter and the green's.

    One ball's resistance differs from the next by one factor for the whole roll, of such a
    size that equal balls on the level roll L on average with variance c L.

    Raises:
        BadInput: fewer than one ball.
    """
    if n < 1:
        raise BadInput("roll at least one ball", where="putts")
    balls = np.arange(n)
    length = 1 + aim.distance_sd * normal(seed, balls, "distance")
    energy = aim.launch_speed**2 * np.maximum(length, LEAST)
    slowing = PULL_M_S2 * float(terrain.resistance(*aim.start))
    way = energy / (2 * slowing)
    uneven = np.sqrt(terrain.distance_noise_m / way) * normal(seed, balls, "resistance")
    return Launched(
        energy=energy,
        heading=aim.heading_rad + aim.angle_sd * normal(seed, balls, "angle"),
        resistance=1 / np.maximum(1 + uneven, LEAST),
        limit=np.maximum(1 + terrain.rim_spread * normal(seed, balls, "rim"), LEAST),
    )
