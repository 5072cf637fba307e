"""Is a workbook safe to open? Looked at before any spreadsheet library sees it."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from greenwright.base.errors import RefusedInput

MOST_BYTES = 10_000_000
MOST_UNPACKED = 100_000_000
MOST_RATIO = 200
MOST_MEMBERS = 200
MOST_ROWS = 200_000
MOST_COLUMNS = 200
MOST_CELLS = 6_000_000
"""Rows x columns of one sheet: an empty corner cell makes a reader hold all that lie before."""

SMALL = 1_000_000
"""Under this size a high ratio does no harm: an empty sheet packs very well [bytes]."""

_CELL = re.compile(rb"<(?:\w+:)?c\s[^<>]*?\br\s*=\s*[\"']([A-Z]{1,4})(\d{1,9})")
_CELL_STYLES = re.compile(rb"<cellXfs.*?</cellXfs>", re.DOTALL)
_PERCENT_STYLE = re.compile(rb"numFmtId=\"(?:9|10)\"")
_ERROR_OR_FORMULA = re.compile(rb"t=\"e\"|<(?:\w+:)?f[\s/>]")


@dataclass(frozen=True, slots=True)
class Looked:
    """A workbook that may be opened; second_look = it holds errors, formulas or percentages."""

    second_look: bool


def look(data: bytes, source: str) -> Looked:
    """Return what a workbook holds, having unpacked every member once within the caps.

    Raises:
        RefusedInput: too large, not a zip, a zip bomb, an XML bomb, or cells out of reach.
    """
    if len(data) > MOST_BYTES:
        _refuse(source, f"larger than {MOST_BYTES // 1_000_000} MB", "save the sheets as CSV")
    again = False
    try:
        for name, content in _members(data, source):
            if name.endswith((".xml", ".rels")):
                _check_xml(name, content, source)
                again = again or _needs_second_look(name, content)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        _refuse(source, f"not a readable .xlsx workbook ({error})", "save it again as .xlsx")
    except (OSError, ValueError, OverflowError) as error:
        _refuse(source, f"a damaged .xlsx workbook ({error})", "save it again as .xlsx")
    return Looked(again)


def _refuse(source: str, what: str, do: str) -> None:
    raise RefusedInput(what, where=source, do=do)


def _members(data: bytes, source: str) -> Iterator[tuple[str, bytes]]:
    """Yield name and content; sizes are counted while unpacking, not believed."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        infos = archive.infolist()
        if len(infos) > MOST_MEMBERS:
            _refuse(source, f"{len(infos)} members in the zip, over {MOST_MEMBERS}", "")
        if sum(info.file_size for info in infos) > MOST_UNPACKED:
            _refuse(source, f"over {MOST_UNPACKED // 1_000_000} MB unpacked", "save it as CSV")
        left = MOST_UNPACKED
        for info in infos:
            if info.file_size > max(SMALL, MOST_RATIO * info.compress_size):
                _refuse(source, f"{info.filename} unpacks over {MOST_RATIO} times its size", "")
            with archive.open(info) as member:
                content = member.read(left + 1)
            left -= len(content)
            if left < 0:
                _refuse(source, f"over {MOST_UNPACKED // 1_000_000} MB unpacked", "save it as CSV")
            yield info.filename.lower(), content


def _check_xml(name: str, content: bytes, source: str) -> None:
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        _refuse(source, f"{name} declares entities, which no spreadsheet needs", "")
    if b"\0" in content:
        _refuse(source, f"{name} is not UTF-8", "save it again as .xlsx")
    furthest_row = furthest_column = 0
    for letters, digits in set(_CELL.findall(content)):
        furthest_row = max(furthest_row, int(digits))
        furthest_column = max(furthest_column, _column_number(letters))
    reach = f"{name} reaches row {furthest_row:,} and column {furthest_column:,}"
    if furthest_row > MOST_ROWS or furthest_column > MOST_COLUMNS:
        _refuse(source, f"{reach}; at most {MOST_ROWS:,} and {MOST_COLUMNS}", "save it as CSV")
    if furthest_row * furthest_column > MOST_CELLS:
        _refuse(source, f"{reach}: over {MOST_CELLS:,} cells", "save it as CSV")


def _column_number(letters: bytes) -> int:
    """Return the number of a column: A = 1, Z = 26, AA = 27."""
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _needs_second_look(name: str, content: bytes) -> bool:
    if name.endswith("styles.xml"):
        styles = b"".join(_CELL_STYLES.findall(content))
        return bool(_PERCENT_STYLE.search(styles)) or b"%" in content
    return "/worksheets/" in name and bool(_ERROR_OR_FORMULA.search(content))
