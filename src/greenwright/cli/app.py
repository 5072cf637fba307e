"""The command `greenwright` and its parts; whatever is heavy loads inside the command."""

from __future__ import annotations

import sys

import typer

from greenwright.cli import about, books, question, reckoner, trace, trial
from greenwright.cli.out import Commands

app = typer.Typer(
    name="greenwright",
    cls=Commands,
    help="Keeps a course's record of its putting greens and turns it into this week's work.",
    epilog="Exit codes: 0 answered, 1 the record cannot answer, 2 wrong usage, 3 rows refused.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

for part in (question, books, reckoner, trace, trial, about):
    part.join(app)


def run() -> None:
    """Run the command and leave with its exit code; whatever is printed is UTF-8."""
    for stream in (sys.stdout, sys.stderr):
        # A test or a notebook may stand in for the terminal with a stream that has no encoding.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()
