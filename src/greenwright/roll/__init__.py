"""Physics of a ball that rolls on a green: friction, slope, the ramp's two-way reading."""

from greenwright.roll.constants import (
    BALL_RADIUS_M,
    GRAVITY_M_S2,
    HOLE_RADIUS_M,
    RELEASE_SPEED_M_S,
    ROLLING_FACTOR,
    STOPPING_LENGTH_M,
)
from greenwright.roll.two_way import (
    TwoWay,
    level_speed_from_one_way,
    ramp_rolls,
    resistance,
    two_way_speed,
)

__all__ = [
    "BALL_RADIUS_M",
    "GRAVITY_M_S2",
    "HOLE_RADIUS_M",
    "RELEASE_SPEED_M_S",
    "ROLLING_FACTOR",
    "STOPPING_LENGTH_M",
    "TwoWay",
    "level_speed_from_one_way",
    "ramp_rolls",
    "resistance",
    "two_way_speed",
]
