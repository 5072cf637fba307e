"""Vertical motion of a rolled ball -> events per metre and roughness by wavelength band."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import CubicSpline
from scipy.signal import find_peaks, welch
from scipy.special import gammaincinv

from greenwright.base.estimate import Estimate
from greenwright.base.evidence import value as number
from greenwright.measure.traces.motion import Floats
from greenwright.measure.traces.rolling import Rolling
from greenwright.roll import GRAVITY_M_S2

BANDS_M: tuple[tuple[float, float], ...] = ((0.02, 0.05), (0.05, 0.1), (0.1, 0.2), (0.2, 0.5))
"""Wavelength bands in which roughness is told [m]."""

_SLOW_SHARE = 0.5
_SEGMENT_M, _SEGMENTS = 1.0, 3
_HANN_LOSS = 1.5


@dataclass(frozen=True, slots=True)
class Band:
    """Roughness of one band of wavelengths.

    Args:
        low_m, high_m: its ends [m].
        rms: root mean square height of the ball's way in it [mm]; None where it cannot be told.
        why: the reason then.
    """

    low_m: float
    high_m: float
    rms: Estimate | None
    why: str = ""


def events_per_metre(rolling: Rolling) -> Estimate | None:
    """Return vertical events per metre [1/m] with an exact Poisson interval; None if unknown.

    An event is a peak of vertical acceleration above trace.vertical_event; peaks nearer than
    the contact length are one.
    """
    height = rolling.part.az_m_s2
    if height is None or not math.isfinite(rolling.length_m):
        return None
    apart = number("trace.contact_length") / float(rolling.speed_m_s.max())
    steps = max(int(apart * rolling.part.rate_hz), 1)
    peaks, _ = find_peaks(
        without_gravity(height), height=number("trace.vertical_event"), distance=steps
    )
    return _rate(len(peaks), rolling.length_m)


def without_gravity(height: Floats) -> Floats:
    """Return vertical acceleration about its middle: gravity and the sensor's offset go."""
    return height - np.median(height)


def gravity_inside(height: Floats) -> bool:
    """Return whether a vertical acceleration seems to hold gravity."""
    return abs(abs(float(np.median(height))) - GRAVITY_M_S2) < 0.2 * GRAVITY_M_S2


def bands(rolling: Rolling, finest_m: float) -> tuple[Band, ...]:
    """Return the roughness in each band.

    Args:
        rolling: with az_m_s2 or z_m.
        finest_m: shortest wavelength that the sampling can show [m].
    """
    found = _spectrum(rolling)
    return tuple(_band(ends, found, finest_m) for ends in BANDS_M)


def _spectrum(rolling: Rolling) -> tuple[Floats, Floats, float] | None:
    """Return cycles per metre, height spectrum [m3] and segments averaged; None if unknown."""
    part = rolling.part
    if not math.isfinite(rolling.length_m) or (part.az_m_s2 is None and part.z_m is None):
        return None
    quick = rolling.speed_m_s >= _SLOW_SHARE * rolling.speed_m_s.max()
    s, v = rolling.distance_m[quick], rolling.speed_m_s[quick]
    bent = part.z_m is None
    seen = without_gravity(part.az_m_s2)[quick] / v**2 if bent else part.z_m[quick]  # type: ignore[index,arg-type]
    # As fine as the slowest samples: nothing is folded back, nothing new is made up.
    step = float(v.min() / part.rate_hz)
    grid = np.arange(s[0], s[-1], step)
    even = CubicSpline(s, seen)(grid)
    length = min(len(grid), max(int(_SEGMENT_M / step), len(grid) // _SEGMENTS))
    n, power = welch(even, fs=1 / step, window="hann", nperseg=length, detrend="linear")
    if bent:
        power = power[1:] / (2 * np.pi * n[1:]) ** 4
        n = n[1:]
    averaged = max(2 * len(grid) / length - 1, 1.0)
    return n, power, averaged


def _band(
    ends: tuple[float, float], found: tuple[Floats, Floats, float] | None, finest_m: float
) -> Band:
    low, high = ends
    if found is None:
        return Band(low, high, None, "no vertical acceleration or height in the trace")
    if low < finest_m:
        return Band(low, high, None, f"finer than the sampling shows ({1000 * finest_m:.0f} mm)")
    n, power, averaged = found
    inside = (n >= 1 / high) & (n <= 1 / low)
    if inside.sum() < 2:
        return Band(low, high, None, "longer than so short a roll shows")
    summed = cumulative_trapezoid(power, n, initial=0.0)
    variance = float(np.diff(np.interp([1 / high, 1 / low], n, summed))[0])
    # A steep spectrum lives in few of its lines: those that carry the power count.
    lines = float(np.sum(power[inside]) ** 2 / np.sum(power[inside] ** 2))
    freedom = max(2 * lines * averaged / _HANN_LOSS, 2.0)
    return Band(low, high, _rms(variance, float(freedom)))


def _rms(variance: float, freedom: float) -> Estimate:
    value = 1000 * math.sqrt(variance)
    bounds = [2 * gammaincinv(freedom / 2, p) for p in (0.95, 0.05)]
    low, high = (value * math.sqrt(freedom / b) for b in bounds)
    sd = value / math.sqrt(2 * freedom)
    return Estimate(value, "mm", sd, low, max(high, value), 0.9, int(freedom))


def _rate(count: int, length_m: float) -> Estimate:
    low = float(gammaincinv(count, 0.05)) if count else 0.0
    high = float(gammaincinv(count + 1, 0.95))
    sd = math.sqrt(count + 0.5)
    numbers = (count / length_m, sd / length_m, low / length_m, high / length_m)
    return Estimate(numbers[0], "1/m", *numbers[1:], 0.9, count)
