"""One row of a form, judged by the same rules as a row of a file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from greenwright.base.errors import UnknownKey
from greenwright.base.tables import record_files
from greenwright.base.values import Known, ParsedFile, Refusal
from greenwright.intake.rows import context_of, parse
from greenwright.intake.tables import Table

FORM_ROW = 1


def read_form(file: str, cells: Mapping[str, str], *, today: date, known: Known) -> ParsedFile:
    """Return the one row of a form, kept or refused; its row number is 1.

    Args:
        file: name of the record file, as ``readings``.
        cells: column name -> text as typed; names that the record does not know go to ``other``.
        today: readings and done work after it are refused as in the future.
        known: the course and greens there are.

    Raises:
        UnknownKey: there is no such record file.
    """
    files = record_files()
    if file not in files:
        raise UnknownKey(f"no record file named {file!r}", expected=", ".join(files))
    spoilt = next((name for name, text in cells.items() if not _is_text(name + text)), None)
    if spoilt is not None:
        why = "holds characters that are not text"
        refusal = Refusal(f"{file}.csv", FORM_ROW, spoilt, "", why, "type it again")
        return ParsedFile(file, "form", 1, (), (refusal,))
    header = tuple(name.strip() for name in cells)
    columns = {name: (text,) for name, text in zip(header, cells.values(), strict=True) if name}
    table = Table(tuple(columns), (FORM_ROW,), columns)
    return parse(table, context_of(files[file], today=today, known=known), source="form")


def _is_text(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return "\0" not in text
