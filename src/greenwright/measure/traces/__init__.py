"""The motion of one rolled ball -> green speed, events, wander, roughness; scipy comes with it."""

from greenwright.measure.traces.motion import CHANNELS, MotionTrace
from greenwright.measure.traces.readings import TraceReadings, read_trace
from greenwright.measure.traces.two_rolls import TwoRolls, two_way
from greenwright.measure.traces.vertical import BANDS_M, Band

__all__ = [
    "BANDS_M",
    "CHANNELS",
    "Band",
    "MotionTrace",
    "TraceReadings",
    "TwoRolls",
    "read_trace",
    "two_way",
]
