"""The command `greenwright`: the command line face, with the web face added to it."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from greenwright.cli import app, run


@app.command()
def serve(
    record: Annotated[Path, typer.Option(help="The record file.")] = Path("greenwright.db"),
    port: Annotated[int, typer.Option(help="Port on this machine.")] = 8747,
    on: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], help="Take this day as today (for a demo record)."),
    ] = None,
) -> None:
    """Open the pages in a browser on this machine."""
    from greenwright.web import serve as serve_pages

    serve_pages(record, port=port, on=on.date() if on else None)


def main() -> None:
    """Run the command and leave with its exit code."""
    run()
