"""A motion trace, and whether it can be used at all."""

from __future__ import annotations

from dataclasses import dataclass
from dataclasses import fields as fields_of

import numpy as np
from numpy.typing import NDArray

from greenwright.base.errors import RefusedInput

Floats = NDArray[np.float64]

LEAST_SAMPLES = 20
MOST_GAP = 5.0
MOST_JITTER = 0.25
_CLIPPED_RUN, _CLIPPED_SHARE = 4, 0.01
_SENSED = ("ax_m_s2", "ay_m_s2", "az_m_s2", "wx_rad_s", "wy_rad_s", "wz_rad_s", "speed_m_s")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MotionTrace:
    """Time and whatever was sensed of one rolled ball; arrays of one length, or None.

    Args:
        time_s: rising times [s].
        x_m, y_m, z_m: position in any level frame [m].
        ax_m_s2, ay_m_s2, az_m_s2: acceleration along the roll, sideways, up [m/s2].
        wx_rad_s, wy_rad_s, wz_rad_s: rotation, in any frame [rad/s].
        speed_m_s: speed of the ball [m/s].
    """

    time_s: Floats
    x_m: Floats | None = None
    y_m: Floats | None = None
    z_m: Floats | None = None
    ax_m_s2: Floats | None = None
    ay_m_s2: Floats | None = None
    az_m_s2: Floats | None = None
    wx_rad_s: Floats | None = None
    wy_rad_s: Floats | None = None
    wz_rad_s: Floats | None = None
    speed_m_s: Floats | None = None

    @property
    def rate_hz(self) -> float:
        """Return the sampling rate, one over the median step [Hz]."""
        return 1 / float(np.median(np.diff(self.time_s)))

    def channels(self) -> dict[str, Floats]:
        """Return what was sensed by name, without the time."""
        held = {f.name: getattr(self, f.name) for f in fields_of(self)}
        return {n: v for n, v in held.items() if v is not None and n != "time_s"}

    def part(self, low: int, high: int) -> MotionTrace:
        """Return samples low to high - 1."""
        cut = {name: values[low:high] for name, values in self.channels().items()}
        return MotionTrace(time_s=self.time_s[low:high], **cut)


CHANNELS: tuple[str, ...] = tuple(f.name for f in fields_of(MotionTrace) if f.name != "time_s")
"""What a trace may hold beside time, with its unit in the name."""


def check(trace: MotionTrace) -> None:
    """Refuse a trace that cannot be used.

    Raises:
        RefusedInput: too few samples, times that do not rise, gaps, uneven steps, numbers that
            are not finite, a sensor at its limit, a tracker that stood still.
    """
    _check_time(trace.time_s)
    for name, values in trace.channels().items():
        if len(values) != len(trace.time_s):
            _refuse(f"{name} has {len(values)} samples, time {len(trace.time_s)}")
        if not np.isfinite(values).all():
            where = int(np.flatnonzero(~np.isfinite(values))[0])
            _refuse(f"{name} is not a number at {trace.time_s[where]:.3f} s")
        if name in _SENSED and _clipped(values):
            _refuse(
                f"{name} stands at its limit {values[np.argmax(np.abs(values))]:.4g}: clipped",
                do="Set the sensor to a wider range and roll again",
            )


def _check_time(time: Floats) -> None:
    if len(time) < LEAST_SAMPLES:
        _refuse(
            f"{len(time)} samples are too few",
            expected=f"at least {LEAST_SAMPLES}",
            do="Sample faster or roll longer",
        )
    steps = np.diff(time)
    if not np.isfinite(time).all() or (steps <= 0).any():
        where = int(np.argmax(~(steps > 0))) + 2
        _refuse(f"time does not rise at sample {where}", do="Sort the rows and remove doubles")
    usual = float(np.median(steps))
    if steps.max() > MOST_GAP * usual:
        at = float(time[int(np.argmax(steps))])
        _refuse(
            f"a gap of {steps.max():.3f} s after {at:.3f} s, where steps are {usual:.4f} s",
            do="Cut the trace to one side of the gap, or roll again",
        )
    if steps.std() > MOST_JITTER * usual:
        _refuse(
            f"the steps of time are uneven: {100 * steps.std() / usual:.0f} % of their middle",
            expected=f"at most {100 * MOST_JITTER:.0f} %",
            do="Use the sensor's own clock, or even steps",
        )


def _clipped(values: Floats) -> bool:
    """Return whether a sensor stood at its furthest value for several samples, again and again."""
    far = float(np.max(np.abs(values)))
    if far < 1e-6:
        return False
    at_limit = np.abs(values) >= far * (1 - 1e-9)
    return longest_run(at_limit) >= _CLIPPED_RUN and at_limit.mean() >= _CLIPPED_SHARE


def longest_run(flags: NDArray[np.bool_]) -> int:
    """Return the longest run of true flags.

    >>> longest_run(np.array([True, False, True, True]))
    2
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def refuse(why: str, *, expected: str = "", do: str = "") -> None:
    """Raise the refusal of a trace.

    Raises:
        RefusedInput: always.
    """
    raise RefusedInput(why, where="motion trace", expected=expected, do=do)


_refuse = refuse
