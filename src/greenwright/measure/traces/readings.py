"""One motion trace -> all that it says, and what it cannot say."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from greenwright.base.estimate import Z90, Estimate, normal_estimate
from greenwright.base.evidence import value as number
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.traces.motion import MotionTrace, check
from greenwright.measure.traces.rolling import Rolling, rolling_part
from greenwright.measure.traces.vertical import Band, bands, events_per_metre, gravity_inside
from greenwright.measure.traces.wander import path_index
from greenwright.measure.trueness_sideways import sideways_estimate
from greenwright.roll import RELEASE_SPEED_M_S, STOPPING_LENGTH_M

TRACE_KEYS: tuple[str, ...] = (
    "measure.one_way_sd",
    "measure.path_wander.ratio",
    "measure.roll_sd_within_set",
    "measure.trueness_log.level",
    "roll.release_speed",
    "roll.resistance_times_speed",
    "roll.trace_rate",
    "trace.contact_length",
    "trace.correlation_length",
    "trace.least_share",
    "trace.vertical_event",
)
"""Evidence behind what a trace says."""

FINE_SPACING_M = 0.01
SLOPE_UNKNOWN = "the slope along the roll: roll a ball back along the same line"
"""What one roll can never tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceReadings:
    """What one rolled ball says.

    Args:
        source: position | rotation | speed | acceleration.
        samples, rate_hz, start_s, end_s: of the rolling part.
        length_m, first_speed_m_s: rolled in it; None where they cannot be told.
        deceleration: [m/s2].
        ramp_roll: what this ball would have run from the ramp, v0^2 / 2a [m].
        green_speed: the same as a reading of the green, with what one roll on a slope that
            nobody measured leaves open [m].
        spacing_m, finest_m: widest spacing of samples, and the shortest wavelength that they
            show, 2 v / f [m].
        events: vertical events per metre [1/m], or None.
        trueness_t: T [m], or None.
        heading_k: K at this green speed [m], or None.
        sideways: sd of where balls end, per metre of the ramp's own roll [mm/m], or None.
        path_wander: mean sideways deviation over the ramp's own roll [mm/m], or None.
        bands: roughness by wavelength.
        cannot: what cannot be told, and why, a sentence each.
        notes: what was done with the trace.
    """

    source: str
    samples: int
    rate_hz: float
    start_s: float
    end_s: float
    length_m: float | None
    first_speed_m_s: float | None
    deceleration: Estimate
    ramp_roll: Estimate
    green_speed: Estimate
    spacing_m: float | None
    finest_m: float | None
    events: Estimate | None
    trueness_t: Estimate | None
    heading_k: Estimate | None
    sideways: Estimate | None
    path_wander: Estimate | None
    bands: tuple[Band, ...]
    cannot: tuple[str, ...]
    notes: tuple[str, ...]


def read_trace(
    trace: MotionTrace, *, start_s: float | None = None, end_s: float | None = None
) -> TraceReadings:
    """Return what a motion trace says.

    Args:
        trace: of one rolled ball.
        start_s, end_s: use only this span of its time [s]; None = all of it.

    Raises:
        RefusedInput: the trace cannot be used, with the reason.
    """
    low = 0 if start_s is None else int(np.searchsorted(trace.time_s, start_s))
    high = (
        len(trace.time_s) if end_s is None else int(np.searchsorted(trace.time_s, end_s, "right"))
    )
    cut = trace.part(low, high)
    check(cut)
    rolling = rolling_part(cut)
    roll = ramp_roll(rolling.deceleration)
    known = math.isfinite(rolling.length_m)
    fastest = float(rolling.speed_m_s.max()) if known else None
    rate = rolling.part.rate_hz
    spacing = fastest / rate if fastest else None
    fine = rate >= number("roll.trace_rate") or (spacing or 1.0) <= FINE_SPACING_M
    index = path_index(rolling)
    speed = green_speed_of(roll)
    made_bands = bands(rolling, 2 * spacing if spacing else math.inf)
    events = events_per_metre(rolling) if fine else None
    return TraceReadings(
        source=rolling.source,
        samples=len(rolling.part.time_s),
        rate_hz=rate,
        start_s=float(rolling.part.time_s[0]),
        end_s=float(rolling.part.time_s[-1]),
        length_m=rolling.length_m if known else None,
        first_speed_m_s=float(rolling.speed_m_s[0]) if known else None,
        deceleration=rolling.deceleration,
        ramp_roll=roll,
        green_speed=speed,
        spacing_m=spacing,
        finest_m=2 * spacing if spacing else None,
        events=events,
        trueness_t=index,
        heading_k=_scaled(index, speed, power=2, factor=1 / (4 * STOPPING_LENGTH_M**2), unit="m"),
        sideways=sideways_estimate(index, speed) if index else None,
        path_wander=wander_of(index, speed),
        bands=made_bands,
        cannot=_cannot(rolling, fine=fine, index=index, spacing=spacing),
        notes=_notes(rolling),
    )


def ramp_roll(slowing: Estimate) -> Estimate:
    """Return the roll from the ramp of a deceleration [m/s2]: v0^2 / 2a [m].

    >>> from greenwright.base.estimate import normal_estimate
    >>> round(ramp_roll(normal_estimate(0.5486, 0.001, "m/s2")).value, 3)
    3.048
    """
    value = RELEASE_SPEED_M_S**2 / (2 * slowing.value)
    low, high = (RELEASE_SPEED_M_S**2 / (2 * a) for a in (slowing.high, slowing.low))
    sd = value * slowing.sd / slowing.value
    return Estimate(value, "m", sd, low, high, slowing.level, 1)


def green_speed_of(roll: Estimate) -> Estimate:
    """Return one roll as a reading of the green: ball to ball and unknown slope added [m]."""
    others = (number("measure.roll_sd_within_set"), number("measure.one_way_sd"))
    return normal_estimate(roll.value, math.hypot(roll.sd, *others), "m", n=1)


def wander_of(index: Estimate | None, speed: Estimate) -> Estimate | None:
    """Return the mean sideways deviation over the ramp's own roll [mm/m] of T and green speed.

    ratio * sqrt(K / S) with K = T S^2 / (4 c^2): it goes with the roots of T and of S.
    """
    factor = 1000 * number("measure.path_wander.ratio") / (2 * STOPPING_LENGTH_M)
    root = _scaled(index, speed, power=1, factor=factor**2, unit="mm/m")
    if root is None:
        return None
    log_sd = math.log(root.high / root.low) / (4 * Z90)
    return lognormal_estimate(math.log(root.value) / 2, log_sd, "mm/m", n=1, basis="readings")


def _scaled(
    index: Estimate | None, speed: Estimate, *, power: int, factor: float, unit: str
) -> Estimate | None:
    """Return factor * T * S^power, log-normal."""
    if index is None:
        return None
    log_sd = math.log(index.high / index.low) / (2 * Z90)
    middle = math.log(index.value) + power * math.log(speed.value) + math.log(factor)
    spread = math.hypot(log_sd, power * speed.sd / speed.value)
    return lognormal_estimate(middle, spread, unit, n=1, basis="readings")


def _cannot(
    rolling: Rolling, *, fine: bool, index: Estimate | None, spacing: float | None
) -> tuple[str, ...]:
    said = []
    if spacing is None:
        said.append(
            "distances: the ball does not come to rest in the trace, so acceleration alone "
            "gives no speed; events per metre and roughness stay unknown"
        )
    if rolling.part.az_m_s2 is None:
        said.append("vertical events: no vertical acceleration in the trace")
    elif not fine and spacing is not None:
        said.append(
            f"vertical events: {rolling.part.rate_hz:.0f} Hz is a sample each "
            f"{1000 * spacing:.0f} mm, too coarse; it takes 200 Hz or 10 mm"
        )
    if rolling.sideways_m is None:
        said.append("path wander and trueness: no positions in the trace")
    elif index is None:
        said.append("path wander and trueness: the noise of the positions hides the wander")
    return (*said, SLOPE_UNKNOWN)


def _notes(rolling: Rolling) -> tuple[str, ...]:
    said = []
    if rolling.slid:
        said.append("the launch was seen; the first 0.2 s after it are left out, the ball slides")
    if rolling.source == "acceleration" and not math.isfinite(rolling.length_m):
        said.append("the sensor's offset is not known: no rest in the trace")
    if rolling.part.az_m_s2 is not None and gravity_inside(rolling.part.az_m_s2):
        said.append("gravity was taken off the vertical acceleration")
    return tuple(said)
