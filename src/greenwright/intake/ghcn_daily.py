"""GHCN-Daily files (an open standard of daily weather) -> a table of weather rows.

Three shapes are read: ``.dly`` (fixed columns, a line for each month and element), CSV with a line
for each element of a day, CSV with a line for each day. Temperature, rain and wind are whole
numbers of tenths there. A value with a quality flag is left out and noted; so is a mean outside
the day's own ends, which belongs to another reading hour.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from greenwright.intake.csv_text import decoded, records
from greenwright.intake.faults import Fault, FileRefused
from greenwright.intake.tables import MOST_ROWS, Table

ENDING = ".dly"
COLUMNS: tuple[str, ...] = (
    "date",
    "kind",
    "t_min_c",
    "t_max_c",
    "t_mean_c",
    "rain_mm",
    "rh_mean_pct",
    "rh_min_pct",
    "rh_max_pct",
    "wind_m_s",
    "sunshine_h",
    "station",
    "note",
)
ELEMENTS: dict[str, tuple[str, float]] = {
    "TMIN": ("t_min_c", 10.0),
    "TMAX": ("t_max_c", 10.0),
    "TAVG": ("t_mean_c", 10.0),
    "PRCP": ("rain_mm", 10.0),
    "AWND": ("wind_m_s", 10.0),
    "RHAV": ("rh_mean_pct", 1.0),
    "RHMN": ("rh_min_pct", 1.0),
    "RHMX": ("rh_max_pct", 1.0),
    "TSUN": ("sunshine_h", 60.0),
}
"""Element -> column of weather.csv, and what its whole number is divided by."""

_MISSING = "-9999"
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}")
_MONTH = re.compile(
    r"(?P<station>[A-Z]{2}[A-Z0-9_\-]{9})(?P<year>\d{4})(?P<month>\d\d)(?P<rest>.*)"
)
_WHOLE = re.compile(r"-?\d{1,5}")


@dataclass(frozen=True, slots=True)
class _Value:
    """One element of one day, as the file has it."""

    station: str
    day: str
    element: str
    text: str
    measured: str = ""
    quality: str = ""


@dataclass(slots=True)
class _Day:
    """The cells of one day at one station."""

    cells: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    flaw: Fault | None = None


def looks_like(data: bytes) -> bool:
    """Return whether the first line of a CSV is that of a GHCN-Daily file."""
    first = data[:4096].removeprefix(b"\xef\xbb\xbf").split(b"\n", 1)[0]
    cells = [c.strip().strip('"') for c in first.decode("ascii", "replace").split(",")]
    names = {cell.upper() for cell in cells}
    if {"STATION", "DATE"} <= names or {"ID", "DATE", "ELEMENT"} <= names:
        return bool(names & (ELEMENTS.keys() | {"ELEMENT"}))
    bare = len(cells) >= 4 and _STATION.fullmatch(cells[0]) and re.fullmatch(r"\d{8}", cells[1])
    return bool(bare and re.fullmatch(r"[A-Z0-9]{4}", cells[2]))


def read_ghcn(data: bytes, *, fixed: bool) -> Table:
    """Return the weather table of a GHCN-Daily file.

    Args:
        data: the bytes.
        fixed: a ``.dly`` file; else one of the CSV shapes.

    Raises:
        FileRefused: not of the standard, or no element that the record keeps.
    """
    text = decoded(data)
    values = _fixed(text) if fixed else _comma(text)
    days: dict[tuple[str, str], _Day] = {}
    for value in values:
        held = days.setdefault((value.station, value.day), _Day())
        _take(held, value)
        if len(days) > MOST_ROWS:
            raise FileRefused(f"more than {MOST_ROWS:,} days; none was read", do="cut the file")
    kept = {key: day for key, day in days.items() if day.cells or day.flaw}
    if not kept:
        raise FileRefused(
            "holds no temperature, rain, humidity, wind or sunshine of any day",
            do=f"one of {', '.join(ELEMENTS)} is needed",
        )
    return _table(kept)


def _fixed(text: str) -> Iterator[_Value]:
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        found = _MONTH.fullmatch(line.rstrip("\n"))
        if found is None:
            raise FileRefused(
                f"line {number} is not of a GHCN-Daily file",
                do="load the .dly file as it was published",
                value=line[:40],
            )
        element, rest = found["rest"][:4], found["rest"][4:]
        if element not in ELEMENTS:
            continue
        month = f"{found['year']}-{found['month']}"
        for day in range(31):
            piece = rest[8 * day : 8 * day + 8].ljust(8)
            value, flags = piece[:5].strip(), piece[5:]
            if value and value != _MISSING:
                yield _Value(
                    found["station"], f"{month}-{day + 1:02d}", element, value, flags[0], flags[1]
                )


def _comma(text: str) -> Iterator[_Value]:
    rows = _rows(text)
    first = next(rows, None)
    if first is None:
        raise FileRefused("the file is empty")
    names = [cell.strip().upper() for cell in first]
    if "ELEMENT" in names:
        yield from _long(rows, names)
    elif "STATION" in names and "DATE" in names:
        yield from _wide(rows, names)
    else:
        yield from _long(_before(first, rows), ["ID", "DATE", "ELEMENT", "VALUE", "M", "Q"])


def _rows(text: str) -> Iterator[Sequence[str]]:
    for number, cells in records(text):
        if isinstance(cells, Fault):
            raise FileRefused(f"line {number}: {cells.why}", do=cells.do)
        if any(cell.strip() for cell in cells):
            yield cells


def _before(first: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[Sequence[str]]:
    yield first
    yield from rows


def _long(rows: Iterable[Sequence[str]], names: Sequence[str]) -> Iterator[_Value]:
    """Yield from lines of one element each: station, day, element, value, flags."""
    at = _finder(names)
    station, day, element = (at(*words) for words in (("ID", "STATION"), ("DATE",), ("ELEMENT",)))
    value = at("VALUE", "DATA_VALUE", "DATA VALUE")
    measured, quality = at("M", "M_FLAG", "MFLAG"), at("Q", "Q_FLAG", "QFLAG")
    for cells in rows:
        if element(cells) in ELEMENTS and value(cells) not in ("", _MISSING):
            yield _Value(
                station(cells), _iso(day(cells)), element(cells), value(cells), measured(cells),
                quality(cells),
            )  # fmt: skip


def _wide(rows: Iterable[Sequence[str]], names: Sequence[str]) -> Iterator[_Value]:
    """Yield from lines of one day each: a column for each element, and one for its flags."""
    at = _finder(names)
    station, day = at("STATION"), at("DATE")
    elements = [(e, at(e), at(f"{e}_ATTRIBUTES")) for e in ELEMENTS if e in names]
    for cells in rows:
        for element, value, attributes in elements:
            if value(cells) not in ("", _MISSING):
                flags = (*attributes(cells).split(","), "", "")
                yield _Value(
                    station(cells), _iso(day(cells)), element, value(cells), flags[0].strip(),
                    flags[1].strip(),
                )  # fmt: skip


def _finder(names: Sequence[str]) -> Callable[..., Callable[[Sequence[str]], str]]:
    def at(*words: str) -> Callable[[Sequence[str]], str]:
        place = next((names.index(word) for word in words if word in names), None)
        return lambda cells: "" if place is None or place >= len(cells) else cells[place].strip()

    return at


def _iso(day: str) -> str:
    plain = day.replace("-", "")
    return f"{plain[:4]}-{plain[4:6]}-{plain[6:8]}" if re.fullmatch(r"\d{8}", plain) else day


def _take(held: _Day, value: _Value) -> None:
    column, divisor = ELEMENTS[value.element]
    if value.quality.strip():
        held.notes.append(f"{value.element} left out: quality flag {value.quality.strip()}")
    elif _WHOLE.fullmatch(value.text):
        held.cells[column] = f"{round(int(value.text) / divisor, 4):g}"
        if value.element == "PRCP" and value.measured == "T":
            held.notes.append("a trace of rain")
    else:
        held.flaw = held.flaw or Fault(
            column,
            value.text,
            f"{value.element} {value.text} is no whole number: the standard counts in tenths",
            "load the file as it was published, or name its columns as weather.csv does",
        )


def _table(days: dict[tuple[str, str], _Day]) -> Table:
    columns: dict[str, list[str]] = {name: [] for name in COLUMNS}
    flaws: dict[tuple[int, str], Fault] = {}
    for number, ((station, day), held) in enumerate(sorted(days.items(), key=_by_day), 2):
        _mean_inside(held)
        cells = held.cells | {"date": day, "kind": "observed", "station": station}
        cells["note"] = "; ".join(held.notes)
        for name, column in columns.items():
            column.append(cells.get(name, ""))
        if held.flaw:
            flaws[number, held.flaw.column] = held.flaw
    numbers = tuple(range(2, len(days) + 2))
    return Table(COLUMNS, numbers, columns, flaws=flaws)


def _by_day(item: tuple[tuple[str, str], _Day]) -> tuple[str, str]:
    (station, day), _ = item
    return day, station


def _mean_inside(held: _Day) -> None:
    """Leave out a mean that lies outside the day's ends."""
    ends = [held.cells.get(name) for name in ("t_min_c", "t_mean_c", "t_max_c")]
    if None not in ends and not float(ends[0]) <= float(ends[1]) <= float(ends[2]):  # type: ignore[arg-type]
        del held.cells["t_mean_c"]
        held.notes.append("TAVG left out: outside TMIN to TMAX")
