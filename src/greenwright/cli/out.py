"""Printing: JSON to standard output, faults in plain words to standard error, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Timer
from typing import Any

import typer

from greenwright.base.errors import GreenwrightError

PATIENCE_S = 1.0
"""How long a command works in silence [s]."""


def say(text: str) -> None:
    """Print to standard output."""
    typer.echo(text)


def tell(text: str) -> None:
    """Print to standard error, where it does not mix with the answer."""
    typer.echo(text, err=True)


def say_json(shape: Any) -> None:
    """Print one JSON object."""
    typer.echo(json.dumps(shape, ensure_ascii=False, indent=1, allow_nan=False))


@contextmanager
def faults(*, as_json: bool = False) -> Iterator[None]:
    """Print an error that was raised on purpose, and leave with its exit code.

    Args:
        as_json: also print it as a JSON object on standard output.
    """
    try:
        yield
    except GreenwrightError as error:
        if as_json:
            parts = {
                "what": error.what,
                "where": error.where,
                "expected": error.expected,
                "do": error.do,
            }
            say_json({"error": parts})
        tell(f"greenwright: {error.sentence()}")
        raise typer.Exit(error.exit_code) from None


@contextmanager
def progress() -> Iterator[Callable[[str, float], None]]:
    """Give a callback that shows what is being done, on a terminal and after a second only."""
    if not sys.stderr.isatty():
        yield lambda _text, _share: None
        return
    line = _Line()
    # The timer shows the step that was begun before the second was over.
    timer = Timer(PATIENCE_S, line.begin)
    timer.daemon = True
    timer.start()
    try:
        yield line.tell
    finally:
        timer.cancel()
        line.clear()


class _Line:
    """The last line of a terminal: the step being done, once it may be shown."""

    def __init__(self) -> None:
        self._text, self._width, self._begun = "", 0, False

    def begin(self) -> None:
        self._begun = True
        self._write()

    def tell(self, text: str, share: float) -> None:
        self._text = f"{text} … {100 * share:.0f} %"
        if self._begun:
            self._write()

    def clear(self) -> None:
        if self._width:
            sys.stderr.write("\r" + " " * self._width + "\r")
            sys.stderr.flush()

    def _write(self) -> None:
        sys.stderr.write("\r" + self._text.ljust(self._width))
        sys.stderr.flush()
        self._width = max(self._width, len(self._text))
