"""Physics of a ball that rolls on a green: friction, slope, roughness, capture."""

from greenwright.roll.aiming import aim_for
from greenwright.roll.capture import capture_half_width, capture_speed, free_fall_speed
from greenwright.roll.constants import (
    BALL_RADIUS_M,
    GRAVITY_M_S2,
    HOLE_RADIUS_M,
    PULL_M_S2,
    RELEASE_SPEED_M_S,
    ROLLING_FACTOR,
    STOPPING_LENGTH_M,
)
from greenwright.roll.grid import HeightGrid, read_ascii_grid, read_csv_grid
from greenwright.roll.paths import PuttPaths, putt_paths
from greenwright.roll.plane import Break, break_on_plane
from greenwright.roll.putting import PuttEnds, simulate_putts
from greenwright.roll.roughness import (
    heading_walk,
    index_of_sideways,
    sideways_per_metre,
    sideways_variance,
    trueness_index,
)
from greenwright.roll.straight import (
    SlideToRoll,
    StraightPutt,
    deceleration,
    level_equivalent,
    slide_to_roll,
    straight_putt,
)
from greenwright.roll.stroke import Aim
from greenwright.roll.terrain import Terrain
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
    "PULL_M_S2",
    "RELEASE_SPEED_M_S",
    "ROLLING_FACTOR",
    "STOPPING_LENGTH_M",
    "Aim",
    "Break",
    "HeightGrid",
    "PuttEnds",
    "PuttPaths",
    "SlideToRoll",
    "StraightPutt",
    "Terrain",
    "TwoWay",
    "aim_for",
    "break_on_plane",
    "capture_half_width",
    "capture_speed",
    "deceleration",
    "free_fall_speed",
    "heading_walk",
    "index_of_sideways",
    "level_equivalent",
    "level_speed_from_one_way",
    "putt_paths",
    "ramp_rolls",
    "read_ascii_grid",
    "read_csv_grid",
    "resistance",
    "sideways_per_metre",
    "sideways_variance",
    "simulate_putts",
    "slide_to_roll",
    "straight_putt",
    "trueness_index",
    "two_way_speed",
]
