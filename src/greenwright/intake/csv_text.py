"""Bytes of a CSV file -> numbered records of text; nothing is guessed or replaced."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterator

from greenwright.intake.faults import Fault, FileRefused
from greenwright.intake.tables import Record, Table, tabulate

MOST_BYTES = 200_000_000

_OTHER_MARKS = {
    codecs.BOM_UTF32_LE: "UTF-32",
    codecs.BOM_UTF32_BE: "UTF-32",
    codecs.BOM_UTF16_LE: "UTF-16",
    codecs.BOM_UTF16_BE: "UTF-16",
}
_SAVE_AS = "save the file as 'CSV UTF-8 (comma delimited)' and load it again"
_DIALECTS = {";": "semicolons", "\t": "tabs", "|": "bars"}


def read_csv(data: bytes) -> Table:
    """Return the table of a CSV file.

    Raises:
        FileRefused: not UTF-8, another dialect, or a header that cannot be used.
    """
    if len(data) > MOST_BYTES:
        raise FileRefused(f"larger than {MOST_BYTES // 1_000_000} MB", do="cut it into several")
    text = decoded(data)
    _refuse_other_dialects(text)
    return tabulate(records(text))


def decoded(data: bytes) -> str:
    """Return the text of UTF-8 bytes, with or without a byte order mark.

    Raises:
        FileRefused: another encoding; says which byte stands in which line.
    """
    for mark, name in _OTHER_MARKS.items():
        if data.startswith(mark):
            raise FileRefused(f"the file is {name}, not UTF-8", do=_SAVE_AS)
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise FileRefused(f"a NUL byte in line {line}: this is not UTF-8 text", do=_SAVE_AS)
    try:
        return data.removeprefix(codecs.BOM_UTF8).decode("utf-8")
    except UnicodeDecodeError as error:
        start = error.start + (len(codecs.BOM_UTF8) if data.startswith(codecs.BOM_UTF8) else 0)
        raise FileRefused(_not_utf8(data, start), do=_SAVE_AS) from None


def _not_utf8(data: bytes, start: int) -> str:
    line = data.count(b"\n", 0, start) + 1
    guess = data[start : start + 1].decode("cp1252", errors="ignore")
    would = f"; in Windows-1252 it would be {guess!r}" if guess.isprintable() and guess else ""
    return f"byte 0x{data[start]:02X} in line {line} is not UTF-8{would}"


def _refuse_other_dialects(text: str) -> None:
    first = next((line for line in io.StringIO(text) if line.strip()), "").strip("\r\n")
    if "," in first:
        return
    for mark, name in _DIALECTS.items():
        if mark in first:
            raise FileRefused(
                f"the columns are separated by {name}, not by commas",
                do="save it comma separated, with decimal points and ISO dates (2026-06-03)",
                value=first[:200],
            )


def records(text: str) -> Iterator[Record]:
    """Yield the records of CSV text, numbered as a spreadsheet numbers its rows.

    Raises:
        FileRefused: a cell so long that the rest of the file cannot be told apart.
    """
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    number = 0
    while True:
        number += 1
        before = reader.line_num
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield number, _unreadable(str(error), before + 1, reader.line_num)
        else:
            yield number, cells


def _unreadable(error: str, first: int, last: int) -> Fault:
    if "field larger" in error:
        raise FileRefused(
            f"a cell that starts in line {first} is longer than 131,072 characters",
            do="look there for a quote that is not closed; no row was read",
        )
    if "unexpected end" in error:
        lines = f"line {first}" if last <= first else f"lines {first} to {last}"
        return Fault(
            "",
            "",
            f"a double quote is opened and never closed; {lines} cannot be read",
            "the file looks half-written: complete its last row, or close the quote",
        )
    return Fault("", "", f"the quotes of this row do not match ({error})", "correct its quotes")
