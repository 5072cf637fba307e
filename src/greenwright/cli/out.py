"""Printing: JSON to standard output, faults in plain words to standard error, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Timer
from typing import Any, NoReturn

import typer
from typer.core import TyperGroup

from greenwright.base.errors import GreenwrightError, StoreError

_USAGE = next(kind for kind in typer.BadParameter.__mro__ if kind.__name__ == "UsageError")
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


def done(text: str, *, as_json: bool, **parts: Any) -> None:
    """Print what was done: in words, or its parts as one JSON object; a path as its text."""
    shape = {k: str(v) if isinstance(v, Path) else v for k, v in parts.items()}
    say_json(shape) if as_json else say(text)


@contextmanager
def faults(*, as_json: bool = False) -> Iterator[None]:
    """Print an error that was raised on purpose, and leave with its exit code.

    Args:
        as_json: also print it as a JSON object on standard output.
    """
    try:
        yield
    except GreenwrightError as error:
        _refuse(error, as_json=as_json)
    except BrokenPipeError:
        raise
    except OSError as error:
        told = StoreError(
            f"the file cannot be read or written ({error.strerror or error})",
            where=str(error.filename or ""),
            do="Check its name, its rights and the disk",
        )
        _refuse(told, as_json=as_json)


def _refuse(error: GreenwrightError, *, as_json: bool) -> NoReturn:
    if as_json:
        say_json(fault_json(error.what, error.where, error.expected, error.do))
    tell(f"greenwright: {error.sentence()}")
    raise typer.Exit(error.exit_code) from None


def fault_json(what: str, where: str = "", expected: str = "", do: str = "") -> dict[str, Any]:
    """Return the one JSON shape of every fault."""
    return {"error": {"what": what, "where": where, "expected": expected, "do": do}}


class Commands(TyperGroup):
    """Commands that tell wrong usage as JSON too, where JSON was asked for."""

    def main(self, args: Sequence[str] | None = None, *rest: Any, **named: Any) -> Any:
        """Run the words of a command line."""
        words = list(sys.argv[1:] if args is None else args)
        if "--json" not in words:
            return super().main(words, *rest, **named)
        try:
            code = super().main(words, *rest, **{**named, "standalone_mode": False})
        except _USAGE as fault:
            say_json(fault_json(fault.format_message(), do="See --help"))
            fault.show()
            code = fault.exit_code
        sys.exit(code or 0)


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
