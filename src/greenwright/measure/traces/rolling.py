"""The rolling part of a trace: distance, speed, and how it slows down."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.signal import savgol_filter

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value as number
from greenwright.measure.traces.motion import Floats, MotionTrace, longest_run, refuse
from greenwright.roll import BALL_RADIUS_M

SLOWEST_M_S = 0.1
SLIDE_S = 0.2
LEAST_LENGTH_M, LEAST_ROLLING = 0.5, 12
_WINDOW_S = 0.1
_REST_S = 0.2
_LAUNCH_SHARE = 0.8
_SLOWING_SHARE = 0.1
_STUCK, _UNDER_WAY_M = 5, 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Rolling:
    """The part of a trace in which the ball rolls.

    Args:
        source: position | rotation | speed | acceleration: what the speed comes from.
        part: the trace cut to it.
        distance_m, speed_m_s: at each sample, smooth; nan where acceleration alone cannot
            tell them (the ball does not come to rest in the trace).
        sideways_m: position across the line of the roll; None without positions.
        deceleration: estimate [m/s2].
        slid: whether the launch was seen and its slide left out.
    """

    source: str
    part: MotionTrace
    distance_m: Floats
    speed_m_s: Floats
    sideways_m: Floats | None
    deceleration: Estimate
    slid: bool

    @property
    def length_m(self) -> float:
        """Return the length rolled [m]; nan where it is not known."""
        return float(self.distance_m[-1] - self.distance_m[0])

    @property
    def reach_m(self) -> float:
        """Return the level stopping distance from the first sample: v^2 / 2a [m]."""
        return float(self.speed_m_s[0] ** 2 / (2 * self.deceleration.value))


def rolling_part(trace: MotionTrace) -> Rolling:
    """Return the rolling part of a checked trace.

    Raises:
        RefusedInput: nothing to tell speed from, too short, stuck, or a speed that never falls.
    """
    if trace.x_m is not None and trace.y_m is not None:
        return _from_positions(trace)
    if trace.speed_m_s is not None or trace.wx_rad_s is not None:
        return _from_speeds(trace)
    if trace.ax_m_s2 is not None:
        return _from_acceleration(trace)
    return refuse(  # type: ignore[return-value]
        "there is nothing to tell the speed from",
        expected="x_m and y_m, or rotation, or speed_m_s, or ax_m_s2",
        do="Name the columns, with their units",
    )


def _from_positions(trace: MotionTrace) -> Rolling:
    along, across = _line(trace.x_m, trace.y_m)  # type: ignore[arg-type]
    _refuse_stuck(along)
    speed = savgol_filter(along, _window(trace), 2, deriv=1, delta=1 / trace.rate_hz)
    low, high, slid = _span(trace, speed)
    part = trace.part(low, high)
    along, across = _line(part.x_m, part.y_m)  # type: ignore[arg-type]
    time = part.time_s - part.time_s[0]
    way = _arc(along, across)
    fit, cov = _least_squares(np.column_stack([np.ones_like(time), time, time**2]), way)
    slowing = _slowing(-2 * fit[2], 4 * cov[2, 2], len(time))
    distance = fit[1] * time + fit[2] * time**2
    pace = np.maximum(fit[1] + 2 * fit[2] * time, 0.5 * SLOWEST_M_S)
    return _checked(Rolling("position", part, distance, pace, across, slowing, slid))


def _from_speeds(trace: MotionTrace) -> Rolling:
    source = "speed" if trace.speed_m_s is not None else "rotation"
    raw = trace.speed_m_s if trace.speed_m_s is not None else BALL_RADIUS_M * _turning(trace)
    low, high, slid = _span(trace, savgol_filter(raw, _window(trace), 2))
    part, seen = trace.part(low, high), raw[low:high]
    time = part.time_s - part.time_s[0]
    fit, cov = _least_squares(np.column_stack([np.ones_like(time), time]), seen)
    slowing = _slowing(-fit[1], cov[1, 1], len(time))
    pace = np.maximum(fit[0] + fit[1] * time, 0.5 * SLOWEST_M_S)
    distance = cumulative_trapezoid(pace, time, initial=0.0)
    return _checked(Rolling(source, part, distance, pace, None, slowing, slid))


def _from_acceleration(trace: MotionTrace) -> Rolling:
    raw: Floats = trace.ax_m_s2  # type: ignore[assignment]
    window = max(int(_REST_S * trace.rate_hz) | 1, 5)
    low, high = _slowing_part(raw, window)
    rest = raw[high + window // 2 :]
    rests = len(rest) > window // 2
    offset = float(rest.mean()) if rests else 0.0
    doubt = float(rest.var()) / len(rest) if rests else number("trace.sensor_offset") ** 2
    launched = low > window
    part = trace.part(low + (window // 2 if launched else 0), high)
    time = part.time_s - part.time_s[0]
    fit, cov = _least_squares(np.ones((len(time), 1)), part.ax_m_s2 - offset)  # type: ignore[operator]
    slowing = _slowing(-fit[0], cov[0, 0] + doubt, len(time))
    pace = np.maximum(-fit[0] * (time[-1] - time), 0.5 * SLOWEST_M_S)
    distance = cumulative_trapezoid(pace, time, initial=0.0)
    unknown = np.full_like(time, np.nan)
    held = (distance, pace) if rests else (unknown, unknown)
    return _checked(Rolling("acceleration", part, *held, None, slowing, launched))


def _slowing_part(raw: Floats, window: int) -> tuple[int, int]:
    """Return first and last + 1 sample at which the ball slows down at half its usual or more."""
    smooth = np.convolve(raw, np.ones(window) / window, mode="same")
    slow = float(-np.quantile(smooth, _SLOWING_SHARE))
    rolling = np.flatnonzero(smooth < -0.5 * slow) if slow > 0 else []
    if len(rolling) < LEAST_ROLLING:
        _never_falls()
    return int(rolling[0]), int(rolling[-1]) + 1


def _slowing(value: float, variance: float, n: int) -> Estimate:
    least = number("trace.least_share") * value
    return normal_estimate(float(value), math.hypot(math.sqrt(variance), least), "m/s2", n=n)


def _turning(trace: MotionTrace) -> Floats:
    """Return the amount of rotation [rad/s], whatever the sensor's axes are."""
    parts = [w for w in (trace.wx_rad_s, trace.wy_rad_s, trace.wz_rad_s) if w is not None]
    return np.sqrt(np.sum(np.square(parts), axis=0))


def _line(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return positions along and across the line from the first to the last samples."""
    few = max(len(x) // 20, 1)
    start = np.array([x[:few].mean(), y[:few].mean()])
    way = np.array([x[-few:].mean(), y[-few:].mean()]) - start
    far = float(np.hypot(*way))
    if far < LEAST_LENGTH_M / 2:
        refuse(f"the ball moves {far:.2f} m: too short", expected=f"{LEAST_LENGTH_M} m or more")
    cos, sin = way / far
    dx, dy = x - start[0], y - start[1]
    return cos * dx + sin * dy, cos * dy - sin * dx


def _refuse_stuck(along: Floats) -> None:
    """Refuse a track that stands still on its way: the tracker lost the ball for a while."""
    under_way = (along > _UNDER_WAY_M) & (along < along.max() - _UNDER_WAY_M)
    if longest_run((np.diff(along) == 0) & under_way[1:]) >= _STUCK:
        refuse("the position stands still while the ball rolls", do="Track the ball again")


def _arc(along: Floats, across: Floats) -> Floats:
    """Return the distance along the path's gentle curve, without the noise's own length."""
    bend = np.polynomial.Polynomial.fit(along, across, 3).deriv()
    grid = np.linspace(along.min(), along.max(), 200)
    length = cumulative_trapezoid(np.hypot(1.0, bend(grid)), grid, initial=0.0)
    return np.interp(along, grid, length)


def _window(trace: MotionTrace) -> int:
    fits = len(trace.time_s) - 1 + len(trace.time_s) % 2
    return min(max(int(_WINDOW_S * trace.rate_hz) | 1, 5), fits)


def _span(trace: MotionTrace, speed: Floats) -> tuple[int, int, bool]:
    """Return first and last + 1 sample of the rolling part, and whether a slide was skipped."""
    start = int(np.argmax(speed))
    launched = start > 0 and bool(speed[: start + 1].min() < _LAUNCH_SHARE * speed[start])
    if launched:
        start = int(np.searchsorted(trace.time_s, trace.time_s[start] + SLIDE_S))
    slow = np.flatnonzero(speed[start:] < SLOWEST_M_S)
    end = start + int(slow[0]) if len(slow) else len(speed)
    if end - start < LEAST_ROLLING:
        refuse(
            f"the ball rolls freely for {max(end - start, 0)} samples only",
            expected=f"at least {LEAST_ROLLING} after its fastest point",
            do="Record it until it rests, or sample faster",
        )
    return start, end, launched


def _least_squares(design: Floats, seen: Floats) -> tuple[Floats, Floats]:
    """Return coefficients and covariance, widened by the correlation of what is left over."""
    inverse = np.linalg.inv(design.T @ design)
    fit = inverse @ design.T @ seen
    left = seen - design @ fit
    freedom = max(len(seen) - design.shape[1], 1)
    return fit, inverse * float(left @ left) / freedom * _correlation_time(left)


def _correlation_time(left: Floats) -> float:
    """Return 1 + 2 sum of autocorrelations up to the first negative one (at least 1)."""
    total = float(left @ left)
    if total == 0:
        return 1.0
    time = 1.0
    for lag in range(1, len(left) // 4):
        share = float(left[lag:] @ left[:-lag]) / total
        if share <= 0:
            break
        time += 2 * share
    return time


def _checked(one: Rolling) -> Rolling:
    if one.deceleration.low <= 0:
        _never_falls()
    if one.length_m < LEAST_LENGTH_M:
        refuse(
            f"the ball rolls {one.length_m:.2f} m: too short",
            expected=f"{LEAST_LENGTH_M} m or more",
            do="Roll it further, or track more of its way",
        )
    return one


def _never_falls() -> None:
    refuse(
        "the speed never surely falls: this is no ball that rolls out",
        do="Check the columns, their units and the direction of x",
    )
