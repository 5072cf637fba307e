"""Motion traces: a file of one rolled ball -> what it says, and its readings into the record."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import NAMESPACE_OID, uuid5

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.desk import books
from greenwright.desk.answering import sources

if TYPE_CHECKING:
    from greenwright.base.values import LoadReport
    from greenwright.measure.traces import TraceReadings, TwoRolls
    from greenwright.record import Store

METHOD = "motion trace"


@dataclass(frozen=True, slots=True)
class ToldTrace:
    """What a trace (and one of a roll back along the same line) says.

    Args:
        names: the files.
        checksum: of their contents and the span; names the readings that are saved from them.
        there, back: what each roll says; back None = one roll only.
        both: level green speed and slope of the two, or None.
        left_out, unknown: rows and columns of the files that were not used.
    """

    names: tuple[str, ...]
    checksum: str
    there: TraceReadings
    back: TraceReadings | None
    both: TwoRolls | None
    left_out: int
    unknown: tuple[str, ...]

    @property
    def rolls(self) -> tuple[TraceReadings, ...]:
        """Return what each roll says."""
        return (self.there,) if self.back is None else (self.there, self.back)

    def cannot(self, roll: TraceReadings) -> list[str]:
        """Return what a roll cannot tell, without the slope where both ways tell it."""
        from greenwright.measure.traces.readings import SLOPE_UNKNOWN

        return [text for text in roll.cannot if not (self.both and text == SLOPE_UNKNOWN)]

    @property
    def green_speed(self) -> Estimate:
        """Return the green speed: level where rolled both ways [m]."""
        return self.both.green_speed if self.both else self.there.green_speed


def read_trace(
    path: Path,
    *,
    back: Path | None = None,
    columns: Mapping[str, str] | None = None,
    span: tuple[float | None, float | None] = (None, None),
) -> ToldTrace:
    """Return what a trace says.

    Args:
        path: CSV of time with position, rotation, speed or acceleration, units in its header.
        back: the same of a ball rolled back along the same line.
        columns: what a column holds -> its header, where the header does not say it.
        span: use only this span of the first file's time [s]; None = open.

    Raises:
        RefusedInput: a file or a trace that cannot be used, with the reason.
    """
    from greenwright.measure.traces import two_way

    there, first = _one(path, columns or {}, span)
    other, second = _one(back, columns or {}, (None, None)) if back else (None, None)
    files = [f for f in (first, second) if f is not None]
    marks = "|".join([*(f[0] for f in files), repr(span)])
    return ToldTrace(
        names=tuple(p.name for p in (path, back) if p is not None),
        checksum=hashlib.sha256(marks.encode()).hexdigest(),
        there=there,
        back=other,
        both=two_way(there, other) if other else None,
        left_out=sum(f[1] for f in files),
        unknown=tuple(dict.fromkeys(name for f in files for name in f[2])),
    )


def _one(
    path: Path, columns: Mapping[str, str], span: tuple[float | None, float | None]
) -> tuple[TraceReadings, tuple[str, int, tuple[str, ...]]]:
    import numpy as np

    from greenwright.intake.trace_file import read_trace_file
    from greenwright.measure import traces

    data = Path(path).read_bytes()
    file = read_trace_file(data, columns=columns)
    held = {name: np.array(values) for name, values in file.channels.items()}
    trace = traces.MotionTrace(time_s=np.array(file.time_s), **held)
    told = traces.read_trace(trace, start_s=span[0], end_s=span[1])
    return told, (hashlib.sha256(data).hexdigest(), file.left_out, file.unknown)


def save(
    store: Store,
    told: ToldTrace,
    *,
    green: str,
    on: date | None = None,
    course: str | None = None,
    direction: str = "",
    instrument: str = "",
    who: str = "",
) -> tuple[LoadReport, ...]:
    """Keep the readings of a trace; the same trace saved twice is kept once.

    One roll is a roll_distance (what a ramp's ball would have run that way), two rolls there
    and back a green_speed; positions give a path_wander besides.

    Args:
        store: the record.
        told: what the trace says.
        green: key of the green it was rolled on.
        on: the day of the roll; None = today.
        course: key; None = the only one.
        direction: a | b of the roll along its line, where there are rolls both ways.
        instrument, who: what sensed it, who rolled it.

    Raises:
        BadInput: no green. CannotAnswer: which course is unclear.
    """
    if not green:
        raise BadInput("no green is named", where="--green", do="Say which green it was rolled on")
    day = on or books.today(store, course)
    common = {"date": day.isoformat(), "green": green, "method": METHOD, "instrument": instrument}
    rows = [_roll(told, direction), *_wander(told)]
    return tuple(
        books.enter(
            store,
            "readings",
            {k: v for k, v in {**common, "observer": who, **row}.items() if v}
            | {"id": _id(told, row["kind"], green, day)},
            course=course,
            who=who,
        )
        for row in rows
    )


def _roll(told: ToldTrace, direction: str) -> dict[str, str]:
    note = "; ".join(told.names)
    if told.both:
        speed = told.both.green_speed.value
        return {"kind": "green_speed", "value": f"{speed:.4f}", "unit": "m", "n": "2", "note": note}
    value = f"{told.there.ramp_roll.value:.4f}"
    row = {"kind": "roll_distance", "value": value, "unit": "m", "n": "1", "note": note}
    return row | {"direction": direction}


def _wander(told: ToldTrace) -> list[dict[str, str]]:
    """Return the wander of the first roll that shows one."""
    rolls = [r for r in told.rolls if r.path_wander is not None]
    if not rolls:
        return []
    seen = rolls[0].path_wander
    return [
        {
            "kind": "path_wander",
            "value": f"{seen.value:.5f}",
            "unit": "mm/m",
            "n": "1",
            "roll_length_m": f"{rolls[0].green_speed.value:.4f}",
            "low": f"{seen.low:.5f}",
            "high": f"{seen.high:.5f}",
            "note": "; ".join(told.names),
        }
    ]


def _id(told: ToldTrace, kind: str, green: str, day: date) -> str:
    return str(uuid5(NAMESPACE_OID, f"{told.checksum}|{kind}|{green}|{day.isoformat()}"))


def as_dict(told: ToldTrace) -> dict[str, Any]:
    """Return what a trace says as one JSON object, SI units inside."""
    from greenwright.measure.traces.readings import TRACE_KEYS

    return {
        "trace": list(told.names),
        "green_speed": told.green_speed.as_dict(),
        "slope": told.both.slope if told.both else None,
        "rolls": [_shape(r) | {"cannot": told.cannot(r)} for r in told.rolls],
        "left_out": told.left_out,
        "unknown_columns": list(told.unknown),
        "sources": [dict(row) for row in sources(TRACE_KEYS)],
    }


_PLAIN = ("source", "samples", "rate_hz", "start_s", "end_s", "length_m", "first_speed_m_s")
_ESTIMATES = (
    *("deceleration", "ramp_roll", "green_speed", "events"),
    *("trueness_t", "heading_k", "sideways", "path_wander"),
)


def _shape(one: TraceReadings) -> dict[str, Any]:
    return {
        **{name: getattr(one, name) for name in _PLAIN},
        "spacing_m": one.spacing_m,
        "finest_wavelength_m": one.finest_m,
        **{name: _estimate(getattr(one, name)) for name in _ESTIMATES},
        "roughness": [
            {"from_m": b.low_m, "to_m": b.high_m, "rms": _estimate(b.rms), "why": b.why}
            for b in one.bands
        ],
        "notes": list(one.notes),
    }


def _estimate(one: Estimate | None) -> dict[str, object] | None:
    return None if one is None else one.as_dict()
