"""Feed: what do the greens need to eat?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import feeding, formats, rows, terms
from greenwright.show.figures.feed import soil_figure, year_figure
from greenwright.show.page import Page, Section, sentence
from greenwright.show.pages.feed_more import (
    claims,
    leaves,
    log,
    programmes,
    sand,
    why_not,
)
from greenwright.show.pages.feed_plan import month_plan, sheet, shopping
from greenwright.show.pages.parts import joined
from greenwright.show.prose import prose

HOW = (
    "Nitrogen is a monthly ceiling of the grass times growth potential by temperature, an upper "
    "envelope; measured clippings correct it by at most half, and not under a regulator, in "
    "drought, under disease or where growth is low.",
    "Every other element is use plus reserve minus what the soil holds. Use is nitrogen times the "
    "leaf's ratio, an upper bound; the reserve is the minimum guideline, a statistic of good "
    "soils and not a trial. Classical sufficiency stands beside it as a second source.",
    "The plan is the cheapest that meets the need within every limit, labour and the bother of "
    "each further material counted. No limit is broken: what cannot be met is told as short.",
    "An element is to be tested first where no test speaks, where it is old, or where one more "
    "test saves more than it costs.",
)


def feed_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `feed`."""
    sections = _sections(answer, course, pictures=pictures)
    drawn = _nitrogen(answer, course) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=drawn[:1],
        sections=(*sections[:1], *(Section(f.title, figure=f) for f in drawn[1:]), *sections[1:]),
        how=HOW,
        brief=sheet(answer, course),
    )


def _nitrogen(answer: Answer, course: Course) -> tuple:
    made = (year_figure(answer, keys, course) for keys in feeding.alike(answer))
    return tuple(figure for figure in made if figure)


def _sections(answer: Answer, course: Course, *, pictures: bool) -> tuple[Section, ...]:
    soil = soil_figure(answer, course) if pictures else None
    return (
        *sheet(answer, course),
        *([Section(soil.title, figure=soil)] if soil else []),
        *why_not(answer, course),
        *month_plan(answer, course),
        *shopping(answer, course),
        *programmes(answer, course),
        *claims(answer, course),
        *sand(answer, course),
        *leaves(answer),
        *log(answer, course),
    )


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    told = (*_nitrogen_words(answer, course), _elements_words(answer), _plan_words(answer, course))
    return tuple(prose(text, course) for text in told if text)


def _nitrogen_words(answer: Answer, course: Course) -> tuple[str, ...]:
    every = len(answer.more.get("groups") or ())
    made = []
    for keys in feeding.alike(answer):
        year = feeding.nitrogen_year(answer, keys[0])
        if year is None:
            continue
        unknown = sum(r["verdict"] == "test first" for r in feeding.nitrogen(answer, keys[0]))
        need = formats.level(rows.estimate(year["need"]), "", course)
        where = feeding.listed_groups(keys, every)
        given = f", {feeding.rate(year['given'], course)} was given" if year["given"] else ""
        doubt = f" ({unknown} months without weather)" if unknown else ""
        made.append(
            f"Nitrogen {where}: growth asks for {need} in {answer.more['year']}{given}{doubt}."
        )
    return tuple(made) or ("No nitrogen can be worked out for these grasses yet.",)


def _elements_words(answer: Answer) -> str:
    """Return which elements are needed where, which nowhere, and which are to be tested first."""
    held = feeding.elements(answer)
    every = len(answer.more.get("groups") or ())
    parts = []
    for verdict, words in (("needed", "needed"), ("test first", "to be tested first")):
        found: dict[str, list[str]] = {}
        for one in held:
            if one.verdict == verdict:
                found.setdefault(one.element, []).append(one.group)
        named = feeding.by_place(found, every)
        parts += [f"{words}: {named}"] if named else []
    spare = [
        feeding.element_name(e).lower()
        for e in dict.fromkeys(n.element for n in held)
        if all(n.verdict == "not needed" for n in held if n.element == e)
    ]
    parts += [f"not needed anywhere: {terms.listed(spare)}"] if spare else []
    return sentence(["; ".join(parts)]) if parts else ""


def _plan_words(answer: Answer, course: Course) -> str:
    if answer.more.get("short"):
        return _short_words(answer, course)
    if not answer.choices:
        return "Nothing is to be bought or put out for the rest of the year."
    names = list(dict.fromkeys(row["material"] for row in answer.choices))
    paid = formats.money(answer.more.get("cost") or 0.0, course.currency)
    return sentence([f"{terms.listed(names)} will do, for {paid} with the labour"])


def _short_words(answer: Answer, course: Course) -> str:
    short: Sequence[rows.Row] = answer.more["short"]
    names = dict.fromkeys(feeding.element_name(r["element"]).lower() for r in short)
    why = dict.fromkeys(text for r in short for text in r["because"])
    because = f": {terms.listed(list(why))}" if why else ""
    return sentence([f"The plan falls short of {terms.listed(list(names))}{because}"])
