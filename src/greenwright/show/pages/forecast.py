"""Forecast: where will the greens be, under the work that is planned?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import week_date
from greenwright.show.figures.ahead import ahead_figure, ahead_table
from greenwright.show.page import Figure, Page, Section, Table, sentence
from greenwright.show.pages.parts import joined
from greenwright.show.ways import NOTHING, Step, Way, planned_words, ways

MAIN = 2
LOOKED_AT = (1, 7, 14)
"""Days ahead that the table of greens shows."""
HOW = (
    "From what each green is believed to be today, the work planned and the weather given, many "
    "possible days ahead were played through; the band holds nine of ten of them.",
    "It speaks of the green itself: a single reading scatters around it besides.",
)
KEPT = (
    "The forecast is kept in the record on the day it is given, so that it can be judged when "
    "the day has come; Track shows how often the ranges held."
)


def forecast_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `forecast`."""
    held = ways(answer)
    drawn = tuple(ahead_figure(way, course) for way in held) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer, held, course),
        figures=drawn[:MAIN],
        sections=_sections(answer, held, drawn[MAIN:], course),
        how=(*HOW, *_weather(answer), *([KEPT] if answer.more.get("kept") else [])),
        brief=_brief(held, course),
    )


def _weather(answer: Answer) -> tuple[str, ...]:
    """Return what the weather ahead was taken from."""
    days = answer.more.get("weather") or {}
    told = [
        f"{_WEATHER[key]} for {n} {'day' if n == 1 else 'days'}" for key, n in days.items() if n
    ]
    return (f"The weather ahead: {terms.listed(told)}.",) if told else ()


_WEATHER = {
    "forecast": "a forecast in the record",
    "typical": "the usual of the season",
    "unknown": "not known, and left open",
}


def _lead(answer: Answer, held: Sequence[Way], course: Course) -> tuple[str, ...]:
    if not held:
        return ("We cannot tell yet: there is nothing to look ahead from.",)
    main = [way for way in held if way.quantity in rows.FIRST] or list(held[:1])
    event = answer.more.get("event")
    day = rows.day(event["date"]) if event else None
    told = [_expected(way, day, course) for way in main]
    planned = _planned(answer, main[0])
    name = f"{event['name']} is on {week_date(day)}." if event and event.get("name") else ""
    return tuple(text for text in (name, *told, planned) if text)


def _planned(answer: Answer, way: Way) -> str:
    """Return the work that the forecast goes by: planned, the usual, or none."""
    plan = str(answer.more.get("plan") or "record")
    told = planned_words(way)
    if plan == "usual":
        return f"Nothing is planned in the record, so the usual work is taken: {told}."
    if plan == "both":
        return f"That is with the work planned in the record, and the usual beside it: {told}."
    if plan == "none" or told == NOTHING:
        return "That is without any work: none is planned, and none was done lately."
    return f"That is with the work planned in the record: {told}."


def _expected(way: Way, day: object, course: Course) -> str:
    step = next((s for s in way.ahead if s.day == day), way.ahead[-1])
    label = terms.quantity(way.quantity, way.method)
    level = formats.level(step.held, way.quantity, course)
    told = f"{label} on {week_date(step.day)}: {level}"
    if step.in_target is None or way.band is None:
        return sentence([told])
    wanted = formats.band(
        way.band.low, way.band.high, unit=step.held.unit, quantity=way.quantity, course=course
    )
    return sentence([f"{told}; the chance of {wanted} is {formats.chance(step.in_target)}"])


def _sections(
    answer: Answer, held: Sequence[Way], rest: Sequence[Figure], course: Course
) -> tuple[Section, ...]:
    made = [Section(figure.title, figure=figure, folded=True) for figure in rest]
    each = tuple(t for way in held if (t := greens_table(answer, way, course)).rows)
    if each:
        made.insert(0, Section("Green by green", tables=each[:MAIN], folded=True))
    return tuple(made)


def greens_table(answer: Answer, whole: Way, course: Course) -> Table:
    """Return one row a green: the level expected in some days."""
    last = (whole.ahead[-1].day - whole.on).days
    days = [d for d in LOOKED_AT if d <= last]
    days = days if last in days or not days else [*(d for d in days if d < last), last]
    cells = []
    for green in rows.greens_of(answer):
        mine = (w for w in ways(answer, green) if (w.quantity, w.method) == _key(whole))
        way = next(mine, None)
        if way is not None:
            shown = (_level(way.after(d), whole, course) for d in days)
            cells.append((green, *shown))
    label = terms.quantity(whole.quantity, whole.method)
    head = ("Green", *("Tomorrow" if d == 1 else f"In {d} days" for d in days))
    return Table(label, head, tuple(cells), frozenset(range(1, len(head))))


def _key(way: Way) -> tuple[str, str]:
    return way.quantity, way.method


def _level(step: Step | None, whole: Way, course: Course) -> str:
    return "" if step is None else formats.level(step.held, whole.quantity, course)


def _brief(held: Sequence[Way], course: Course) -> tuple[Section, ...]:
    tables = [ahead_table(way, course, days=LOOKED_AT) for way in held[:MAIN]]
    return tuple(Section(table.title, tables=(table,)) for table in tables)
