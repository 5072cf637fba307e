"""Track: how good have our own forecasts and advice been?"""

from __future__ import annotations

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, judged, rows, terms
from greenwright.show.dates import after, long_date
from greenwright.show.figures.coverage import coverage_figure, finding
from greenwright.show.figures.skill import finding as skill_finding
from greenwright.show.figures.skill import skill_figure
from greenwright.show.page import Figure, Page, Section, Table, sentence
from greenwright.show.pages.parts import joined

EMPTY = (
    "We cannot tell yet: no forecast of ours has come due.",
    "Every forecast is kept on the day it is given. Once a green is read on a day that was "
    "forecast, that forecast is judged, and this page fills by itself.",
)
HOW = (
    "Only forecasts kept before the day are judged, against what was read on it; nothing is "
    "worked out afterwards.",
    "A miss counts the whole range, not its middle alone: a range that is needlessly wide misses "
    "as well as one that is wrong.",
    "The simple rules: " + "; ".join(judged.RULES.values()) + ".",
)
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
        how=HOW if answer.findings else HOW[:1],
        brief=_gain_sections(answer),
    )


def _drawn(answer: Answer) -> tuple[Figure, ...]:
    made = [coverage_figure(answer)]
    made += [skill_figure(answer, quantity) for quantity in judged.quantities_of(answer)]
    return tuple(figure for figure in made if figure)


def _lead(answer: Answer) -> tuple[str, ...]:
    every = judged.coverage(answer)
    if not every:
        return (*EMPTY, *_next(answer))
    told = [finding(every)]
    for quantity in judged.quantities_of(answer)[:1]:
        held = judged.skills(answer, quantity)
        told += [f"{terms.quantity(quantity)}: {_lower(skill_finding(held))}"] if held else []
    few = max(one.n for one in every) < FEW
    told += ["These are few readings yet: take the shares with care."] if few else []
    return tuple(told)


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
    return (*_gain_sections(answer), *_error_sections(answer, course))


def _gain_sections(answer: Answer) -> tuple[Section, ...]:
    row = judged.gain(answer)
    if row is None:
        return ()
    value = formats.number(10 * float(row["value"]))
    told = sentence([f"Of 10 inches or points that our advice promised, about {value} came"])
    count = f"From {row['n']} weeks of advice with readings before and after."
    return (Section("Did the advice bring what it promised?", (told, count)),)


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
        (after(row["horizon_days"] or 0), _size(row, quantity, course), f"{row['n']:,}")
        for row in judged.errors(answer, quantity)
    )
    head = ("Seen", "Mean miss", "Readings")
    return Table(terms.quantity(quantity), head, cells, frozenset({1, 2}))


def _size(row: rows.Row, quantity: str, course: Course) -> str:
    held = row.get("estimate")
    if held is not None:
        return formats.change(rows.estimate(held), quantity, course)
    value = float(row["value"])
    unit = {"green_speed": "m", "smoothness": "score"}.get(quantity, str(row.get("unit") or ""))
    near = Estimate(value, unit, 0.0, value, value)
    return formats.change(near, quantity, course).split(" (")[0]
