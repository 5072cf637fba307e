"""What can be wrong: one cell or row (a Fault), or a whole file (FileRefused)."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NoReturn

from greenwright.base.errors import BadInput, RefusedInput


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in one row: the column, the cell as written, why, what to do."""

    column: str
    value: str
    why: str
    do: str = ""


class FileRefused(RefusedInput):
    """A whole file of the record cannot be read; the others still can.

    Args:
        why: what was seen.
        do: what to do about it.
        column: the column at fault, where there is one.
        value: what stood there.
    """

    def __init__(self, why: str, *, do: str = "", column: str = "", value: str = "") -> None:
        self.fault = Fault(column, value, why, do)
        super().__init__(why, where=column, do=do)


def bad(why: str, do: str = "") -> NoReturn:
    """Raise the fault of the cell at hand.

    Raises:
        BadInput: always.
    """
    raise BadInput(why, do=do)


def fault_of(error: BadInput, column: str, value: str) -> Fault:
    """Return an error that a cell raised as the fault of that cell."""
    advice = [f"expected {error.expected}" if error.expected else "", error.do]
    return Fault(column, value, error.what, "; ".join(part for part in advice if part))


def nearest(word: str, words: Iterable[str]) -> str:
    """Return advice that names the nearest words of a vocabulary, or a short one whole.

    >>> nearest("rol", ("mow", "roll"))
    'write one of: mow, roll'
    """
    known = [w for w in words if w]
    if len(known) <= 12:
        return f"write one of: {', '.join(known)}" if known else ""
    close = difflib.get_close_matches(word.lower(), known, n=3, cutoff=0.4)
    start = f"did you mean {' or '.join(close)}? " if close else ""
    return f"{start}The words are: {', '.join(known)}"
