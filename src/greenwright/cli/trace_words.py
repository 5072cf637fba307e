"""What a motion trace says, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from greenwright.base.estimate import Estimate
from greenwright.base.lengths import feet_inches

if TYPE_CHECKING:
    from greenwright.base.values import LoadReport
    from greenwright.desk.traces import ToldTrace, TraceReadings


def trace_words(told: ToldTrace, reports: Sequence[LoadReport] = ()) -> str:
    """Return a trace in plain words, with 90 % ranges in brackets."""
    lines = []
    for name, roll in zip(told.names, told.rolls, strict=True):
        said = [*_said(roll), *(f"Cannot be told: {text}." for text in told.cannot(roll))]
        lines += [f"{name}: {_seen(roll)}", *(f"  {line}" for line in said)]
    lines += _speed(told)
    if told.left_out:
        lines.append(f"Rows left out for an empty cell: {told.left_out}.")
    if told.unknown:
        lines.append(f"Columns not used: {', '.join(told.unknown)}.")
    lines += [_kept(reports)] if reports else []
    return "\n".join(lines)


def _seen(roll: TraceReadings) -> str:
    way = f", {roll.length_m:.2f} m" if roll.length_m is not None else ""
    span = f"{roll.start_s:.2f} to {roll.end_s:.2f} s"
    return f"{roll.samples} samples of {roll.source} at {roll.rate_hz:.0f} Hz, {span}{way}."


def _said(roll: TraceReadings) -> list[str]:
    lines = [f"It slows down by {_range(roll.deceleration, 3)} m/s²."]
    lines.append(f"From the ramp it would have run {_range(roll.ramp_roll, 2)} m this way.")
    if roll.events is not None:
        lines.append(f"Vertical events: {_range(roll.events, 1)} per metre.")
    if roll.trueness_t is not None and roll.sideways is not None:
        index = _range(roll.trueness_t, 2, scale=1e6)
        side = _range(roll.sideways, 1)
        lines.append(f"Such a surface moves balls {side} mm sideways per metre; T = {index} µm.")
    for band in roll.bands:
        if band.rms is not None:
            waves = f"{1000 * band.low_m:.0f} to {1000 * band.high_m:.0f} mm"
            lines.append(f"Roughness in waves of {waves}: {_range(band.rms, 3)} mm rms.")
    if roll.finest_m is not None:
        finest = 1000 * roll.finest_m
        lines.append(f"Waves shorter than {finest:.0f} mm cannot be seen at this sampling.")
    return lines + [f"Note: {text}." for text in roll.notes]


def _speed(told: ToldTrace) -> list[str]:
    speed = told.green_speed
    feet = feet_inches(speed.value)
    if told.both:
        slope = f"the line slopes {100 * abs(told.both.slope):.1f} %"
        return [f"Green speed: {_range(speed, 2)} m ({feet}), level; {slope}."]
    return [f"Green speed: {_range(speed, 2)} m ({feet}), one roll one way, slope unknown."]


def _kept(reports: Sequence[LoadReport]) -> str:
    kept = sum(r.total.kept for r in reports)
    refused = dict.fromkeys(f"{x.column} {x.value!r}: {x.why}" for r in reports for x in r.refusals)
    why = f" Refused: {'; '.join(refused)}" if refused else ""
    return f"Kept {kept} of {sum(r.total.read for r in reports)} readings in the record.{why}"


def _range(one: Estimate, decimals: int, *, scale: float = 1.0) -> str:
    value, low, high = (f"{scale * x:.{decimals}f}" for x in (one.value, one.low, one.high))
    return f"{value} ({low} to {high})"
