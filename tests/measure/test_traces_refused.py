"""Bad traces are refused with the reason, and a way out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from greenwright.base.errors import RefusedInput
from greenwright.measure.traces import CHANNELS, MotionTrace, read_trace
from greenwright.measure.traces.motion import longest_run

from .rolled_balls import felt, film, shaken, spinning, way


def few() -> MotionTrace:
    return film(way()).part(0, 12)


def backwards() -> MotionTrace:
    one = film(way())
    time = one.time_s.copy()
    time[40] = time[38]
    return replace(one, time_s=time)


def gap() -> MotionTrace:
    one = film(way())
    time = one.time_s.copy()
    time[100:] += 0.3
    return replace(one, time_s=time)


def uneven() -> MotionTrace:
    one = film(way())
    steps = np.where(np.arange(len(one.time_s)) % 2, 1.0, 2.0) / 180
    return replace(one, time_s=np.cumsum(steps))


def clipped() -> MotionTrace:
    one = shaken(way(), bumps=tuple(np.arange(0.1, 2.9, 0.05)))
    return replace(one, az_m_s2=np.clip(one.az_m_s2, None, 16.0))


def clipped_gyro() -> MotionTrace:
    one = spinning(way())
    return replace(one, wx_rad_s=np.clip(one.wx_rad_s, None, 40.0))


def rising() -> MotionTrace:
    one = film(way())
    return replace(one, x_m=2.0 * one.time_s + one.time_s**2, y_m=0 * one.time_s)


def steady() -> MotionTrace:
    time = np.arange(0, 3, 0.01)
    return MotionTrace(time_s=time, speed_m_s=1.5 + 0.01 * np.sin(7 * time))


def still() -> MotionTrace:
    one = film(way())
    return replace(one, x_m=0.001 * np.sin(one.time_s), y_m=0 * one.time_s)


def short() -> MotionTrace:
    return spinning(way(launch=0.7, slowing=0.9))


def stuck() -> MotionTrace:
    one = film(way(), noise=0.0, turn=0.0)
    x = one.x_m.copy()
    x[60:68] = x[60]
    return replace(one, x_m=x, y_m=0 * x)


def blank() -> MotionTrace:
    one = film(way())
    x = one.x_m.copy()
    x[5] = np.nan
    return replace(one, x_m=x)


def lame() -> MotionTrace:
    one = film(way())
    return replace(one, y_m=one.y_m[:-1])


def nothing() -> MotionTrace:
    one = shaken(way())
    return MotionTrace(time_s=one.time_s, az_m_s2=one.az_m_s2)


def pushed() -> MotionTrace:
    one = felt(way())
    return replace(one, ax_m_s2=-one.ax_m_s2)


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (few, "12 samples are too few"),
        (backwards, "does not rise at sample 41"),
        (gap, r"a gap of 0\.308 s after 0\.825 s"),
        (uneven, "uneven"),
        (clipped, "clipped"),
        (clipped_gyro, "clipped"),
        (rising, "samples only"),
        (steady, "never surely falls"),
        (still, "too short"),
        (short, r"rolls 0\.2\d m: too short"),
        (stuck, "stands still"),
        (blank, "x_m is not a number"),
        (lame, "samples, time"),
        (nothing, "nothing to tell the speed from"),
        (pushed, "never surely falls"),
    ],
)
def test_bad_traces_are_refused_with_the_reason(make: Callable[[], MotionTrace], why: str) -> None:
    with pytest.raises(RefusedInput, match=why) as told:
        read_trace(make())
    assert told.value.exit_code == 3


def test_good_traces_are_not() -> None:
    for make in (film, spinning, shaken, felt):
        read_trace(make(way()))


def test_a_sensor_that_only_touches_its_limit_is_kept() -> None:
    one = shaken(way(), bumps=(0.5, 1.0, 1.5))
    assert read_trace(one).events is not None


def test_small_jitter_of_the_clock_is_borne() -> None:
    one, rng = film(way(), noise=1e-4), np.random.default_rng(1)
    time = one.time_s + 0.0008 * rng.uniform(-1, 1, len(one.time_s))  # a tenth of the step
    assert read_trace(replace(one, time_s=time)).deceleration.value == pytest.approx(0.55, rel=0.01)


def test_a_span_that_leaves_too_little_is_refused() -> None:
    with pytest.raises(RefusedInput, match="too few"):
        read_trace(film(way()), start_s=2.0, end_s=2.05)


def test_channels_are_named_with_their_units() -> None:
    assert {"x_m", "az_m_s2", "wx_rad_s", "speed_m_s"} <= set(CHANNELS)
    assert "time_s" not in CHANNELS


@pytest.mark.parametrize(
    ("flags", "run"), [([], 0), ([0, 0], 0), ([1, 1, 0, 1], 2), ([0, 1, 1, 1], 3)]
)
def test_longest_run(flags: list[int], run: int) -> None:
    assert longest_run(np.array(flags, dtype=bool)) == run
