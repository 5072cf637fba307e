"""`greenwright ask`: one question, answered in words or as JSON."""

from __future__ import annotations

from typing import Annotated

import typer

from greenwright.cli.options import RECORD, Course, Json, On, Record, day
from greenwright.cli.out import faults, progress, say


def ask(
    question: Annotated[str, typer.Argument(help="today, effects or week.")],
    *,
    record: Record = RECORD,
    course: Course = None,
    on: On = None,
    full: Annotated[
        bool, typer.Option("--full", help="Print every table, reason and source of doubt.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Ask a question of the record: today, effects, week."""
    with faults(as_json=as_json):
        from greenwright import desk

        # A slip in the question is told before the record is asked for.
        desk.check(question)
        when = day(on) if on else None
        from greenwright.desk import books

        with books.open_book(record) as store, progress() as show:
            answer = desk.ask(
                question,
                store,
                on=when or books.today(store, course),
                course=course,
                progress=show,
            )
            place = books.course_of(store, course)
        if as_json:
            say(answer.as_json())
            return
        from greenwright.show import words

        say(words(answer, course=place, full=full).rstrip())
        if not full:
            say("\nEvery table, each reason and how we know: add --full.")


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(ask)
