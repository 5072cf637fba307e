"""`greenwright trial`: analyse a trial's data file, or lay one out."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from greenwright.cli.options import RECORD, Course, Json, On, Record, day
from greenwright.cli.out import Commands, faults, say, say_json

trial = typer.Typer(
    name="trial",
    cls=Commands,
    help="Lay out a fair comparison, and analyse one from its data file.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
LAYOUTS = (
    "completely-randomised, complete-block, latin-square, split-plot, split-split-plot, strip, "
    "split-plot-in-time, crossover, stepped-wedge, before-after or half-greens."
)
OVER_GREENS = "crossover, half-greens, before-after, completely-randomised or stepped-wedge."
Columns = Annotated[str, typer.Option(metavar="COLUMNS")]


def analyse(  # noqa: PLR0913 (a command has one argument for each of its options)
    file: Annotated[Path, typer.Argument(help="CSV with a header, one row for each reading.")],
    *,
    layout: Annotated[str, typer.Option(help=LAYOUTS, metavar="LAYOUT")],
    response: Annotated[str, typer.Option(help="Column of the readings.", metavar="COLUMN")],
    treatments: Columns = "",
    blocks: Columns = "",
    rows: Columns = "",
    columns: Columns = "",
    whole: Columns = "",
    sub: Columns = "",
    subsub: Columns = "",
    units: Columns = "",
    periods: Columns = "",
    group: Columns = "",
    phase: Columns = "",
    treated: Columns = "",
    plots: Annotated[str, typer.Option(help="Tells plots apart.", metavar="COLUMNS")] = "",
    baseline: Annotated[str, typer.Option(help="Read before it began.", metavar="COLUMNS")] = "",
    trend: Annotated[str, typer.Option(help="Factors that are doses.", metavar="COLUMNS")] = "",
    order: Annotated[int | None, typer.Option(help="Highest interaction.", min=1)] = None,
    log: Annotated[bool, typer.Option("--log", help="Take logarithms of the readings.")] = False,
    control: Annotated[str | None, typer.Option(help="Level to compare with.")] = None,
    margin: Annotated[
        float | None, typer.Option(help="Largest difference that does not matter.")
    ] = None,
    unit: Annotated[str, typer.Option(help="Of the readings, for telling.")] = "",
    seed: Annotated[int, typer.Option(help="Where re-running the lot starts.")] = 1,
    script: Annotated[
        Path | None, typer.Option(help="Also write a Python file that does the same.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Analyse a trial from its declared layout: terms, strata, contrasts with intervals."""
    with faults(as_json=as_json):
        from greenwright.desk import trialfile

        names = ("treatments", "blocks", "rows", "columns", "whole", "sub", "subsub", "units",
                 "periods", "group", "phase", "treated", "plots")  # fmt: skip
        given = (treatments, blocks, rows, columns, whole, sub, subsub, units, periods, group,
                 phase, treated, plots)  # fmt: skip
        declared = trialfile.declared_of(
            layout,
            response,
            dict(zip(names, given, strict=True)),
            baseline=baseline,
            trend=trend,
            order=order,
            log=log,
            control=control,
            margin=margin,
            unit=unit,
        )
        told = trialfile.analyse_file(file, declared, seed=seed)
        if script is not None:
            script.write_text(trialfile.script_of(file.name, declared), encoding="utf-8")
        say_json(told) if as_json else say(trial_words(told))


def design(  # noqa: PLR0913 (a command has one argument for each of its options)
    name: Annotated[str, typer.Argument(help="A name keeps it; by name alone it is told.")] = "",
    *,
    record: Record = RECORD,
    course: Course = None,
    on: On = None,
    layout: Annotated[str, typer.Option(help=OVER_GREENS, metavar="LAYOUT")] = "",
    treatments: Annotated[str, typer.Option(help="The usual first: as usual,rolled.")] = "",
    greens: Annotated[str, typer.Option(help="As 1,2,3.")] = "",
    never: Annotated[str, typer.Option(help="Greens of an event, left as they are.")] = "",
    kind: Annotated[str, typer.Option(help="What is read, as roll_distance.")] = "",
    first: Annotated[str | None, typer.Option("--from", metavar="YYYY-MM-DD")] = None,
    days: Annotated[int | None, typer.Option(help="Days of one turn.", min=1)] = None,
    periods: Annotated[int | None, typer.Option(help="Turns.", min=1)] = None,
    seed: Annotated[int | None, typer.Option(help="Of the lot.", min=1)] = None,
    difference: Annotated[float | None, typer.Option(help="To be seen, SI.")] = None,
    sd: Annotated[float | None, typer.Option(help="Of a green and turn, SI.")] = None,
    full: Annotated[bool, typer.Option("--full", help="Print every table.")] = False,
    report: Annotated[Path | None, typer.Option(help="Write one page (PDF).")] = None,
    reader: Annotated[str, typer.Option(help="committee or scientist.")] = "committee",
    data: Annotated[Path | None, typer.Option(help="Write CSV and a script here.")] = None,
    as_json: Json = False,
) -> None:
    """Lay out a fair comparison by lot, follow it, and tell what it found."""
    with faults(as_json=as_json):
        from greenwright import desk
        from greenwright.desk import books

        asked = {
            "name": name, "layout": layout, "treatments": treatments, "greens": greens,
            "never": never, "kind": kind, "from": day(first) if first else None, "days": days,
            "periods": periods, "seed": seed, "difference": difference, "sd": sd,
        }  # fmt: skip
        options = {key: held for key, held in asked.items() if held not in (None, "")}
        when = day(on) if on else None
        with books.open_book(record) as store:
            told = desk.ask("trial", store, on=when or books.today(store, course), course=course,
                            **options)  # fmt: skip
            place = books.course_of(store, course)
        if report is not None:
            from greenwright.show.trial_report import report_pdf

            report.write_bytes(report_pdf(told, place, reader=reader))
        if data is not None:
            from greenwright.desk.trialfile import export_trial

            export_trial(told, data)
        if as_json:
            say(told.as_json())
            return
        from greenwright.show import words

        say(words(told, course=place, full=full).rstrip())


def trial_words(told: dict[str, Any]) -> str:
    """Return an analysis as plain text: findings first, then the table, then the checks."""
    held = told["trial"]
    lines = [f"{held['name']}: {held['response']}, {held['layout']}.", held["how"], ""]
    lines += [row["reason"] for row in told["findings"]]
    lines += told["aliased"]
    lines += ["", f"{'Term':<24}{'df':>4}{'error':>9}{'F':>10}{'p':>10}"]
    for row in told["findings"]:
        lines.append(f"{row['term']:<24}{row['df']:>4}{_n(row['df_error'], '9.4g')}"
                     f"{_n(row['F'], '10.3f')}{_p(row['p'])}")  # fmt: skip
    lines += ["", "Differences (interval for the family)"] if told["contrasts"] else []
    for row in told["contrasts"]:
        lines.append(f"  {row['first']} − {row['second']}: {row['value']:.4g} "
                     f"({row['low']:.4g} to {row['high']:.4g}) {row['unit']}".rstrip())  # fmt: skip
    lines += ["", "Checks", *(f"- {row['text']}" for row in told["checks"])]
    return "\n".join(lines)


def _n(value: float | None, shape: str) -> str:
    width = shape.split(".")[0]
    return f"{'':>{width}}" if value is None else f"{value:{shape}}"


def _p(value: float | None) -> str:
    return f"{'<0.0001':>10}" if value is not None and value < 1e-4 else _n(value, "10.4f")


def join(app: typer.Typer) -> None:
    """Add the command."""
    trial.command()(analyse)
    trial.command()(design)
    app.add_typer(trial)
