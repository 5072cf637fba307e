"""Simulated putts in a notebook, one row for each ball."""

from __future__ import annotations

from os import PathLike
from pathlib import Path

import pandas as pd

from greenwright.desk.golfing.players import named
from greenwright.desk.golfing.simulated import roll_putts


def putts(
    distance_m: float,
    *,
    player: str = "90",
    angle_sd: float | None = None,
    distance_sd: float | None = None,
    green_speed_m: float = 3.0,
    slope: float = 0.0,
    trueness_t: float = 0.0,
    heights: str | PathLike[str] | None = None,
    n: int = 1000,
    seed: int = 0,
) -> pd.DataFrame:
    """Return simulated putts: x_m, y_m (where each came to rest), holed, rested.

    The ball starts at (0, 0), the hole is at (0, distance_m); on a height grid both lie on a
    line from south to north across its middle. The first call compiles for some seconds.

    Args:
        distance_m: ball to hole [m].
        player: tour | 90; or give both angle_sd [rad] and distance_sd (share of the distance).
        green_speed_m: on the level [m].
        slope: across the putt, higher on the right, rise over run.
        trueness_t: index T of the surface [m]; 0 = perfectly true.
        heights: file of a height grid (ESRI ASCII grid, or CSV) in place of the slope.
        n: putts; seed: the same seed rolls the same putts.

    Raises:
        BadInput: a number that cannot be, no such player, or a file that is no height grid.
    """
    ends = roll_putts(
        distance_m,
        named(player, angle_sd=angle_sd, distance_sd=distance_sd),
        green_speed_m=green_speed_m,
        slope=slope,
        trueness_t=trueness_t,
        heights=None if heights is None else Path(heights),
        n=n,
        seed=seed,
    )
    return pd.DataFrame({"x_m": ends.x, "y_m": ends.y, "holed": ends.holed, "rested": ends.rested})
