"""Effects: what does each practice do here?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures.decay import decay_figure
from greenwright.show.figures.differs import differs_figure
from greenwright.show.figures.effects import chosen, effects_figures
from greenwright.show.learned import Detail, as_changes, by_green, curve, details, weight
from greenwright.show.page import Figure, Page, Section
from greenwright.show.pages.acts import BRIEF, act_of, brief, dose_words, every, is_local
from greenwright.show.pages.parts import joined
from greenwright.show.pages.sceptic import doubter, told_apart
from greenwright.show.pages.settling import settling

OTHERS = "Other quantities"
OTHERS_OPEN = "Open one for the practices that change it most."
DOUBTED = 8
"""Effects whose doubts are answered one by one."""
HOW = (
    "An effect is that of one act at the dose named, everything else held.",
    '"Elsewhere" is what published studies and common practice say; "here" is the same '
    "after this course's own record has been weighed in.",
    "Greens are worked when they look slow and before events, so plain averages mislead; "
    "where the record cannot separate cause from habit we say so.",
)


def effects_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `effects`."""
    answer = as_changes(answer)
    drawn = effects_figures(answer, course) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=drawn[:1],
        sections=(
            *_pictures(drawn[1:2], folded=False),
            *_learned_sections(answer, course, pictures=pictures),
            *([Section(OTHERS, (OTHERS_OPEN,))] if drawn[2:] else []),
            *_pictures(drawn[2:], folded=True),
            *every(answer, course),
        ),
        how=HOW,
        brief=brief(answer, course),
    )


def _pictures(drawn: Sequence[Figure], *, folded: bool) -> tuple[Section, ...]:
    return tuple(Section(figure.title, figure=figure, folded=folded) for figure in drawn)


def doubted(answer: Answer) -> list[Detail]:
    """Return the effects that a doubter asks after, one a practice: the surest and largest first.

    Of a practice it is its effect on speed, unless only that on smoothness has a clear direction.
    """
    held = [row for outcome in BRIEF for row in chosen(answer, outcome) if _done(row)]
    found = [d for d in details(answer, held) if d.told or is_local([d.row])]
    best: dict[str, Detail] = {}
    for one in sorted(found, key=lambda d: not formats.clear(d.here)):
        best.setdefault(one.act, one)
    return sorted(best.values(), key=weight)


def _done(row: rows.Row) -> bool:
    return bool(row.get("n_events"))


def _learned_sections(answer: Answer, course: Course, *, pictures: bool) -> tuple[Section, ...]:
    """Return how long the foremost effect lasts, its doubts, the greens, and others' doubts."""
    held = doubted(answer)
    shown = held or details(answer, chosen(answer, BRIEF[0])[:1])
    made = [_decay(answer, one, course) for one in shown[:1] if pictures]
    made += [doubter(one, course, folded=False, pictures=pictures) for one in held[:1]]
    made += [_differing(answer, held, course)] if pictures else []
    made += [settling(_unsettled(answer), course, pictures=pictures)]
    made += [doubter(one, course, folded=True, pictures=pictures) for one in held[1:DOUBTED]]
    return tuple(section for section in made if section)


def _unsettled(answer: Answer) -> list[Detail]:
    """Return the effects on speed and smoothness that the record cannot tell apart yet."""
    held = [row for outcome in BRIEF for row in chosen(answer, outcome) if _done(row)]
    return sorted(details(answer, held), key=weight)


def _decay(answer: Answer, one: Detail, course: Course) -> Section | None:
    figure = decay_figure(one, curve(answer, one), course)
    return Section(figure.title, figure=figure) if figure else None


def _differing(answer: Answer, held: Sequence[Detail], course: Course) -> Section | None:
    for one in held:
        figure = differs_figure(one, by_green(answer, one), course, greens=rows.greens_of(answer))
        if figure:
            return Section(figure.title, figure=figure)
    return None


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    held = [row for row in answer.findings if row["green"] in rows.WHOLE]
    if not held:
        return ("We cannot tell yet: the record holds no work to learn from.",)
    return (_strongest_words(held, course), _local_words(held))


def strongest(held: Sequence[rows.Row], outcome: str) -> rows.Row | None:
    """Return the row whose effect here on an outcome is largest, if any surely raises it."""
    among = [r for r in held if r["outcome"] == outcome and rows.estimate(r["here"]).low > 0]
    return max(among, key=lambda r: rows.estimate(r["here"]).value, default=None)


def _strongest_words(held: Sequence[rows.Row], course: Course) -> str:
    row = strongest(held, "green_speed")
    if row is None:
        return "Nothing here is sure to add speed."
    moved = formats.change(rows.estimate(row["here"]), row["outcome"], course)
    return (
        f"{act_of(row)} adds most speed: {moved} {after(row['horizon_days'])} "
        f"for {dose_words(row, course)}."
    )


def _local_words(held: Sequence[rows.Row]) -> str:
    """Return which practices this record speaks clearly, partly or not yet about."""
    if not is_local(held):
        return (
            "So far these are other people's results: published studies and common practice. "
            "This course's own record has not changed them yet."
        )
    done = [row for row in held if row.get("n_events", 1) and row["outcome"] in BRIEF]
    told = told_apart([Detail(row, {}) for row in done])
    named = {k: terms.listed(sorted(acts)).lower() for k, acts in told.items() if acts}
    if not {"yes", "partly"} & set(named):
        return "This course's own record has begun to speak, but cannot tell anything apart yet."
    parts = [f"{_CAN[key]} {named[key]}" for key in _CAN if key in named]
    tail = f"; of {named['cannot tell']} it cannot tell yet" if "cannot tell" in named else ""
    return f"This course's own record can tell {', '.join(parts)}{tail}."


_CAN = {"yes": "what comes of", "partly": "in part what comes of"}
"""How far the record can tell, before the practices of which it does."""
