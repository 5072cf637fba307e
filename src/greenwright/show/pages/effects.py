"""Effects: what does each practice do here?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.tables import practices
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures.effects import chosen, effects_figures
from greenwright.show.page import Page, Section, Table, sentence
from greenwright.show.pages.parts import joined
from greenwright.show.prose import prose

TELL = "Can this record tell?"
BRIEF = ("green_speed", "smoothness")
HOW = (
    "An effect is that of one act at the dose named, everything else held.",
    '"Elsewhere" is what published studies and common practice say; "here" is the same '
    "after this course's own record has been weighed in.",
    "Greens are worked when they look slow and before events, so plain averages mislead; "
    "where the record cannot separate cause from habit we say so.",
)


def effects_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `effects`."""
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=effects_figures(answer, course) if pictures else (),
        sections=_sections(answer, course),
        how=HOW,
        brief=_brief(answer, course),
    )


def grouped(answer: Answer, course: Course) -> dict[str, list[rows.Row]]:
    """Return the findings of the whole course under their practice and dose, in order."""
    made: dict[str, list[rows.Row]] = {}
    for row in answer.findings:
        if row["green"] in rows.WHOLE:
            made.setdefault(title_of(row, course), []).append(row)
    return made


def title_of(row: rows.Row, course: Course) -> str:
    """Return the practice with its dose in words."""
    return f"{_act(row)}: {dose_words(row, course)}"


def _act(row: rows.Row) -> str:
    return terms.act(row["practice"], row.get("dose"))


def dose_words(row: rows.Row, course: Course) -> str:
    """Return the dose that an effect speaks of, in words and the course's units."""
    return prose(_dose(row), course)


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
        f"{_act(row)} adds most speed: {moved} {after(row['horizon_days'])} "
        f"for {dose_words(row, course)}."
    )


def _local_words(held: Sequence[rows.Row]) -> str:
    if not _local(held):
        return (
            "So far these are other people's results: published studies and common practice. "
            "This course's own record has not changed them yet."
        )
    known = sorted({_act(r) for r in held if r["separable"] == "yes"})
    if known:
        return f"This course's own record speaks clearly about {terms.listed(known).lower()}."
    return "This course's own record has begun to speak, but not clearly yet."


def _local(held: Sequence[rows.Row]) -> bool:
    return any(row.get("share_local", 0.0) >= 0.01 for row in held)


def _brief(answer: Answer, course: Course) -> tuple[Section, ...]:
    shared = shared_reason(answer.findings) if _local(answer.findings) else ""
    told = [Section(TELL, (shared,))] if shared else []
    drawn = ((outcome, chosen(answer, outcome)) for outcome in BRIEF)
    tables = (_brief_table(outcome, held, course) for outcome, held in drawn if held)
    return (*told, *(Section(table.title, tables=(table,)) for table in tables))


def _brief_table(outcome: str, held: Sequence[rows.Row], course: Course) -> Table:
    local = _local(held)
    head = ("One act", "Seen", "Elsewhere", "Here")[: 4 if local else 3]
    cells = tuple(
        (
            _act(row) if local else title_of(row, course).split(", ")[0],
            *_cells(row, course)[1 : len(head)],
        )
        for row in held
    )
    return Table(
        f"{terms.quantity(outcome)}: the most that one act changes", head, cells, _numbers(head)
    )


def _sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    held = grouped(answer, course)
    shared = shared_reason(answer.findings)
    told = [Section(TELL, (shared,))] if shared else []
    return (*told, *(_section(name, got, course, shared) for name, got in held.items()))


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
    head = head if _local(held) else head[:3]
    cells = tuple(_cells(row, course)[: len(head)] for row in held)
    return Section(title, _notes(held, shared), (Table(title, head, cells, _numbers(head)),))


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
    told = {r["separable"] for r in held}
    worst = next(k for k in ("cannot tell", "partly", "yes") if k in told)
    reason = next(r["reason"] for r in held if r["separable"] == worst)
    lives = sorted(
        {max(round(r["half_life_days"], 1), 0.1) for r in held if r.get("half_life_days")}
    )
    fade = f"Half of it is gone after {_days(lives)}." if lives else ""
    first = f"{done} {fade}".strip()
    if not shared:
        return (first, sentence([f"{TELL} {terms.SEPARABLE[worst]}: {_lower(reason)}"]))
    own = [part for part in _split(reason) if part.lower() not in shared.lower()]
    return (first, *(sentence([part]) for part in own))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def _days(lives: Sequence[float]) -> str:
    if len(lives) == 1:
        return "a day" if lives[0] == 1 else f"{lives[0]:g} days"
    return f"{lives[0]:g}–{lives[-1]:g} days"
