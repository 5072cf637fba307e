"""Two balls along one line, there and back -> a level green speed and the slope."""

from __future__ import annotations

import math
from dataclasses import dataclass

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value as number
from greenwright.measure.traces.readings import TraceReadings
from greenwright.roll import two_way_speed


@dataclass(frozen=True, slots=True)
class TwoRolls:
    """What two rolls along one line say together.

    Args:
        green_speed: level green speed [m].
        slope: rise over run, positive where the first roll goes uphill.
    """

    green_speed: Estimate
    slope: float


def two_way(there: TraceReadings, back: TraceReadings) -> TwoRolls:
    """Return the level green speed of a roll there and one back: 2ab / (a + b).

    Raises:
        BadInput: the two cannot be of one line.
    """
    a, b = there.ramp_roll, back.ramp_roll
    both = two_way_speed(a.value, b.value)
    ball = number("measure.roll_sd_within_set")
    lever_a, lever_b = (2 * (other.value / (a.value + b.value)) ** 2 for other in (b, a))
    sd = math.hypot(lever_a * math.hypot(a.sd, ball), lever_b * math.hypot(b.sd, ball))
    return TwoRolls(normal_estimate(both.level_speed_m, sd, "m", n=2), both.slope)
