"""The options that say which days, greens, events and settings a question is about."""

from __future__ import annotations

from typing import Annotated

import typer

Days = Annotated[
    int | None, typer.Option(help="Forecast, weather: how many days ahead, 1 to 14.", metavar="N")
]
Event = Annotated[
    str | None,
    typer.Option(help="Forecast: the chance of target on an event's day.", metavar="NAME"),
]
From = Annotated[
    str | None, typer.Option("--from", help="Why: first day of the change.", metavar="YYYY-MM-DD")
]
Until = Annotated[
    str | None, typer.Option(help="Why: last day of the change.", metavar="YYYY-MM-DD")
]
Against = Annotated[
    str | None, typer.Option(help="Why: the green that it is compared with.", metavar="KEY")
]
Green = Annotated[
    str | None,
    typer.Option(help="Golfers: the green pictured. Why: the green that changed.", metavar="KEY"),
]
Threshold = Annotated[
    list[str] | None,
    typer.Option(help="Weather: a disease model's own threshold.", metavar="NAME=NUMBER"),
]
CropCoefficient = Annotated[
    float | None, typer.Option(help="Weather: the greens' own crop coefficient.", metavar="N")
]
RootDepth = Annotated[
    str | None, typer.Option(help="Weather: root depth, as 120 mm or 5 in.", metavar="LENGTH")
]
Year = Annotated[
    int | None, typer.Option(help="Feed: the calendar year; empty = this one.", metavar="YYYY")
]
