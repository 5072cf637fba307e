"""Track: how good have our own forecasts and advice been?"""

from __future__ import annotations

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, judged, rows, terms
from greenwright.show.dates import after, long_date, short_date
from greenwright.show.figures.coverage import coverage_figure, finding
from greenwright.show.figures.skill import finding as skill_finding
from greenwright.show.figures.skill import skill_figure, skill_table
from greenwright.show.page import Figure, Page, Section, Table, sentence
from greenwright.show.pages.parts import joined

EMPTY = (
    "We cannot tell yet: no forecast of ours has come due.",
    "Every forecast is kept on the day it is given. Once a green is read on a day that was "
    "forecast, that forecast is judged, and this page fills by itself.",
)
IN_TIME = (
    "Only forecasts kept before the day are judged, against what was read on it; nothing is "
    "worked out afterwards."
)
LATE = (
    "Each forecast is judged against what was read on its day. Some were asked for when that day "
    "had already gone by: they rest on what was known on the day they were asked of."
)
AFTERWARDS = (
    "These forecasts were made afterwards, each on the record as it was known on its day, and are "
    "judged against what was read later. Forecasts kept from now on will take their place."
)
HOW = (
    "A miss counts the whole range, not its middle alone: a range that is needlessly wide misses "
    "as well as one that is wrong.",
    "The simple rules: " + "; ".join(judged.RULES.values()) + ". Each has the range that its own "
    "misses had until then.",
)
TRIED = "No kept forecast has come due yet, so we tried it out afterwards"
BACKTEST = "backtest"
DRAWN = 2
"""Quantities whose skill is pictured; that of the others is tabled."""
FEW = 30
"""Under so many readings judged a share says little."""


def track_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `track`."""
    drawn = _drawn(answer) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer),
        figures=drawn,
        sections=_sections(answer, course),
        how=(_made(answer), *HOW) if answer.findings else (IN_TIME,),
        brief=_gain_sections(answer),
    )


def _made(answer: Answer) -> str:
    if answer.more.get("mode") == BACKTEST:
        return AFTERWARDS
    return LATE if answer.more.get("n_afterwards") else IN_TIME


def _drawn(answer: Answer) -> tuple[Figure, ...]:
    made = [coverage_figure(answer)]
    made += [skill_figure(answer, quantity) for quantity in judged.quantities_of(answer)[:DRAWN]]
    return tuple(figure for figure in made if figure)


def _lead(answer: Answer) -> tuple[str, ...]:
    every = judged.coverage(answer)
    if not every:
        return (*EMPTY, *_next(answer))
    told = [_since(answer)] if answer.more.get("mode") == BACKTEST else []
    told += [finding(every)]
    for quantity in judged.quantities_of(answer)[:1]:
        held = judged.skills(answer, quantity)
        told += [f"{terms.quantity(quantity)}: {_lower(skill_finding(held))}"] if held else []
    few = max(one.n for one in every) < FEW
    told += ["These are few readings yet: take the shares with care."] if few else []
    return tuple(told)


def _since(answer: Answer) -> str:
    """Return from which days forecasts were made afterwards."""
    first, last = (rows.day(answer.more.get(name)) for name in ("first", "last"))
    days = {rows.day(row["made_on"]) for row in answer.more.get("pairs") or ()}
    if not first or not last:
        return f"{TRIED}."
    span = f"{short_date(first)} and {short_date(last)}"
    return f"{TRIED} from days between {span}." if len(days) > 1 else f"{TRIED}."


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _next(answer: Answer) -> tuple[str, ...]:
    kept, first = answer.more.get("n_forecasts"), rows.day(answer.more.get("first_due"))
    if kept and first:
        return (f"{kept:,} forecasts are kept; the first can be judged on {long_date(first)}.",)
    if not kept:
        return ("Nothing is kept yet: open Forecast, and the first one is.",)
    return (f"{kept:,} forecasts are kept.",)


def _sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    return (*_gain_sections(answer), *_other_sections(answer), *_error_sections(answer, course))


def _other_sections(answer: Answer) -> tuple[Section, ...]:
    """Return the skill of the quantities that are not pictured."""
    others = [skill_table(answer, quantity) for quantity in judged.quantities_of(answer)[DRAWN:]]
    tables = tuple(table for table in others if table)
    return (Section("The other readings", tables=tables, folded=True),) if tables else ()


def _gain_sections(answer: Answer) -> tuple[Section, ...]:
    row = judged.gain(answer)
    if row is None:
        return ()
    value, n = formats.number(10 * float(row["value"])), row["n"]
    if row.get("basis") == "forecast":
        return (Section("Did changes come as forecast?", _changes(row)),)
    told = sentence([f"Of 10 inches or points that our advice promised, about {value} came"])
    count = f"From {n} weeks of advice with readings before and after."
    return (Section("Did the advice bring what it promised?", (told, count)),)


def _changes(row: rows.Row) -> tuple[str, ...]:
    """Return what came of ten forecast inches or points of change, and how sure that is."""
    value, low, high = (10 * float(row[k] or 0) for k in ("value", "low", "high"))
    label = terms.quantity(row["quantity"]).lower()
    unit = "inches" if row["quantity"] == "green_speed" else "points"
    if low > 0:
        told = f"Of 10 {unit} of change forecast for {label}, about {formats.number(value)} came"
    elif high >= 10:
        told = f"We cannot tell yet whether changes of {label} come as forecast"
    else:
        told = f"Changes of {label} from one reading to the next did not come as forecast"
    ends = f"{formats.number(low)} and {formats.number(high)}"
    reach = f"Anything between {ends} of 10 is in keeping with what was read"
    count = f"From {row['n']:,} pairs of readings of one green under one forecast."
    return sentence([told]), sentence([reach]), count


def _error_sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    tables = tuple(
        t for q in judged.quantities_of(answer) if (t := _error_table(answer, q, course)).rows
    )
    if not tables:
        return ()
    text = "Plus: the greens came out higher than forecast. Near none is good."
    return (Section("Which way did we miss?", (text,), tables, folded=True),)


def _error_table(answer: Answer, quantity: str, course: Course) -> Table:
    cells = tuple(
        (_seen(row["horizon_days"]), _size(row, quantity, course), f"{row['n']:,}")
        for row in judged.errors(answer, quantity)
    )
    head = ("Seen", "Mean miss", "Readings")
    return Table(terms.quantity(quantity), head, cells, frozenset({1, 2}))


def _seen(days: float | None) -> str:
    return "any day" if days is None else after(days)


def _size(row: rows.Row, quantity: str, course: Course) -> str:
    held = row.get("estimate")
    if held is not None:
        return formats.change(rows.estimate(held), quantity, course)
    value = float(row["value"])
    unit = {"green_speed": "m", "smoothness": "score"}.get(quantity, str(row.get("unit") or ""))
    if row.get("low") is not None and row.get("high") is not None:
        ends = Estimate(value, unit, 0.0, row["low"], row["high"])
        return formats.change(ends, quantity, course)
    near = Estimate(value, unit, 0.0, value, value)
    return formats.change(near, quantity, course).split(" (")[0]
