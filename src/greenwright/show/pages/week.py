"""Week: what should we do?"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import week_date
from greenwright.show.figures.paths import week_figures
from greenwright.show.page import Day, Page, Section, Table, sentence
from greenwright.show.pages.jobs import Named, job, lines, naming, worked
from greenwright.show.pages.parts import joined
from greenwright.show.prose import prose

HOW = (
    "The plan was chosen among all weeks that keep the crew's hours and the limits, by what "
    "it should do to speed and smoothness over the next 14 days, events weighed more.",
    "What each job does is known only within its range, so many possible weeks were played "
    "through, not one.",
)
LEAVE_NO_WORK = "The limits leave no work: "
ORDER = ("advised", "usual", "nothing")


def week_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `week`."""
    sections = _sections(answer, course)
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=week_figures(answer, course) if pictures else (),
        days=_days(answer, course),
        groups=_groups(answer),
        stops=_stops(answer, course),
        sections=sections,
        how=(*HOW, *(prose(str(note), course) for note in answer.more.get("notes") or ())),
        brief=_brief(sections),
    )


def _plans(answer: Answer) -> Mapping[str, Mapping[str, Any]]:
    return answer.more.get("plans") or {}


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    if answer.more.get("no_plan"):
        return (prose(sentence(["No plan keeps all the limits:", _why_not(answer)]), course),)
    if not answer.choices:
        return ("Leave the greens alone this week: no work here is worth its cost.",)
    return tuple(text for text in (_work_words(answer, course), _gain_words(answer)) if text)


def _why_not(answer: Answer) -> str:
    return str(answer.more["no_plan"]).removeprefix(LEAVE_NO_WORK)


def _work_words(answer: Answer, course: Course) -> str:
    counts = Counter()
    for practice in dict.fromkeys(row["practice"] for row in answer.choices):
        held = {rows.day(row["date"]) for row in answer.choices if row["practice"] == practice}
        counts[practice] = len(held)
    parts = [f"{terms.practice(key).lower()} {_on_days(n)}" for key, n in counts.items()]
    advised = _plans(answer).get("advised", {})
    hours, cost = advised.get("labour_h"), advised.get("cost")
    tail = f": {formats.hours(hours)} of crew time" if hours is not None else ""
    paid = f" and {formats.money(cost, course.currency)}" if cost and course.currency else ""
    return sentence([f"{terms.listed(parts)}{tail}{paid}"])


def _on_days(n: int) -> str:
    return {1: "on one day", 7: "every day"}.get(n, f"on {n} days")


def _gain_words(answer: Answer) -> str:
    held = {key: plan.get("in_target") for key, plan in _plans(answer).items()}
    if any(held.get(key) is None for key in ORDER):
        return ""
    now, usual, nothing = (round(100 * held[key]) for key in ORDER)
    return (
        f"Of every 100 greens looked at over the week, we expect {now} inside the target, "
        f"against {usual} with the usual work and {nothing} with none."
    )


def _days(answer: Answer, course: Course) -> tuple[Day, ...]:
    if not answer.choices and not answer.more.get("leave_outs"):
        return ()
    named = naming(answer)
    work, left = rows.by_day(answer.choices), rows.by_day(answer.more.get("leave_outs") or ())
    wanted = [answer.as_of + timedelta(days=k) for k in range(1, 8)]
    shown = sorted({*wanted, *work, *left})
    return tuple(
        Day(
            day,
            week_date(day),
            formats.hours(worked(work[day])) if day in work else "no work",
            jobs=tuple(job(row, named, course) for row in work.get(day, ())),
            lines=lines(work.get(day, ()), named, course),
            leave_out=tuple(_leave_out(row, named, course) for row in left.get(day, ())),
        )
        for day in shown
    )


def _groups(answer: Answer) -> tuple[str, ...]:
    held = naming(answer).groups
    return tuple(f"Group {name}: {terms.greens(sorted(held[name]))}" for name in sorted(held))


def _leave_out(row: rows.Row, named: Named, course: Course) -> str:
    where = terms.greens([str(g) for g in row["greens"]], named.every)
    what = terms.practice(row["practice"]).lower()
    return sentence([f"To learn {prose(row['to_learn'], course)}, do not {what} {where}"])


def _stops(answer: Answer, course: Course) -> tuple[str, ...]:
    held = [stop for row in answer.choices for stop in row.get("stops") or ()]
    held += list(answer.more.get("stops") or ())
    return tuple(dict.fromkeys(prose(sentence([str(stop)]), course) for stop in held))


def _sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    plans = _plans(answer)
    if not plans:
        return ()
    title = "Beside doing nothing and the usual work"
    head = ("Plan", "Inside target", "Complaints expected", "Crew hours", "Cost", "Score")
    cells = tuple(_plan_cells(key, plans[key], course) for key in ORDER if key in plans)
    note = (
        "Inside target counts every green on every day of the week. The score adds up distance "
        "from the target, wear, cost and complaints: lower is better."
    )
    table = Table(title, head, cells, frozenset({1, 2, 3, 4, 5}))
    return (Section(title, (note,), (table,)),)


def _plan_cells(key: str, plan: Mapping[str, Any], course: Course) -> tuple[str, ...]:
    inside, said = plan.get("in_target"), plan.get("complaints")
    return (
        terms.PLANS[key],
        "no target" if inside is None else formats.share(inside),
        "" if said is None else formats.number(said, 1 if said < 9.95 else 0),
        formats.hours(plan.get("labour_h") or 0.0),
        formats.money(plan.get("cost") or 0.0, course.currency),
        formats.number(plan.get("loss") or 0.0, 1),
    )


def _brief(sections: Sequence[Section]) -> tuple[Section, ...]:
    """Return the plans side by side without the score, which only the planner needs."""
    return tuple(
        Section(section.title, tables=tuple(_without_score(t) for t in section.tables))
        for section in sections
    )


def _without_score(table: Table) -> Table:
    cells = tuple(row[:-1] for row in table.rows)
    return Table(table.title, table.columns[:-1], cells, frozenset(range(1, 5)))
