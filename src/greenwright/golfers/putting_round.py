"""Putts in 18 holes: first putts, what they leave, and the next, now and on a true surface.

Expected putts from a distance d: E(d) = 1 + sum over what a miss leaves of chance x E(leave).
A miss stops short of the hole, runs by beside it, or over it; it leaves the distance along the
line and the sideways error at rest. Solved on a grid of distances by repetition.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.evidence import look_up, value
from greenwright.golfers.holing import holing_chance
from greenwright.golfers.players import PLAYERS
from greenwright.golfers.stroke import Player, Stroke, column, stroke_draws
from greenwright.golfers.telling import rounds_to_tell
from greenwright.roll.constants import HOLE_RADIUS_M
from greenwright.roll.roughness import heading_walk, sideways_variance
from greenwright.roll.straight import deceleration
from greenwright.stats.central_area import central_area
from greenwright.stats.normal import normal_quantile

Floats = NDArray[np.float64]

GREENS = 18
MOST_DRAWS = 100

_GRID = np.geomspace(0.05, 40.0, 36)
_LOG_STEP = float(np.log(_GRID[1] / _GRID[0]))
_ALONG, _ALONG_WEIGHTS = np.polynomial.legendre.leggauss(20)
_ASIDE, _ASIDE_WEIGHTS = np.polynomial.legendre.leggauss(5)
_SDS_ALONG, _SDS_ASIDE = 3.5, 6.0
_STARTS = normal_quantile((np.arange(20) + 0.5) / 20)
_REPEATS = 5
_NEVER = 1e-9


@dataclass(frozen=True, slots=True)
class PuttsPerRound:
    """Putts of one player on 18 greens.

    Args:
        now, perfect: Estimates of the mean on this surface, and on a perfectly true one of the
            same speed [putts].
        extra: Estimate of now - perfect [putts].
        round_sd: sd of one round about its mean [putts].
        rounds_to_tell: rounds on each surface before the player could tell; None without a
            difference.
    """

    player: str
    now: Estimate
    perfect: Estimate
    extra: Estimate
    round_sd: float
    rounds_to_tell: int | None


def putts_per_round(
    player: Player, *, speed_draws: ArrayLike, trueness_draws: ArrayLike, seed: int
) -> PuttsPerRound:
    """Return the putts of 18 greens now and on a true surface, with their intervals.

    Args:
        player: tour and 90 bring their own first putts; others take the 90-shooter's.
        speed_draws, trueness_draws: draws of green speed [m] and trueness index T [m] of the
            same surface, both (n,), n >= 2; at most MOST_DRAWS of them are used.
        seed: of the draws of player and first putts.

    Raises:
        BadInput: draws that do not match.

    Valid for: level greens; where first putts start is remembered or elicited, and matters to
    the total more than to the difference.

    Source keys: players.*.first_putt, players.*.first_putt_spread.
    """
    speed, trueness = _thinned(speed_draws), _thinned(trueness_draws)
    if speed.shape != trueness.shape or len(speed) < 2:
        raise BadInput("putts per round need as many draws of speed as of trueness, 2 or more")
    rng = np.random.default_rng(seed)
    held = stroke_draws(player, n=len(speed), rng=rng)
    starts = _first_putts(player.name, len(speed), rng)
    k = np.asarray(heading_walk(trueness, speed), dtype=float)
    now, one_putts = _mean_putts(held, speed, k, starts)
    true, _ = _mean_putts(held, speed, np.zeros_like(k), starts)
    sd = _round_sd(float(now.mean()), float(one_putts.mean()))
    rows = [GREENS * now, GREENS * true, GREENS * (now - true)]
    estimates = [draws_estimate(row.tolist(), "1") for row in rows]
    return PuttsPerRound(player.name, *estimates, sd, rounds_to_tell(estimates[2].value, sd))


def expected_putts(
    distance_m: ArrayLike, *, green_speed_m: float, player: Stroke, heading_k: float = 0.0
) -> Floats:
    """Return the putts to expect from distances, for each draw of a player (n, len(distance)).

    Args:
        distance_m: (m,), 0.05 to 40 m [m].
        green_speed_m: [m]. heading_k: of the surface [m].
        player: draws (n,).
    """
    n = len(player.angle_sd)
    start = np.broadcast_to(np.asarray(distance_m, dtype=float), (n, np.size(distance_m)))
    grid, _ = _grid_putts(player, np.full(n, green_speed_m), np.full(n, heading_k))
    return _read(grid, *_places(start))


def _mean_putts(held: Stroke, speed: Floats, k: Floats, starts: Floats) -> tuple[Floats, Floats]:
    """Return mean putts per green and the share of one-putts, by draw (n,)."""
    grid, made = _grid_putts(held, speed, k)
    place = _places(starts)
    return _read(grid, *place).mean(axis=1), _read(made, *place).mean(axis=1)


def _grid_putts(held: Stroke, speed: Floats, k: Floats) -> tuple[Floats, Floats]:
    """Return expected putts and the chance to hole at the grid's distances (n, grid)."""
    made = holing_chance(
        _GRID, green_speed_m=speed[:, None], heading_k=k[:, None], player=column(held)
    )
    weights, leaves = _leaves(held, speed, k)
    total = weights.sum(axis=2)
    weights *= np.where(total > _NEVER, (1 - made) / np.maximum(total, _NEVER), 0.0)[:, :, None]
    low, part = _places(leaves)
    putts = 2 - made
    for _ in range(_REPEATS):
        putts = 1 + (weights * _read(putts, low, part)).sum(axis=2)
    return putts, np.asarray(made)


def _leaves(held: Stroke, speed: Floats, k: Floats) -> tuple[Floats, Floats]:
    """Return weights and distances of what misses leave, (n, grid, ways to miss)."""
    angle, relative, past, limit = (
        x[:, None, None] for x in (held.angle_sd, held.distance_sd, held.overshoot_m,
                                   held.capture_speed)
    )  # fmt: skip
    d, walk = _GRID[None, :, None], k[:, None, None]
    z = _SDS_ALONG * _ALONG
    roll = np.maximum((d + past) * (1 + relative * z), 0.01)
    left = np.maximum(roll - d, 0.0)
    v = np.sqrt(2 * np.asarray(deceleration(speed))[:, None, None] * left)
    half = np.where(roll > d, HOLE_RADIUS_M * np.sqrt(np.maximum(1 - v / limit, 0.0)), 0.0)
    at_hole = np.sqrt((angle * d) ** 2 + sideways_variance(walk, np.maximum(roll, d), left))
    edge = half / np.maximum(at_hole, 1e-9)
    beyond, weight = _tail(edge)
    at_rest = np.sqrt((angle * roll) ** 2 + walk * roll)
    leave = np.hypot((roll - d)[..., None], at_rest[..., None] * beyond)
    missed = (1 - central_area(edge)) * _ALONG_WEIGHTS * np.exp(-(z**2) / 2)
    shape = (*leave.shape[:2], -1)
    return (missed[..., None] * weight).reshape(shape), leave.reshape(shape)


def _tail(edge: Floats) -> tuple[Floats, Floats]:
    """Return points of a half normal curve beyond an edge, and their weights summing to one."""
    width = _SDS_ASIDE / (1 + edge[..., None])
    points = edge[..., None] + width * (1 + _ASIDE) / 2
    weights = _ASIDE_WEIGHTS * np.exp((edge[..., None] ** 2 - points**2) / 2)
    return points, weights / weights.sum(axis=-1, keepdims=True)


def _places(distance: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Return the grid cell below each distance, as a flat index by draw, and the part above."""
    place = np.clip(np.log(np.maximum(distance, _GRID[0]) / _GRID[0]) / _LOG_STEP, 0, 34.999)
    cell = place.astype(np.intp)
    rows = np.arange(len(distance)).reshape((-1,) + (1,) * (distance.ndim - 1))
    return cell + rows * len(_GRID), place - cell


def _read(grid: Floats, low: NDArray[np.intp], part: Floats) -> Floats:
    flat = grid.ravel()
    below = flat[low]
    return below + part * (flat[low + 1] - below)


def _first_putts(name: str, n: int, rng: np.random.Generator) -> Floats:
    """Return where first putts start (n, starts) [m]: log-normal, unsure middle and spread."""
    who = name if name in PLAYERS else "90"
    keys = (f"players.{who}.first_putt", f"players.{who}.first_putt_spread")
    (middle, middle_sd), (spread, spread_sd) = ((value(k), look_up(k).sd or 0.0) for k in keys)
    log_middle = np.log(middle) + middle_sd / middle * rng.standard_normal((n, 1))
    wide = np.maximum(spread + spread_sd * rng.standard_normal((n, 1)), 0.1)
    return np.asarray(np.exp(log_middle + wide * _STARTS))


def _round_sd(mean: float, one_putts: float) -> float:
    """Return the sd of 18 greens whose putts are 1, 2 or 3, from mean and share of ones."""
    threes = max(mean - 2 + one_putts, 0.0)
    square = one_putts + 4 * (1 - one_putts - threes) + 9 * threes
    return float(np.sqrt(GREENS * max(square - mean**2, 0.0)))


def _thinned(draws: ArrayLike) -> Floats:
    held = np.asarray(draws, dtype=float)
    return held if len(held) <= MOST_DRAWS else held[:: -(-len(held) // MOST_DRAWS)]
