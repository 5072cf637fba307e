"""Missing: the chance that a putt drops, now and on a perfectly true surface.

P = integral phi(u) [2 Phi(w(v) / sqrt(angle_sd^2 d^2 + Var y(u - d))) - 1] du: the ball would
roll u and reaches the hole at v^2 = 2 a (u - d); w is the half-width of the hole at that speed,
Var y the sideways variance of a ball with u - d left to roll on a surface of heading walk K.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.golfers.stroke import Player, Stroke, column, stroke, stroke_draws
from greenwright.golfers.telling import putts_to_tell
from greenwright.roll.constants import HOLE_RADIUS_M
from greenwright.roll.roughness import heading_walk, sideways_variance
from greenwright.roll.straight import deceleration
from greenwright.stats.central_area import central_area

Floats = NDArray[np.float64]

HOLING_DISTANCES_M: tuple[float, ...] = tuple(
    feet * 0.3048 for feet in (2, 3, 4, 5, 7, 10, 15, 20, 30)
)

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
_REACH_SDS = 6.0
_NARROW = 1e-12


@dataclass(frozen=True, slots=True)
class Holing:
    """One player from one distance.

    Args:
        chance, chance_perfect: in the middle of what is believed, now and on a true surface.
        now: Estimate of the chance now.
        lost: Estimate of what the surface takes, chance_perfect - chance.
        putts_to_tell: putts on each of the two surfaces before the player could tell; None
            where there is no difference to tell.
    """

    player: str
    distance_m: float
    chance: float
    chance_perfect: float
    now: Estimate
    lost: Estimate
    putts_to_tell: int | None


def holing_chance(
    distance_m: ArrayLike,
    *,
    green_speed_m: ArrayLike,
    player: Player | Stroke,
    heading_k: ArrayLike = 0.0,
) -> Floats | float:
    """Return the chance to hole a level putt; all arguments broadcast.

    Args:
        distance_m: ball to hole, above zero [m].
        green_speed_m: stopping distance from the ramp [m].
        player: a player, or draws of one.
        heading_k: heading random walk K of the surface [m]; 0 = perfectly true. What the
            player's own fit was made on counts as part of the player.

    Raises:
        BadInput: a distance or speed not above zero, or a negative K.

    Valid for: level putts up to about 20 m, lines read rightly on average; accurate to 1e-6.

    Source keys: players.*.
    """
    held = stroke(player) if isinstance(player, Player) else player
    d, speed, k = (np.asarray(x, dtype=float) for x in (distance_m, green_speed_m, heading_k))
    if not (np.all(d > 0) and np.all(speed > 0) and np.all(k >= 0)):
        raise BadInput(
            "a holing chance needs a distance, a green speed and a surface",
            where="holing",
            expected="distance and green speed above 0 m, K of 0 m or more",
        )
    chance = _integral(d[..., None], np.asarray(deceleration(speed))[..., None], k[..., None], held)
    return float(chance) if chance.ndim == 0 else chance


def holing_estimates(
    distances_m: Sequence[float],
    player: Player,
    *,
    speed_draws: ArrayLike,
    trueness_draws: ArrayLike,
    seed: int,
) -> tuple[Holing, ...]:
    """Return the player's chances by distance, with what is unsure of surface and player.

    Args:
        distances_m: above zero [m].
        speed_draws, trueness_draws: draws of green speed [m] and trueness index T [m] of the
            same surface, both (n,), n >= 2.
        seed: of the draws of the player.
    """
    speed, trueness = np.asarray(speed_draws, dtype=float), np.asarray(trueness_draws, dtype=float)
    held = column(stroke_draws(player, n=len(speed), rng=np.random.default_rng(seed)))
    k = np.asarray(heading_walk(trueness, speed), dtype=float)[:, None]
    d = np.asarray(distances_m, dtype=float)
    now = np.asarray(holing_chance(d, green_speed_m=speed[:, None], heading_k=k, player=held))
    true = np.asarray(holing_chance(d, green_speed_m=speed[:, None], player=held))
    return tuple(
        _holing(player.name, distance, now[:, i], true[:, i])
        for i, distance in enumerate(d.tolist())
    )


def _holing(name: str, distance: float, now: Floats, true: Floats) -> Holing:
    chance, perfect = float(now.mean()), float(true.mean())
    return Holing(
        name,
        distance,
        chance,
        perfect,
        draws_estimate(now.tolist(), "1"),
        draws_estimate((true - now).tolist(), "1"),
        putts_to_tell(perfect, chance),
    )


def _integral(d: Floats, a: Floats, k: Floats, held: Stroke) -> Floats:
    """Sum over the roll that reaches the hole, in t = sqrt(1 - v / limit): w is linear in t."""
    angle, relative, past, limit = (
        np.asarray(x, dtype=float)[..., None]
        for x in (held.angle_sd, held.distance_sd, held.overshoot_m, held.capture_speed)
    )
    aimed = d + past
    sd = relative * aimed
    fastest = _at_hole(aimed + _REACH_SDS * sd - d, a, limit)
    slowest = _at_hole(aimed - _REACH_SDS * sd - d, a, limit)
    t_low, t_high = np.sqrt(1 - fastest / limit), np.sqrt(1 - slowest / limit)
    half = (t_high - t_low) / 2
    t = t_low + half * (1 + _NODES)
    v = limit * (1 - t * t)
    left = v * v / (2 * a)
    density = np.exp(-(((d + left - aimed) / sd) ** 2) / 2) / (sd * np.sqrt(2 * np.pi))
    spread = np.sqrt((angle * d) ** 2 + sideways_variance(k, d + left, left))
    held_share = central_area(HOLE_RADIUS_M * t / np.maximum(spread, _NARROW))
    return np.asarray((half * density * held_share * 2 * limit * t * v / a) @ _WEIGHTS)


def _at_hole(left: Floats, a: Floats, limit: Floats) -> Floats:
    return np.minimum(np.sqrt(2 * a * np.maximum(left, 0.0)), limit)
