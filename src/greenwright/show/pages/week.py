"""Week: what should we do?"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, knowing, rows, terms
from greenwright.show.dates import after, week_date
from greenwright.show.page import Day, Job, Line, Page, Section, Table, sentence

ORDER = ("advised", "usual", "nothing")
MAIN = ("green_speed", "smoothness", "trueness_score", "quality")


def week_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `week`."""
    return Page(
        question=answer.question,
        heading=terms.heading(answer.question),
        course=course.name,
        as_of=answer.as_of,
        context=knowing.context(answer),
        lead=_lead(answer, course),
        figures=_drawn(answer, course) if pictures else (),
        days=_days(answer, course),
        groups=_groups(answer),
        stops=_stops(answer),
        sections=_sections(answer, course),
        cautions=knowing.cautions(answer) or (knowing.SAFETY,),
        how_we_know=_how(answer),
        dont_know=knowing.dont_know(answer),
        sources=knowing.sources(answer),
    )


def _drawn(answer: Answer, course: Course) -> tuple:
    from greenwright.show.figures.paths import week_figures

    return week_figures(answer, course)


def _plans(answer: Answer) -> Mapping[str, Mapping[str, Any]]:
    return answer.more.get("plans") or {}


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    if answer.more.get("no_plan"):
        return (f"No plan keeps all the limits: {str(answer.more['no_plan']).rstrip('.')}.",)
    if not answer.choices:
        return ("Leave the greens alone this week: no work here is worth its cost.",)
    return tuple(text for text in (_work_words(answer, course), _gain_words(answer)) if text)


def _work_words(answer: Answer, course: Course) -> str:
    counts = Counter()
    for practice in dict.fromkeys(row["practice"] for row in answer.choices):
        held = {rows.day(row["date"]) for row in answer.choices if row["practice"] == practice}
        counts[practice] = len(held)
    parts = [f"{terms.practice(key).lower()} {_on_days(n)}" for key, n in counts.items()]
    advised = _plans(answer).get("advised", {})
    hours, cost = advised.get("labour_h"), advised.get("cost")
    tail = f": {formats.hours(hours)} of crew time" if hours is not None else ""
    paid = f" and {formats.money(cost, course.currency)}" if cost else ""
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
    every = rows.greens_of(answer)
    work, left = rows.by_day(answer.choices), rows.by_day(answer.more.get("leave_outs") or ())
    wanted = [answer.as_of + timedelta(days=k) for k in range(1, 8)]
    shown = sorted({*wanted, *work, *left})
    return tuple(
        _day(d, work.get(d, []), left.get(d, []), every=every, course=course) for d in shown
    )


def _day(
    day: date,
    held: list[rows.Row],
    left: list[rows.Row],
    *,
    every: tuple[str, ...],
    course: Course,
) -> Day:
    total = sum(row.get("labour_h") or 0.0 for row in held)
    return Day(
        day,
        week_date(day),
        formats.hours(total) if held else "no work",
        jobs=tuple(_job(row, every, course) for row in held),
        lines=_lines(held, every, course),
        leave_out=tuple(_leave_out(row, every) for row in left),
    )


def _lines(held: list[rows.Row], every: tuple[str, ...], course: Course) -> tuple[Line, ...]:
    same: dict[tuple[str, str], list[rows.Row]] = {}
    for row in held:
        same.setdefault((what_words(row, course), _mark(row)), []).append(row)
    return tuple(_line(what, mark, got, every) for (what, mark), got in same.items())


def _mark(row: rows.Row) -> str:
    if row.get("fixed"):
        return "Already planned"
    return "" if row["confidence"] == "act" else terms.CONFIDENCE[row["confidence"]]


def _line(what: str, mark: str, held: list[rows.Row], every: tuple[str, ...]) -> Line:
    keys = [str(g) for row in held for g in row["greens"]]
    named = terms.greens(list(dict.fromkeys(keys)), every)
    groups = [g for row in held if (g := _group(row))]
    if named != "all greens" and len(groups) == len(held):
        named = f"group{'s' if len(groups) > 1 else ''} {terms.listed(groups)}"
    total = sum(row.get("labour_h") or 0.0 for row in held)
    return Line(what, named, formats.hours(total), mark)


def _group(row: rows.Row) -> str:
    """Return the name of a line's group, nothing for a single green worked by itself."""
    group = str(row.get("group") or "")
    return "" if group in [str(g) for g in row["greens"]] else group


def _groups(answer: Answer) -> tuple[str, ...]:
    held = {_group(row): [str(g) for g in row["greens"]] for row in answer.choices}
    return tuple(f"Group {name}: {terms.greens(held[name])}" for name in sorted(held) if name)


def _leave_out(row: rows.Row, every: tuple[str, ...]) -> str:
    keys = [str(g) for g in row["greens"]]
    what = terms.practice(row["practice"]).lower()
    return sentence([f"To learn {row['to_learn']}, do not {what} {terms.greens(keys, every)}"])


def _job(row: rows.Row, every: tuple[str, ...], course: Course) -> Job:
    keys = [str(g) for g in row["greens"]]
    named = terms.greens(keys, every)
    group = _group(row)
    if group and named != "all greens":
        named = f"group {group}"
    return Job(
        greens=named,
        what=what_words(row, course),
        hours=formats.hours(row.get("labour_h") or 0.0),
        reason=sentence([row["reason"]]),
        expect=_expect(row, course),
        confidence=terms.CONFIDENCE[row["confidence"]],
        changes_mind=sentence([row.get("changes_mind") or ""]) if row.get("changes_mind") else "",
        planned=bool(row.get("fixed")),
    )


def what_words(row: rows.Row, course: Course) -> str:
    """Return a job in words: practice, amount, material, passes."""
    parts = [terms.practice(row["practice"])]
    amount, unit = row.get("amount"), row.get("unit") or ""
    if amount is not None and unit not in ("pass", "passes", "count"):
        at = "at " if row["practice"] == "mow" else ""
        held = "height_of_cut" if row["practice"] == "mow" else ""
        parts.append(at + formats.point(amount, unit, held, course))
    if row.get("material"):
        parts.append(f"of {row['material'].replace('-', ' ')}")
    passes = row.get("passes") or 1
    if passes > 1:
        parts.append("twice" if passes == 2 else f"{passes:g} times")
    return " ".join(parts)


def _expect(row: rows.Row, course: Course) -> tuple[str, ...]:
    """Return the largest effect on each quantity, what a ball does first."""
    largest: dict[str, Mapping[str, Any]] = {}
    for held in row.get("effects") or ():
        before = largest.get(held["quantity"])
        if before is None or _size(held) > _size(before):
            largest[held["quantity"]] = held
    ordered = sorted(largest.values(), key=lambda e: _rank(e["quantity"]))
    return tuple(_effect(e, course) for e in ordered)


def _size(held: Mapping[str, Any]) -> float:
    return abs(rows.estimate(held["estimate"]).value)


def _rank(quantity: str) -> int:
    return MAIN.index(quantity) if quantity in MAIN else len(MAIN)


def _effect(held: Mapping[str, Any], course: Course) -> str:
    moved = formats.change(rows.estimate(held["estimate"]), held["quantity"], course)
    label = terms.quantity(held["quantity"])
    return f"{label} {moved} {after(held['horizon_days'])}."


def _stops(answer: Answer) -> tuple[str, ...]:
    held = [stop for row in answer.choices for stop in row.get("stops") or ()]
    held += list(answer.more.get("stops") or ())
    return tuple(dict.fromkeys(sentence([str(stop)]) for stop in held))


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
        "" if said is None else formats.number(said, 1),
        formats.hours(plan.get("labour_h") or 0.0),
        formats.money(plan.get("cost") or 0.0, course.currency),
        formats.number(plan.get("loss") or 0.0, 1),
    )


def _how(answer: Answer) -> tuple[str, ...]:
    told = (
        "The plan was chosen among all weeks that keep the crew's hours and the limits, by what "
        "it should do to speed and smoothness over the next 14 days, events weighed more.",
        "What each job does is known only within its range, so many possible weeks were played "
        "through, not one.",
        *(str(note) for note in answer.more.get("notes") or ()),
        knowing.RANGE_MEANS,
        knowing.made_by(answer),
    )
    return tuple(text for text in told if text)
