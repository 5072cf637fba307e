"""The command `greenwright`: the command line face, with the web face added to it."""

from __future__ import annotations

from typing import Annotated

import typer

from greenwright.cli import app, run
from greenwright.cli.options import RECORD, On, Record, day
from greenwright.cli.out import faults, say


@app.command()
def serve(
    record: Record = RECORD,
    on: On = None,
    port: Annotated[int, typer.Option("--port", help="Port; 0 takes a free one.")] = 8747,
    host: Annotated[
        str, typer.Option("--host", help="Address of this machine; others are refused.")
    ] = "127.0.0.1",
) -> None:
    """Open the pages for a browser on this machine; stop with Ctrl-C."""
    from greenwright.web import serve as serve_pages

    with faults():
        fixed = day(on) if on else None
        serve_pages(
            record,
            host,
            port,
            today=(lambda: fixed) if fixed else None,
            announce=lambda address: say(f"Open {address} in a browser. Ctrl-C stops it."),
        )


def main() -> None:
    """Run the command and leave with its exit code."""
    run()
