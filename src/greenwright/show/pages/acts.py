"""Every effect of an answer under its practice: what the tables of the page hold."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.tables import practices
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures.effects import chosen
from greenwright.show.page import Section, Table, sentence
from greenwright.show.prose import prose

TELL = "Can this record tell?"
EVERY = "Every effect, at every time"
OPEN = "Open a practice for what it does to each quantity, and how we know."
NOT_HERE = "Not done here yet: what is known elsewhere"
LOCAL = 0.01
"""A smaller share learned here is told as none."""
BRIEF = ("green_speed", "smoothness")


def grouped(answer: Answer, course: Course) -> dict[str, list[rows.Row]]:
    """Return the findings of the whole course under their practice and dose, in order."""
    made: dict[str, list[rows.Row]] = {}
    for row in answer.findings:
        if row["green"] in rows.WHOLE:
            made.setdefault(title_of(row, course), []).append(row)
    return made


def title_of(row: rows.Row, course: Course) -> str:
    """Return the practice with its dose in words."""
    return f"{act_of(row)}: {dose_words(row, course)}"


def act_of(row: rows.Row) -> str:
    """Return what one act of a row is called."""
    return terms.act(row["practice"], row.get("dose"))


def dose_words(row: rows.Row, course: Course) -> str:
    """Return the dose that an effect speaks of, in words and the course's units."""
    return prose(_dose(row), course).replace("/m2", "/m²")


def _dose(row: rows.Row) -> str:
    dose, known = row.get("dose") or {}, practices().get(row["practice"])
    if dose.get("words"):
        return str(dose["words"])
    same_unit = known and dose.get("unit") in (known.unit, known.reference_unit)
    if known and known.reference_words and (not dose or same_unit):
        return known.reference_words
    value, unit = dose.get("value", 1), dose.get("unit", "")
    unit = "pass" if unit in ("passes", "count", "") else unit
    worded = value == 1 and unit.replace(" ", "").isalpha() and len(unit) > 3
    return f"one {unit}" if worded else f"{value:g} {unit}"


def brief(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return what stands for the page where there is little room."""
    shared = shared_reason(answer.findings) if is_local(answer.findings) else ""
    told = [Section(TELL, (shared,))] if shared else []
    drawn = ((outcome, chosen(answer, outcome)) for outcome in BRIEF)
    tables = (_brief_table(outcome, held, course) for outcome, held in drawn if held)
    return (*told, *(Section(table.title, tables=(table,)) for table in tables))


def _brief_table(outcome: str, held: Sequence[rows.Row], course: Course) -> Table:
    local = is_local(held)
    held = [row for row in held if row.get("n_events", 1)] if local else held
    head = ("One act", "Seen", "Elsewhere", "Here")[: 4 if local else 3]
    cells = tuple(
        (
            act_of(row) if local else title_of(row, course).split(", ")[0],
            *_cells(row, course)[1 : len(head)],
        )
        for row in held
    )
    return Table(
        f"{terms.quantity(outcome)}: the most that one act changes", head, cells, _numbers(head)
    )


def every(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return the tables of all effects: a folded section for each practice that is done here."""
    held = grouped(answer, course)
    shared = shared_reason(answer.findings)
    told = [Section(TELL, (shared,))] if shared else []
    done = {name: got for name, got in held.items() if any(r.get("n_events") for r in got)}
    made = [_section(name, got, course, shared) for name, got in done.items()]
    other = {name: got for name, got in held.items() if name not in done}
    told += [Section(EVERY, (OPEN,))] if made else []
    rest = [Section(NOT_HERE, tables=(_elsewhere(other, course),), folded=True)] if other else []
    return (*told, *made, *rest)


def _elsewhere(held: dict[str, list[rows.Row]], course: Course) -> Table:
    """Return the effects of practices that this record has not seen."""
    cells = tuple((name, *_cells(row, course)[:3]) for name, got in held.items() for row in got)
    return Table(NOT_HERE, ("One act", "On", "Seen", "Elsewhere"), cells, frozenset({3}))


def shared_reason(held: Sequence[rows.Row]) -> str:
    """Return the verdict and the sentences of reason that every row shares, or nothing."""
    if len({row["separable"] for row in held}) != 1:
        return ""
    first, *rest = (_split(row["reason"]) for row in held)
    common = [text for text in first if all(text in other for other in rest)]
    if not common:
        return ""
    return sentence([f"{terms.SEPARABLE[held[0]['separable']]}: {_lower('. '.join(common))}"])


def _split(reason: str) -> list[str]:
    return [part.strip().rstrip(".") for part in reason.split(". ") if part.strip()]


def _section(title: str, held: Sequence[rows.Row], course: Course, shared: str) -> Section:
    head = ("On", "Seen", "Elsewhere", "Here", "From this record")
    head = head if is_local(held) else head[:3]
    cells = tuple(_cells(row, course)[: len(head)] for row in held)
    table = Table(title, head, cells, _numbers(head))
    return Section(title, _notes(held, shared), (table,), folded=True)


def _numbers(head: Sequence[str]) -> frozenset[int]:
    return frozenset(range(2, len(head)))


def _cells(row: rows.Row, course: Course) -> tuple[str, ...]:
    outcome = row["outcome"]
    return (
        terms.quantity(outcome, row.get("method") or ""),
        after(row["horizon_days"]),
        formats.change(rows.estimate(row["prior"]), outcome, course),
        formats.change(rows.estimate(row["here"]), outcome, course),
        formats.share(row.get("share_local", 0.0)),
    )


def _notes(held: Sequence[rows.Row], shared: str) -> tuple[str, ...]:
    count = max(row.get("n_events", 0) for row in held)
    done = "Not done yet in this record." if not count else f"Done {_times(count)} in this record."
    main = next((r for o in BRIEF for r in held if r["outcome"] == o), held[0])
    verdict, reason = main["separable"], main["reason"]
    lives = sorted(
        {max(round(r["half_life_days"], 1), 0.1) for r in held if r.get("half_life_days")}
    )
    fade = f"Half of it is gone after {_days(lives)}." if lives else ""
    first = f"{done} {fade}".strip()
    if not shared:
        label = terms.quantity(main["outcome"]).lower()
        told = f"{TELL.removesuffix('?')}, on {label}? {terms.SEPARABLE[verdict]}: {_lower(reason)}"
        return (first, sentence([told]))
    own = [part for part in _split(reason) if part.lower() not in shared.lower()]
    return (first, *(sentence([part]) for part in own))


def is_local(held: Sequence[rows.Row]) -> bool:
    """Tell whether anything of these effects was learned here."""
    return any(row.get("share_local", 0.0) >= LOCAL for row in held)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _days(lives: Sequence[float]) -> str:
    if len(lives) == 1:
        return "a day" if lives[0] == 1 else f"{lives[0]:g} days"
    return f"{lives[0]:g}–{lives[-1]:g} days"
