"""A table of cells as text, column by column, with its rows numbered as a spreadsheet does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from greenwright.base.tables import RecordFile
from greenwright.intake.faults import Fault, FileRefused, nearest

MOST_COLUMNS = 200
MOST_ROWS = 2_000_000
BLOCK = 500

Record = tuple[int, Sequence[str] | Fault]
"""Row number and its cells, or the fault that kept them from being read."""


@dataclass(frozen=True, slots=True)
class Table:
    """The cells of one file or sheet.

    Args:
        header: column names, in the file's order.
        numbers: row number of each whole row; the header is row 1.
        columns: for each column name the cells of the whole rows.
        broken: row number -> fault, of rows that do not fit the header.
        flaws: (row number, column) -> fault of a cell that was seen while reading.
    """

    header: tuple[str, ...]
    numbers: tuple[int, ...]
    columns: Mapping[str, Sequence[str]]
    broken: Mapping[int, Fault] = field(default_factory=dict)
    flaws: Mapping[tuple[int, str], Fault] = field(default_factory=dict)


def tabulate(records: Iterable[Record], *, most_rows: int = MOST_ROWS) -> Table:
    """Return the table of numbered records; blank records are no rows.

    Raises:
        FileRefused: no header, a nameless or doubled column, too many columns or rows.
    """
    remaining = iter(records)
    growing = _Growing(_header(remaining))
    while block := list(islice(remaining, BLOCK)):
        growing.add(block)
        if len(growing.numbers) > most_rows:
            raise FileRefused(
                f"more than {most_rows:,} rows; no row was read",
                do="cut the file into several, for example one for each year",
            )
    header = growing.header
    columns = dict(zip(header, growing.columns, strict=True))
    return Table(header, tuple(growing.numbers), columns, growing.broken)


class _Growing:
    """Columns that grow block by block, so that no row outlives its block."""

    def __init__(self, header: tuple[str, ...]) -> None:
        self.header = header
        self.numbers: list[int] = []
        self.columns: list[list[str]] = [[] for _ in header]
        self.broken: dict[int, Fault] = {}

    def add(self, block: Iterable[Record]) -> None:
        """Take the rows that fit the header and name those that do not."""
        width = len(self.header)
        rows: list[Sequence[str]] = []
        for number, cells in block:
            if isinstance(cells, Fault):
                self.broken[number] = cells
            elif not any(map(str.strip, cells)):
                continue
            elif _fits(cells, width):
                rows.append(cells if len(cells) == width else cells[:width])
                self.numbers.append(number)
            else:
                self.broken[number] = _misfit(cells, self.header)
        if rows:
            for column, values in zip(self.columns, zip(*rows, strict=True), strict=True):
                column.extend(values)


def _header(records: Iterable[Record]) -> tuple[str, ...]:
    read = (cells for _, cells in records)
    first = next((c for c in read if isinstance(c, Fault) or any(map(str.strip, c))), None)
    if first is None:
        raise FileRefused("the file is empty", do="write the column names in its first row")
    if isinstance(first, Fault):
        raise FileRefused(f"the header cannot be read: {first.why}", do=first.do)
    names = [name.strip() for name in first]
    while names and not names[-1]:
        names.pop()
    if len(names) > MOST_COLUMNS:
        raise FileRefused(f"{len(names)} columns; at most {MOST_COLUMNS} are read")
    for place, name in enumerate(names):
        if not name:
            raise FileRefused(f"column {place + 1} has no name", do="name it or remove it")
        if name in names[:place]:
            raise FileRefused(
                f"column {name!r} stands twice in the header",
                do="rename or remove one of them",
                column=name,
                value=name,
            )
    return tuple(names)


def _fits(cells: Sequence[str], width: int) -> bool:
    """Return whether a row has the header's cells; empty ones beyond it are nothing."""
    return len(cells) == width or (len(cells) > width and not any(map(str.strip, cells[width:])))


def _misfit(cells: Sequence[str], header: tuple[str, ...]) -> Fault:
    width = len(header)
    lines = sum(cell.count("\n") for cell in cells)
    quote = f"; it runs over {lines + 1} lines: look for a quote that is not closed"
    short = len(cells) < width
    return Fault(
        header[min(len(cells), width) - 1],
        cells[-1] if short else cells[width],
        f"{len(cells)} cells where the header has {width}{quote if lines else ''}",
        "the row looks half-written: complete it"
        if short
        else "remove the surplus cells, or put a cell that holds a comma in double quotes",
    )


def need_columns(header: Sequence[str], file: RecordFile) -> None:
    """Refuse a file that lacks a column it cannot do without.

    Raises:
        FileRefused: naming the missing columns and what was seen instead.
    """
    missing = [c.name for c in file.columns if c.required and c.name not in header]
    if not missing:
        return
    strange = [name for name in header if file.column(name) is None]
    seen = f"; seen instead: {', '.join(map(repr, strange[:20]))}" if strange else ""
    raise FileRefused(
        f"the header lacks {', '.join(missing)}{seen}; no row was read",
        do=f"rename or add the column; {nearest('', (c.name for c in file.columns))}",
        column=missing[0],
        value=",".join(header)[:200],
    )
