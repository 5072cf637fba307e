"""Why: why did it change between two days, or why do two greens differ?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.causes import WORK, Part, Split, splits
from greenwright.show.dates import short_date, week_date
from greenwright.show.figures.bridge import bridge_figure
from greenwright.show.page import Figure, Page, Section, Table, sentence
from greenwright.show.pages.parts import joined
from greenwright.show.ways import SILENT

WORK_BETWEEN = "What was done between the two days"
HOW = (
    "The whole change is split by what we believe: work by what each practice does here, weather "
    "and growth by how the greens follow them, then the rest. The parts add up to the whole.",
    "Work counts against what had been done before the first day: less of it than then, or an "
    "effect that has faded, shows as a minus.",
    '"The green itself" is what this green does besides the others; "unexplained" is what '
    "nothing in the record accounts for, the readings' own scatter included.",
    "A part is a cause only as far as the record can tell the practice from the habit of doing "
    "it; Effects says for which it can.",
)
WORTH = 0.1
"""A part under this share of the largest is not told in the answer itself."""
MAIN = 2
"""Pictures that stand open; the others are folded."""


def why_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `why`."""
    held = splits(answer)
    drawn = _drawn(held, course) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(held, course),
        figures=drawn[:MAIN],
        sections=_sections(answer, held, drawn[MAIN:], course),
        how=HOW,
        brief=_brief(held, course),
    )


def _drawn(held: Sequence[Split], course: Course) -> tuple[Figure, ...]:
    made = (bridge_figure(one, course) for one in held)
    return tuple(figure for figure in made if figure)


def _lead(held: Sequence[Split], course: Course) -> tuple[str, ...]:
    if not held:
        return ("We cannot tell yet: the record says nothing of these two days.",)
    main = [one for one in held if one.quantity in rows.FIRST] or list(held[:1])
    return tuple(text for one in main for text in (_whole(one, course), _causes(one, course)))


def _whole(one: Split, course: Course) -> str:
    label = terms.quantity(one.quantity, one.method)
    moved = formats.change(one.total, one.quantity, course)
    if one.against:
        pair = f"{_where(one.green)} and {_where(one.against)}"
        if not formats.clear(one.total):
            return sentence([f"{label}: no clear difference between {pair}; best guess {moved}"])
        return sentence([f"{label} differs by {moved} between {pair} on {week_date(one.until)}"])
    days = f"from {week_date(one.frm)} to {week_date(one.until)}"
    where = "" if one.green in rows.WHOLE else f" on {terms.greens([one.green])}"
    if not formats.clear(one.total):
        return sentence([f"{label}{where} has not clearly changed {days}: best guess {moved}"])
    return sentence([f"{label}{where} changed by {moved} {days}"])


def _where(green: str) -> str:
    return "the course" if green in rows.WHOLE else terms.greens([green])


def _causes(one: Split, course: Course) -> str:
    """Return the largest part that is clear and the largest that pulled the other way."""
    clear = [p for p in one.largest() if formats.clear(p.held) and _size(p, one, course) != "none"]
    if not clear:
        return "No part of it is clear by itself."
    first = clear[0]
    least = WORTH * abs(first.held.value)
    across = (p for p in clear if p.held.value * first.held.value < 0)
    other = next((p for p in across if abs(p.held.value) >= least), None)
    against = (
        f"{other.name.lower()} pulled the other way ({_bare(other, one, course)})" if other else ""
    )
    told = f"The largest part is {first.name.lower()} ({_bare(first, one, course)})"
    return sentence([f"{told}; {against}" if against else told])


def _bare(part: Part, one: Split, course: Course) -> str:
    return _size(part, one, course).split(" (")[0]


def _size(part: Part, one: Split, course: Course) -> str:
    return formats.change(part.held, one.quantity, course)


def _sections(
    answer: Answer, held: Sequence[Split], rest: Sequence[Figure], course: Course
) -> tuple[Section, ...]:
    made = [Section(figure.title, figure=figure, folded=True) for figure in rest]
    worked = _work_table(answer)
    if worked.rows:
        made.append(Section(WORK_BETWEEN, tables=(worked,), folded=True))
    elif held and not any(p.key.startswith(WORK) for one in held for p in one.parts):
        made.append(Section(WORK_BETWEEN, ("No work is written down between the two days.",)))
    return tuple(made)


def _work_table(answer: Answer) -> Table:
    days: dict[str, set] = {}
    for row in answer.more.get("work") or ():
        if row["practice"] not in SILENT:
            days.setdefault(row["practice"], set()).add(rows.day(row["date"]))
    cells = tuple(
        (terms.practice(key), str(len(on)), terms.listed([short_date(d) for d in sorted(on)][-4:]))
        for key, on in days.items()
    )
    return Table(WORK_BETWEEN, ("Practice", "Days", "Latest"), cells, frozenset({1}))


def _brief(held: Sequence[Split], course: Course) -> tuple[Section, ...]:
    return tuple(
        Section(table.title, tables=(table,))
        for one in held[:MAIN]
        if (table := _brief_table(one, course)).rows
    )


def _brief_table(one: Split, course: Course) -> Table:
    label = terms.quantity(one.quantity, one.method)
    cells = tuple((part.name, _size(part, one, course)) for part in one.parts)
    return Table(f"{label}: parts of the change", ("Part", "Change"), cells, frozenset({1}))
