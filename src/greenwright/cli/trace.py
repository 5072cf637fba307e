"""`greenwright trace`: what the motion of one rolled ball says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from greenwright.base.errors import BadInput, RefusedInput
from greenwright.cli.options import RECORD, Course, Json, Record, day
from greenwright.cli.out import faults, say, say_json

if TYPE_CHECKING:
    from greenwright.base.values import LoadReport
    from greenwright.desk.traces import ToldTrace

File = Annotated[
    Path, typer.Argument(help="CSV: time_s with x_m and y_m, wx_rad_s …, or ax_m_s2 ….")
]
Back = Annotated[Path | None, typer.Option(help="The same, rolled back along the line.")]
Columns = Annotated[
    str, typer.Option(help="Where headers say no unit: time_s=Clock,x_mm=px.", metavar="PAIRS")
]
Span = Annotated[str, typer.Option(help="Use only this span of time, as 0.4:3.2.", metavar="S:S")]


def trace(
    file: File,
    *,
    back: Back = None,
    columns: Columns = "",
    span: Span = "",
    green: Annotated[str, typer.Option(help="Green it was rolled on.")] = "",
    direction: Annotated[str, typer.Option(help="a or b: which way along the line.")] = "",
    instrument: Annotated[str, typer.Option(help="What sensed it.")] = "",
    date: Annotated[str | None, typer.Option(help="Day of the roll.", metavar="DAY")] = None,
    save: Annotated[bool, typer.Option("--save", help="Keep its readings in the record.")] = False,
    record: Record = RECORD,
    course: Course = None,
    as_json: Json = False,
) -> None:
    """Say what the motion of a rolled ball tells: speed, events, wander, roughness."""
    with faults(as_json=as_json):
        from greenwright.cli.trace_words import trace_words
        from greenwright.desk import books, traces

        when = day(date) if date else None
        told = traces.read_trace(file, back=back, columns=pairs(columns), span=ends(span))
        reports: tuple[LoadReport, ...] = ()
        if save:
            with books.open_book(record) as store:
                reports = traces.save(
                    store,
                    told,
                    green=green,
                    on=when,
                    course=course,
                    direction=direction,
                    instrument=instrument,
                )
        _print(told, reports, as_json=as_json, words=trace_words)
        if any(report.total.refused for report in reports):
            raise typer.Exit(RefusedInput.exit_code)


def _print(
    told: ToldTrace, reports: tuple[LoadReport, ...], *, as_json: bool, words: object
) -> None:
    from greenwright.cli.report import report_json
    from greenwright.desk.traces import as_dict

    if as_json:
        say_json(as_dict(told) | {"saved": [report_json(r) for r in reports]})
    else:
        say(words(told, reports))  # type: ignore[operator]


def pairs(text: str) -> dict[str, str]:
    """Return what each column holds, from time_s=Clock,x_mm=px.

    Raises:
        BadInput: a part without a sign of equality.

    >>> pairs("time_s=Clock, x_mm=px")
    {'time_s': 'Clock', 'x_mm': 'px'}
    """
    made: dict[str, str] = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        meant, equals, head = part.partition("=")
        if not (equals and meant.strip() and head.strip()):
            raise BadInput(f"{part!r} is not MEANING=HEADER", where="--columns", expected="x_mm=px")
        made[meant.strip()] = head.strip()
    return made


def ends(text: str) -> tuple[float | None, float | None]:
    """Return the ends of a span of time [s], from 0.4:3.2; an empty end is open.

    Raises:
        BadInput: anything else.

    >>> ends("0.4:"), ends("")
    ((0.4, None), (None, None))
    """
    if not text:
        return None, None
    low, colon, high = text.partition(":")
    try:
        made = tuple(float(end) if end.strip() else None for end in (low, high))
    except ValueError:
        colon = ""
    if not colon:
        raise BadInput(f"{text!r} is no span", where="--span", expected="seconds as 0.4:3.2")
    return made[0], made[1]


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(trace)
