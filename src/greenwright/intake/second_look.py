"""Cells of a workbook that the fast reader shows as blank or bare: errors, formulas, percent."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterable, Iterator
from itertools import zip_longest
from typing import Any

import openpyxl

from greenwright.base.errors import RefusedInput
from greenwright.intake.faults import Fault

Flaws = dict[tuple[int, int], Fault]
"""(row number, column index from 0) -> fault whose column is not yet known."""


def second_look(data: bytes, sheets: Iterable[str], source: str) -> dict[str, Flaws]:
    """Return the flawed cells of each named sheet.

    Args:
        data: a workbook that has passed the caps.
        sheets: names of the sheets to look at.

    Raises:
        RefusedInput: the careful reader cannot open the workbook.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            books = [
                openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=values)
                for values in (False, True)
            ]
            return {name: dict(_flaws(books[0][name], books[1][name])) for name in sheets}
    except Exception as error:
        raise RefusedInput(
            f"its formulas cannot be checked ({type(error).__name__})",
            where=source,
            do="save the workbook again, or save its sheets as CSV",
        ) from error


def _flaws(formulas: Any, values: Any) -> Iterator[tuple[tuple[int, int], Fault]]:
    for sheet in (formulas, values):
        sheet.reset_dimensions()
    for row, (written, shown) in enumerate(zip_longest(formulas, values, fillvalue=()), 1):
        for column, (formula, value) in enumerate(zip_longest(written, shown)):
            fault = _flaw(formula, value)
            if fault is not None:
                yield (row, column), fault


def _flaw(formula: Any, value: Any) -> Fault | None:
    if value is not None and value.data_type == "e":
        return Fault("", str(value.value), "the cell holds a spreadsheet error", "mend it")
    if formula is not None and formula.data_type == "f" and (value is None or value.value is None):
        return Fault(
            "",
            str(formula.value),
            "a formula without a saved value",
            "open the workbook in a spreadsheet and save it, or paste the value",
        )
    number = isinstance(getattr(value, "value", None), int | float)
    if number and "%" in (value.number_format or ""):
        return Fault(
            "",
            f"{value.value}",
            f"the cell is shown as {value.value * 100:g} %, but holds {value.value:g}",
            "write the figure you mean in a cell without percent format",
        )
    return None
