"""Players: the tour and the 90-shooter of the evidence table, one's own, or one fitted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.base.values import Putts
from greenwright.golfers.holing import holing_chance
from greenwright.golfers.putt_tables import PuttTable, binomial_height
from greenwright.golfers.stroke import Player, Stroke
from greenwright.stats.summit import summit

Floats = NDArray[np.float64]

PLAYERS: tuple[str, ...] = ("tour", "90")
FEWEST_PUTTS = 20
"""Tries under which counts say nothing that the prior does not."""

_NUDGE = 1e-3
_BORROWED_ROWS = 4.0


def player_keys(name: str) -> tuple[str, ...]:
    """Return the evidence keys of a class of player."""
    parts = ("angle_sd", "distance_sd", "overshoot", "capture_speed", "green_speed")
    return tuple(f"players.{name}.{part}" for part in parts)


@cache
def player(name: str) -> Player:
    """Return a class of player: tour or 90.

    Its spread: distance sd and overshoot vary as their entries say, the half-made distance as
    players within a class do, and the direction sd follows so that half are made from there.

    Raises:
        BadInput: another name.

    Source keys: players.tour.*, players.90.*, players.half_made.*, players.spread.*.

    >>> player("tour").capture_speed
    1.32
    """
    if name not in PLAYERS:
        raise BadInput(f"no player {name!r}", where="players", expected=" | ".join(PLAYERS))
    bare = Player(name, *(value(key) for key in player_keys(name)))
    return Player(*_numbers(bare), spread=_class_spread(bare))


def custom_player(angle_sd: float, distance_sd: float, *, name: str = "own") -> Player:
    """Return a player of stated errors; the rest as for the 90-shooter, nothing unsure.

    Args:
        angle_sd: sd of the direction [rad].
        distance_sd: relative sd of the distance.

    Raises:
        BadInput: errors that cannot be.
    """
    other = player("90")
    return Player(
        name,
        angle_sd,
        distance_sd,
        other.overshoot_m,
        other.capture_speed,
        other.green_speed_m,
    )


def fit_player(putts: Sequence[Putts], *, green_speed_m: float | None = None) -> Player | None:
    """Return the player behind counts of made putts, by penalised maximum likelihood.

    Direction sd, distance sd and overshoot start from the 90-shooter with wide spreads, as
    counts alone say much of the first, little of the others. Where distances and days scatter
    more than chance allows, all counts weigh less.

    Args:
        putts: tried and made, of one player or one group; rows without a try are left out.
        green_speed_m: of the greens they were putted on; default the 90-shooter's [m].

    Returns:
        None with fewer than FEWEST_PUTTS tries. The roughness of those greens is part of the
        player found.

    Source keys: players.90.*, players.own.*.
    """
    rows = [row for row in putts if row.tried > 0]
    if sum(row.tried for row in rows) < FEWEST_PUTTS:
        return None
    start = player("90")
    speed = start.green_speed_m if green_speed_m is None else green_speed_m
    table = _table(rows)
    first = _most_likely(table, speed, 1.0)
    excess = _excess(table, _chances(table, first[0], speed))
    point, cov = _most_likely(table, speed, excess)
    return Player(
        _name(rows),
        *np.exp(point[:2]).tolist(),
        max(float(point[2]), 0.0),
        start.capture_speed,
        speed,
        tuple(tuple(line) for line in cov.tolist()),
        int(table.tried.sum()),
    )


def fit_players(
    putts: Sequence[Putts], *, green_speed_m: float | None = None
) -> tuple[Player, ...]:
    """Return one fitted player for each name in the rows that has enough putts, by name."""
    by_name: dict[str, list[Putts]] = defaultdict(list)
    for row in putts:
        by_name[row.player].append(row)
    fitted = (fit_player(by_name[n], green_speed_m=green_speed_m) for n in sorted(by_name))
    return tuple(one for one in fitted if one is not None)


def _numbers(held: Player) -> tuple[str, float, float, float, float, float]:
    return (
        held.name,
        held.angle_sd,
        held.distance_sd,
        held.overshoot_m,
        held.capture_speed,
        held.green_speed_m,
    )


def _class_spread(held: Player) -> tuple[tuple[float, ...], ...]:
    """Return J diag(variances) J' for independent (log half-made, log distance sd, overshoot)."""
    half = value(f"players.half_made.{held.name}")
    nudged = np.array([_log_odds(held, half, step) for step in _NUDGE * np.eye(4)])
    by_half, by_angle, by_relative, by_past = (nudged - _log_odds(held, half, np.zeros(4))) / _NUDGE
    jacobian = np.eye(3)
    jacobian[0] = -np.array([by_half, by_relative, by_past]) / by_angle
    sds = np.array(
        [
            value("players.spread.half_made"),
            _spread(held.name, "distance_sd") or value("players.spread.distance_sd"),
            (look_up(f"players.{held.name}.overshoot").sd or value("players.spread.overshoot")),
        ]
    )
    cov = (jacobian * sds**2) @ jacobian.T
    return tuple(tuple(line) for line in cov.tolist())


def _spread(name: str, part: str) -> float:
    entry = look_up(f"players.{name}.{part}")
    return (entry.sd or 0.0) / value(entry.key)


def _log_odds(held: Player, half: float, step: Floats) -> float:
    """Return the log odds to hole from the half-made distance, its log and the player moved."""
    moved = Stroke(
        held.angle_sd * np.exp(step[1]),
        held.distance_sd * np.exp(step[2]),
        np.asarray(held.overshoot_m + step[3]),
        np.asarray(held.capture_speed),
    )
    p = holing_chance(half * np.exp(step[0]), green_speed_m=held.green_speed_m, player=moved)
    return float(np.log(p / (1 - p)))


def _table(rows: Sequence[Putts]) -> PuttTable:
    columns = [[row.distance_m, row.tried, row.made] for row in rows]
    return PuttTable(*np.array(columns, dtype=float).T)


def _chances(table: PuttTable, point: Floats, speed: float) -> Floats:
    angle, relative = np.exp(point[:2])
    capture = np.asarray(player("90").capture_speed)
    held = Stroke(angle, relative, np.maximum(point[2], 0.0), capture)
    distances, back = np.unique(table.distance_m, return_inverse=True)
    return np.asarray(holing_chance(distances, green_speed_m=speed, player=held))[back]


def _most_likely(table: PuttTable, speed: float, excess: float) -> tuple[Floats, Floats]:
    start = player("90")
    centre = np.array([np.log(start.angle_sd), np.log(start.distance_sd), start.overshoot_m])
    keys = ("players.own.angle_spread", "players.own.distance_spread")
    past = look_up("players.90.overshoot").sd or value("players.spread.overshoot")
    sds = np.array([*(value(key) for key in keys), past])

    def height(point: Floats) -> float:
        penalty = float((((point - centre) / sds) ** 2).sum()) / 2
        return binomial_height(table, _chances(table, point, speed)) / excess - penalty

    found = summit(height, centre, sds)
    return found.point, found.cov


def _excess(table: PuttTable, chances: Floats) -> float:
    """Return the Pearson variance ratio of the rows, drawn towards 1, never below it."""
    variance = np.maximum(table.tried * chances * (1 - chances), 1e-9)
    pearson = float(((table.made - table.tried * chances) ** 2 / variance).sum())
    return max(1.0, (pearson + _BORROWED_ROWS) / (len(chances) - 1 + _BORROWED_ROWS))


def _name(rows: Sequence[Putts]) -> str:
    names = {row.player for row in rows}
    return names.pop() if len(names) == 1 else "club"
