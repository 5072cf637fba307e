"""A player as numbers: errors of direction and distance, and how unsure we are of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.stats.draws import normal_draws

Floats = NDArray[np.float64]

NO_SPREAD: tuple[tuple[float, ...], ...] = ((0.0,) * 3,) * 3


@dataclass(frozen=True, slots=True)
class Player:
    """One player, or a class of players, on a level putt.

    The ball would roll a distance u ~ N(d + overshoot, (distance_sd (d + overshoot))^2) along a
    line off by N(0, angle_sd^2), where d is the distance to the hole.

    Args:
        name: tour | 90 | the player's own.
        angle_sd: sd of the direction [rad].
        distance_sd: sd of the distance, relative to the distance aimed.
        overshoot_m: distance aimed past the hole [m].
        capture_speed: fastest speed at which the middle of the hole holds the ball, as used
            when the player was fitted [m/s]; not the 1.63 m/s of the capture table.
        green_speed_m: green speed assumed by the fit [m].
        spread: covariance of (log angle_sd, log distance_sd, overshoot_m).
        n_putts: putts that the fit rests on; 0 for a class out of the evidence table.
    """

    name: str
    angle_sd: float
    distance_sd: float
    overshoot_m: float
    capture_speed: float
    green_speed_m: float
    spread: tuple[tuple[float, ...], ...] = NO_SPREAD
    n_putts: int = 0

    def __post_init__(self) -> None:
        if not (self.angle_sd >= 0 and self.distance_sd > 0 and self.capture_speed > 0):
            raise BadInput(
                f"player {self.name!r} has errors that cannot be",
                where="players",
                expected="angle_sd >= 0 rad, distance_sd > 0, capture_speed > 0 m/s",
            )


@dataclass(frozen=True, slots=True)
class Stroke:
    """The same four numbers, as arrays that broadcast together: draws of an unsure player."""

    angle_sd: Floats
    distance_sd: Floats
    overshoot_m: Floats
    capture_speed: Floats


def stroke(player: Player) -> Stroke:
    """Return the player's middle numbers."""
    numbers = (player.angle_sd, player.distance_sd, player.overshoot_m, player.capture_speed)
    return Stroke(*(np.asarray(number, dtype=float) for number in numbers))


def stroke_draws(player: Player, *, n: int, rng: np.random.Generator) -> Stroke:
    """Return n draws of the player's numbers, each (n,)."""
    shift = normal_draws(np.zeros(3), np.array(player.spread), n=n, rng=rng)
    return Stroke(
        player.angle_sd * np.exp(shift[:, 0]),
        player.distance_sd * np.exp(shift[:, 1]),
        np.maximum(player.overshoot_m + shift[:, 2], 0.0),
        np.full(n, player.capture_speed),
    )


def column(held: Stroke) -> Stroke:
    """Return draws (n,) as a column (n, 1), to go with distances along the other axis."""
    return Stroke(
        held.angle_sd[:, None],
        held.distance_sd[:, None],
        held.overshoot_m[:, None],
        held.capture_speed[:, None],
    )
