"""Putts by the thousand for a notebook: one player, one ground, where each ball ends."""

from __future__ import annotations

from pathlib import Path

from greenwright.base.errors import BadInput
from greenwright.desk.golfing.picture import Scene, check_slope, on_grid, read_heights, stroke_on
from greenwright.golfers import Player
from greenwright.roll.putting import PuttEnds, simulate_putts

MOST = 5_000_000
"""Putts rolled at once: what a notebook's memory holds with ease."""


def roll_putts(
    distance_m: float,
    who: Player,
    *,
    green_speed_m: float = 3.0,
    slope: float = 0.0,
    trueness_t: float = 0.0,
    heights: Path | None = None,
    n: int = 1000,
    seed: int = 0,
) -> PuttEnds:
    """Return where putts end; ball at (0, 0), hole at (0, distance), but on a height grid.

    Args:
        distance_m: ball to hole [m].
        who: the player.
        green_speed_m: on the level [m]. slope: across the putt, higher on the right (rise over
            run). trueness_t: index T of the surface [m].
        heights: file of a height grid, in place of the slope: putted south to north across it.
        n: putts, at most MOST. seed: the same seed rolls the same putts.

    Raises:
        BadInput: a number that cannot be, or a file that is no height grid.
    """
    if not (0.3 <= distance_m <= 20 and 1 <= n <= MOST):
        raise BadInput(
            f"cannot roll {n} putts from {distance_m:g} m",
            where="putts",
            expected=f"0.3 to 20 m, 1 to {MOST} putts",
        )
    check_slope(slope, green_speed_m)
    grid = None if heights is None else read_heights(Path(heights))
    start, hole = ((0.0, 0.0), (0.0, distance_m)) if grid is None else on_grid(grid, distance_m)
    place = Scene("", green_speed_m, trueness_t, slope, grid, start, hole)
    return simulate_putts(*stroke_on(place, who, trueness_t), n=n, seed=seed)
