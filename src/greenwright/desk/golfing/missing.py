"""What golfers will miss: chances to hole by player and distance, now and perfectly true."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.desk.answering import SEED, Row
from greenwright.desk.golfing.levels import Levels
from greenwright.golfers import (
    HOLING_DISTANCES_M,
    PLAYERS,
    Holing,
    Player,
    PuttsPerRound,
    holing_estimates,
    player_keys,
    putts_per_round,
)

PUTTS = "putts per 18 holes"
_OWN_KEYS = (
    *player_keys("90"),
    "players.own.angle_spread",
    "players.own.distance_spread",
)


def holing_rows(
    who: Sequence[Player], levels: Levels, *, distance_m: float | None = None
) -> tuple[Row, ...]:
    """Return the rows of each player: by distance, then putts per 18 holes.

    Args:
        who: players.
        levels: of the day, with anything asked in their place.
        distance_m: one distance more [m].
    """
    extra = () if distance_m in (None, *HOLING_DISTANCES_M) else (float(distance_m or 0),)
    distances = sorted({*HOLING_DISTANCES_M, *extra})
    speed, trueness = levels.speed_draws(), levels.trueness_draws()
    rows: list[Row] = []
    for one in who:
        chances = holing_estimates(
            distances, one, speed_draws=speed, trueness_draws=trueness, seed=SEED
        )
        whole = putts_per_round(one, speed_draws=speed, trueness_draws=trueness, seed=SEED)
        rows += [_row(one, held) for held in chances]
        rows.append(_round_row(one, whole))
    return tuple(rows)


def _keys(one: Player) -> list[str]:
    return list(player_keys(one.name) if one.name in PLAYERS else _OWN_KEYS)


def _row(one: Player, held: Holing) -> Row:
    return {
        "green": "course",
        "what": "holing",
        "about": "one putt",
        "distance_m": held.distance_m,
        "player": one.name,
        "quantity": None,
        "chance": held.chance,
        "chance_perfect": held.chance_perfect,
        "estimate": held.now,
        "difference": held.lost,
        "putts_to_tell": held.putts_to_tell,
        "capture_speed": one.capture_speed,
        "n_putts": one.n_putts,
        "sources": _keys(one),
    }


def _round_row(one: Player, whole: PuttsPerRound) -> Row:
    rounds = whole.rounds_to_tell
    name = one.name if one.name in PLAYERS else "90"
    return {
        "green": "course",
        "what": "holing",
        "about": PUTTS,
        "distance_m": None,
        "player": one.name,
        "quantity": None,
        "chance": None,
        "chance_perfect": None,
        "estimate": whole.extra,
        "putts_now": whole.now,
        "putts_perfect": whole.perfect,
        "putts_to_tell": None if rounds is None else round(rounds * whole.now.value),
        "rounds_to_tell": rounds,
        "capture_speed": one.capture_speed,
        "n_putts": one.n_putts,
        "sources": [
            *_keys(one),
            f"players.{name}.first_putt",
            f"players.{name}.first_putt_spread",
        ],
    }
