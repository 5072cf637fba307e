"""Which player is meant: one of the common two, the club's own, or one of stated errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.golfers import PLAYERS, Player, custom_player, player

FITTED = " here"
"""Said after the name of a player who was fitted from the club's own putts."""

USUAL = "90"
"""Who putts where nobody is named."""


def players(fitted: Sequence[Player]) -> tuple[Player, ...]:
    """Return the tour player, the 90-shooter, and those fitted from the club's own putts."""
    own = tuple(replace(one, name=f"{one.name or 'club'}{FITTED}") for one in fitted)
    return (*(player(name) for name in PLAYERS), *own)


def chosen_player(who: Sequence[Player], name: str) -> Player:
    """Return the player named, or the 90-shooter.

    Raises:
        UnknownKey: none of that name; names those there are.
    """
    wanted = name or USUAL
    found = [one for one in who if one.name == wanted]
    if found:
        return found[0]
    raise UnknownKey(
        f"no player {name!r}",
        where="player",
        expected=", ".join(one.name for one in who),
        do="Name one of these",
    )


def named(
    name: str = USUAL, *, angle_sd: float | None = None, distance_sd: float | None = None
) -> Player:
    """Return a common player, or one of stated errors.

    Args:
        name: tour | 90, where no errors are stated.
        angle_sd: sd of the direction [rad]; distance_sd: share of the distance. Both or neither.

    Raises:
        UnknownKey: no such player. BadInput: one error without the other.
    """
    if angle_sd is None and distance_sd is None:
        return chosen_player(players(()), name)
    if angle_sd is None or distance_sd is None:
        raise BadInput(
            "one error of the player is not said",
            where="player",
            expected="both angle_sd [rad] and distance_sd, or a player of the table",
        )
    return custom_player(angle_sd, distance_sd)
