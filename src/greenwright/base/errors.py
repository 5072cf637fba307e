"""Errors that a person can act on: what, where, what was expected, what to do."""

from __future__ import annotations


class GreenwrightError(Exception):
    """Base of every error raised on purpose.

    Args:
        what: what is wrong, in plain words.
        where: file, row, column, argument or green it concerns.
        expected: what would have been right.
        do: the one thing to do next.
    """

    exit_code = 1

    def __init__(self, what: str, *, where: str = "", expected: str = "", do: str = "") -> None:
        self.what, self.where, self.expected, self.do = what, where, expected, do
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Return the whole error as one line of plain words."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        advice = self.do[:1].upper() + self.do[1:]
        parts = (head, f"Expected {self.expected}" if self.expected else "", advice)
        return " ".join(part if part[-1] in ".?!" else f"{part}." for part in parts if part)


class BadInput(GreenwrightError):
    """A value that was given cannot be used."""

    exit_code = 2


class UnknownKey(BadInput):
    """A name that is not in the table it was looked up in."""


class CannotAnswer(GreenwrightError):
    """The record does not hold what the question needs."""

    exit_code = 1


class RefusedInput(GreenwrightError):
    """A file or a row was refused."""

    exit_code = 3


class StoreError(GreenwrightError):
    """The store could not be read or written; what was saved before is intact."""

    exit_code = 1
