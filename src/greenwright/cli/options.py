"""The options that several commands share."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from greenwright.base.errors import BadInput


def day(text: str) -> date:
    """Return the day written as an ISO date.

    Raises:
        BadInput: anything else.

    >>> day("2026-06-05")
    datetime.date(2026, 6, 5)
    """
    try:
        if len(text) == 10:
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise BadInput(f"{text!r} is not a day", where="--on", expected="a date such as 2026-06-05")


Record = Annotated[Path, typer.Option("--record", help="The record file.", metavar="FILE")]
Course = Annotated[
    str | None, typer.Option("--course", help="Course key, where the record holds several.")
]
On = Annotated[
    str | None, typer.Option("--on", help="Take this day as today.", metavar="YYYY-MM-DD")
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")]
RECORD = Path("greenwright.db")
