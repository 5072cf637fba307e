"""Trials: from the idea to the verdict, on the course's own greens."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import short_date, week_date
from greenwright.show.figures.differences import differences_figure, told
from greenwright.show.figures.differences import finding as difference_finding
from greenwright.show.figures.plots import plan_figure, plan_table
from greenwright.show.page import Figure, Page, Section, Table, sentence
from greenwright.show.pages.parts import joined

LAYOUT = {
    "crossover": "every green takes every way, in turns",
    "half-greens": "each green halved, one half each way",
    "before-after": "some greens change, the others stay, both read before and after",
    "completely-randomised": "the ways dealt over the greens",
    "stepped-wedge": "the greens start the new way one after another",
}
HOW = (
    "Who gets what is decided by lot, so that nobody's wish, and no green's habit, stands behind a "
    "difference.",
    "Whoever reads is told codes, not ways: an eye that knows sees what it hopes for.",
    "Differences are held against the error that the layout gives them; the p by the lot asks how "
    "many other deals would have done as well.",
    "Nothing is told before every plot was read: looking early and stopping when it pleases finds "
    "differences that are not there.",
)

Row = Mapping[str, Any]


def trial_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `trial`."""
    drawn = _drawn(answer, course) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=drawn,
        sections=_sections(answer, course),
        how=(*HOW, *answer.more["trial"]["notes"]),
        brief=_brief(answer),
    )


def _drawn(answer: Answer, course: Course) -> tuple[Figure, ...]:
    made = (differences_figure(answer, course), plan_figure(answer))
    return tuple(one for one in made if one)


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    trial, state = answer.more["trial"], answer.more["state"]
    ways = " or ".join(trial["treatments"])
    name = f"{trial['name']}: " if trial["name"] else ""
    if state["analysed"]:
        held = answer.more["contrasts"]
        first = difference_finding(held, course) if held else answer.findings[0]["reason"]
        return (f"{name}{first}", sentence([_verdict(answer, course)]))
    when = f"{week_date(rows.day(trial['from']))} to {week_date(rows.day(trial['until']))}"
    asked = f"{ways[:1].upper()}{ways[1:]}"
    plan = f"{name}{asked}? {len(trial['greens'])} greens, {LAYOUT[trial['layout']]}, {when}."
    return (plan, _promise(trial, course), _progress(trial, state))


def _verdict(answer: Answer, course: Course) -> str:
    """Return in plain words how sure the verdict is."""
    main = [row for row in answer.findings if row.get("F") is not None]
    held = answer.more["contrasts"]
    if not main or not held:
        return answer.findings[0]["reason"]
    row = main[-1]
    if row["verdict"] == "differ" and row.get("p_lot") is not None:
        like = round(row["p_lot"] * row["lot_ways"])
        return (
            f"Hardly chance: of {row['lot_ways']} ways the lot could have fallen, {like} would "
            "have shown as much"
        )
    if row["verdict"] == "differ":
        return "Hardly chance: so much would come by chance less than one time in twenty"
    ends = [told(held[0][key], held[0]["unit"], course) for key in ("low", "high")]
    return f"We cannot tell: the true difference may lie anywhere from {ends[0]} to {ends[1]}"


def _promise(trial: Row, course: Course) -> str:
    chance = round(10 * trial["power"])
    size = told(trial["difference"], trial["unit"], course)
    least = told(trial["detectable"], trial["unit"], course)
    return (
        f"It would see a true difference of {size} about {chance} times in 10; what it sees 8 "
        f"times in 10 is {least}."
    )


def _progress(trial: Row, state: Row) -> str:
    if not trial["name"]:
        return "This is a proposal: give it a name below to keep it and follow it."
    if state["read"] == 0:
        return "Kept. No plot was read yet."
    return f"{state['read']} of {state['plots']} plots were read; we cannot tell before all are."


def _sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    trial = answer.more["trial"]
    made = [Section("What the crew does", tables=(_crew(answer),))]
    made.append(Section("Field sheet, to be read unseen", (
        "Hand this to whoever reads; keep the plan from them until the last reading. Enter each "
        "reading under Record with its green, and its half where there is one.",
    ), tables=(plan_table(answer.more["plan"], blind=True),), folded=True))  # fmt: skip
    if answer.more["contrasts"]:
        made.append(
            Section(
                "The analysis",
                tuple(row["reason"] for row in answer.findings),
                tables=(_terms(answer), _means(answer, course)),
                folded=True,
            )
        )
        made.append(Section("Were the assumptions met?", tuple(
            row["text"] for row in answer.more["checks"]), folded=True))  # fmt: skip
    made.append(Section("What this plan can tell", _able(trial, course), folded=True))
    return tuple(made)


def _able(trial: Row, course: Course) -> tuple[str, ...]:
    lot = ()
    if trial["smallest_p"] is not None:
        lot = (
            f"By the lot, p can be {trial['smallest_p']:.3f} at the smallest: it could fall in "
            f"{trial['ways']} ways.",
        )
    skip = ()
    if trial["washout_days"]:
        skip = (f"The first {trial['washout_days']} days after a switch are left out: what was "
                "done before still shows then.",)  # fmt: skip
    return (_promise(trial, course), *lot, *skip)


def _crew(answer: Answer) -> Table:
    cells = tuple(
        (
            f"{short_date(rows.day(c['date']))} – {short_date(rows.day(c['until']))}",
            c["treatment"],
            terms.listed([str(g) for g in c["greens"]]),
        )
        for c in answer.choices
    )
    return Table("What the crew does", ("Days", "Way", "Greens"), cells)


def _terms(answer: Answer) -> Table:
    cells = tuple(
        (
            row["term"],
            row["stratum"],
            str(row["df"]),
            f"{row['df_error']:.4g}" if row["df_error"] else "",
            f"{row['F']:.2f}" if row["F"] is not None else "",
            _chance(row["p"]),
            f"{row['p_lot']:.3f}" if row.get("p_lot") is not None else "",
        )
        for row in answer.findings
    )
    head = ("Term", "Held against", "df", "df, error", "F", "p", "p by the lot")
    return Table("Terms", head, cells, frozenset({2, 3, 4, 5, 6}))


def _chance(p: float | None) -> str:
    if p is None:
        return ""
    return "< 0.001" if p < 0.001 else f"{p:.3f}"


def _means(answer: Answer, course: Course) -> Table:
    cells = tuple(
        (row["level"], str(row["n"]), _point(row, course), _error(row, course))
        for row in answer.more["means"]
        if row["se"] is not None
    )
    return Table("Means", ("Way", "Readings", "Mean", "SE"), cells, frozenset({1, 2, 3}))


def _point(row: Row, course: Course) -> str:
    if row["unit"] != "m":
        return told(row["value"], row["unit"])
    return formats.point(row["value"], "m", "green_speed", course)


def _error(row: Row, course: Course) -> str:
    if row["unit"] != "m":
        return told(row["se"], row["unit"])
    scale = formats.scale_for("green_speed", "m", course)
    return f"{row['se'] * scale.factor:.2g} {'in' if scale.feet else scale.unit}"


def _brief(answer: Answer) -> Sequence[Section]:
    crew = _crew(answer)
    return (Section(crew.title, tables=(crew,)),)
