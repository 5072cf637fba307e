"""`greenwright ask`: one question, answered in words or as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from greenwright.base.errors import BadInput
from greenwright.cli.options import RECORD, Course, Json, On, Record, day
from greenwright.cli.out import faults, progress, say
from greenwright.cli.whatif import Rounds, Smoothness, Speed, Trueness, given
from greenwright.cli.when import (
    Against,
    CropCoefficient,
    Days,
    Event,
    From,
    Green,
    RootDepth,
    Threshold,
    Until,
    Year,
)

READY = "today, golfers, why, effects, forecast, week, track, weather, feed or trial."
KEYS = {
    "speed": ("speed_m",),
    "distance": ("distance_m",),
    "trueness": ("trueness_t", "sideways_mm_per_m"),
    "root_depth": ("root_depth_m",),
}
"""Options as typed -> as the desk calls them, where that differs."""


def ask(  # noqa: PLR0913 (a command has one argument for each of its options)
    question: Annotated[str, typer.Argument(help=READY)],
    *,
    record: Record = RECORD,
    course: Course = None,
    on: On = None,
    full: Annotated[
        bool, typer.Option("--full", help="Print every table, reason and source of doubt.")
    ] = False,
    as_json: Json = False,
    rounds: Rounds = None,
    speed: Speed = None,
    smoothness: Smoothness = None,
    trueness: Trueness = None,
    green: Green = None,
    player: Annotated[
        str | None, typer.Option(help="Golfers: who putts: tour, 90.", metavar="NAME")
    ] = None,
    distance: Annotated[
        str | None, typer.Option(help="Golfers: from where, as 3 m or 10ft.", metavar="LENGTH")
    ] = None,
    heights: Annotated[
        Path | None, typer.Option(help="Golfers: a height grid of the green.", metavar="FILE")
    ] = None,
    first: From = None,
    until: Until = None,
    against: Against = None,
    days: Days = None,
    event: Event = None,
    threshold: Threshold = None,
    crop_coefficient: CropCoefficient = None,
    root_depth: RootDepth = None,
    year: Year = None,
) -> None:
    """Ask a question: today, golfers, why, effects, forecast, week, track …, trial."""
    with faults(as_json=as_json):
        wanted = {
            "rounds": rounds,
            "speed": speed,
            "smoothness": smoothness,
            "trueness": trueness,
            "green": green,
            "player": player,
            "distance": distance,
            "heights": heights,
            "from": first,
            "until": until,
            "against": against,
            "days": days,
            "event": event,
            "threshold": "; ".join(threshold) if threshold else None,
            "crop_coefficient": crop_coefficient,
            "root_depth": root_depth,
            "year": year,
        }
        answer, place = _answered(question, wanted, record=record, course=course, on=on)
        if as_json:
            say(answer.as_json())
            return
        from greenwright.show import words

        say(words(answer, course=place, full=full).rstrip())
        if not full:
            say("\nEvery table, each reason and how we know: add --full.")


def _answered(
    question: str, wanted: dict[str, Any], *, record: Path, course: str | None, on: str | None
) -> tuple[Any, Any]:
    """Return the answer, and the course whose units it is told in."""
    from greenwright import desk

    # A slip in the question is told before the record is asked for.
    desk.check(question)
    options = _options(question, wanted)
    when = day(on) if on else None
    from greenwright.desk import books

    with books.open_book(record) as store, progress() as show:
        answer = desk.ask(
            question,
            store,
            on=when or books.today(store, course),
            course=course,
            progress=show,
            **options,
        )
        return answer, books.course_of(store, course)


def _options(question: str, wanted: dict[str, Any]) -> dict[str, Any]:
    """Return the options of a question, in its own units.

    Raises:
        BadInput: an option that the question does not take, or that cannot be read.
    """
    from greenwright import desk

    named = {name: held for name, held in wanted.items() if held is not None}
    taken = desk.OPTIONS.get(question, ())
    for name in named:
        if not set(KEYS.get(name, (name,))) & set(taken):
            raise _not_taken(question, name)
    return given(named)


def _not_taken(question: str, name: str) -> BadInput:
    from greenwright import desk

    keys = KEYS.get(name, (name,))
    takers = [one for one, taken in desk.OPTIONS.items() if set(keys) & set(taken)]
    return BadInput(
        f"--{name} is no option of the question {question}",
        where=f"--{name}",
        expected=f"an option of the question {question}",
        do=f"Leave it out, or ask {' or '.join(takers)}",
    )


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(ask)
