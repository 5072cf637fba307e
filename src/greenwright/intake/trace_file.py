"""A CSV of one rolled ball's motion -> columns of numbers in SI units."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi

from greenwright.base.errors import BadInput
from greenwright.base.units import number
from greenwright.intake.csv_text import read_csv
from greenwright.intake.faults import FileRefused

MOST_SAMPLES = 200_000
MOST_LEFT_OUT = 0.1

_LENGTH = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048}
_UNITS: Mapping[str, Mapping[str, float]] = {
    "s": {"s": 1.0, "ms": 0.001, "us": 1e-6},
    "m": _LENGTH,
    "m_s2": {"m_s2": 1.0, "cm_s2": 0.01, "mm_s2": 0.001, "g": 9.80665, "mg": 0.00980665},
    "rad_s": {"rad_s": 1.0, "deg_s": pi / 180, "rpm": pi / 30, "rev_s": 2 * pi},
    "m_s": {"m_s": 1.0, "cm_s": 0.01, "mm_s": 0.001, "ft_s": 0.3048, "km_h": 1 / 3.6},
}
"""SI unit of a channel -> units it may be written in, and their factors."""

_NAMES: Mapping[str, tuple[str, str]] = {
    "time": ("time", "s"),
    "t": ("time", "s"),
    "x": ("x", "m"),
    "y": ("y", "m"),
    "z": ("z", "m"),
    "ax": ("ax", "m_s2"),
    "ay": ("ay", "m_s2"),
    "az": ("az", "m_s2"),
    "wx": ("wx", "rad_s"),
    "wy": ("wy", "rad_s"),
    "wz": ("wz", "rad_s"),
    "w": ("wx", "rad_s"),
    "rotation": ("wx", "rad_s"),
    "speed": ("speed", "m_s"),
    "v": ("speed", "m_s"),
}
"""Name in a header -> channel and its SI unit."""

_HEADER = re.compile(r"([a-z]+)[ _]*[\[(]?([a-z0-9_]*)[\])]?")
_EXAMPLES = "time_s, x_m, y_m, z_mm, ax_m_s2, az [g], wx_rad_s, wy (deg/s), speed_m_s"


@dataclass(frozen=True, slots=True)
class TraceFile:
    """The columns of a trace in SI units.

    Args:
        time_s: [s].
        channels: name with unit, as x_m or az_m_s2 -> values, as long as the time.
        left_out: rows without a value in one of these columns.
        unknown: columns that were not read.
    """

    time_s: tuple[float, ...]
    channels: Mapping[str, tuple[float, ...]]
    left_out: int
    unknown: tuple[str, ...]


def read_trace_file(data: bytes, *, columns: Mapping[str, str] | None = None) -> TraceFile:
    """Return the columns of a motion trace.

    Args:
        data: the CSV, UTF-8, comma separated, its units in the header: time_s, x [mm],
            az (g), wx_rad_s and so on.
        columns: what a column holds -> its header in the file, where the file's own headers
            do not say it, as {"time_s": "Clock", "x_mm": "px"}; others are then read as named.

    Raises:
        FileRefused: another dialect, no time, nothing beside it, a column without a unit, a
            cell that is no number, too many empty cells; with row and column.
    """
    table = read_csv(data)
    for row, fault in table.broken.items():
        raise FileRefused(f"row {row}: {fault.why}", do=fault.do)
    if len(table.numbers) > MOST_SAMPLES:
        raise FileRefused(
            f"{len(table.numbers):,} samples; at most {MOST_SAMPLES:,} are read",
            do="cut the trace to one rolled ball",
        )
    used = _chosen(table.header, columns or {})
    whole = [i for i in range(len(table.numbers)) if all(table.columns[h][i].strip() for h in used)]
    left_out = len(table.numbers) - len(whole)
    if left_out > MOST_LEFT_OUT * len(table.numbers):
        raise FileRefused(
            f"{left_out} of {len(table.numbers)} rows have empty cells",
            do="track the ball again, or leave the column out",
        )
    read = {
        name: _numbers(table.columns[head], whole, table.numbers, (head, factor))
        for head, (name, factor) in used.items()
    }
    unknown = tuple(h for h in table.header if h not in used)
    return TraceFile(read.pop("time_s"), read, left_out, unknown)


def _chosen(header: Sequence[str], columns: Mapping[str, str]) -> dict[str, tuple[str, float]]:
    """Return header -> channel with its SI unit, and the factor to it."""
    given = {head: meant for meant, head in columns.items()}
    for head, meant in given.items():
        if head not in header:
            raise FileRefused(
                f"the file has no column {head!r}",
                do=f"name one of: {', '.join(header)}",
                column=head,
            )
        if _meaning(meant) is None:
            raise FileRefused(f"{meant!r} is not known", do=f"write as in {_EXAMPLES}")
    used: dict[str, tuple[str, float]] = {}
    for head in header:
        found = _meaning(given.get(head, head))
        if found is not None:
            _refuse_doubles(found[0], head, used)
            used[head] = found
    _need(used, header)
    return used


def _meaning(text: str) -> tuple[str, float] | None:
    """Return channel and factor that a header means; None where it is no channel's name.

    Raises:
        FileRefused: a channel without a unit, or with one that is not known.
    """
    plain = text.strip().lower().replace("²", "2").replace("^", "").replace("/", "_")
    match = _HEADER.fullmatch(plain)
    if match is None or match[1] not in _NAMES:
        return None
    (channel, si), unit = _NAMES[match[1]], match[2]
    factor = _UNITS[si].get(unit)
    if factor is None:
        raise FileRefused(
            f"the column {text!r} names no unit" if not unit else f"no unit {unit!r} of {channel}",
            do=f"write it with one of {', '.join(_UNITS[si])}, as {channel}_{si}",
            column=text,
        )
    return f"{channel}_{si}", factor


def _refuse_doubles(name: str, head: str, used: Mapping[str, tuple[str, float]]) -> None:
    other = next((h for h, (n, _) in used.items() if n == name), None)
    if other is not None:
        raise FileRefused(
            f"the columns {other!r} and {head!r} both hold {name}",
            do="leave one of them out, or say with --columns which is meant",
            column=head,
        )


def _need(used: Mapping[str, tuple[str, float]], header: Sequence[str]) -> None:
    names = {name for name, _ in used.values()}
    lacking = "time" if "time_s" not in names else "anything beside time"
    if "time_s" in names and len(names) > 1:
        return
    raise FileRefused(
        f"the header does not name {lacking}; seen: {', '.join(header)}",
        do=f"name the columns with their units, as {_EXAMPLES}",
    )


def _numbers(
    cells: Sequence[str], whole: Sequence[int], rows: Sequence[int], told: tuple[str, float]
) -> tuple[float, ...]:
    head, factor = told
    made = []
    for i in whole:
        try:
            made.append(factor * number(cells[i]))
        except BadInput as error:
            raise FileRefused(
                f"row {rows[i]}: {error.what}", do=error.do, column=head, value=cells[i]
            ) from None
    return tuple(made)
