"""The plan of feed as the crew reads it, by month, and what is to be bought."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import feeding, formats, rows, terms
from greenwright.show.page import Section, Table, sentence
from greenwright.show.prose import prose

SHEET = "The crew's sheet: what to put out next"
WINDOWS = 2
"""Windows of the plan that the sheet holds."""


def sheet(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return the next windows with tank sums and cautions: one page in print."""
    if not answer.choices:
        return ()
    firsts = sorted({feeding.starts(row) for row in answer.choices})[:WINDOWS]
    every = rows.greens_of(answer)
    held = feeding.together([r for r in answer.choices if feeding.starts(r) in firsts])
    cells = tuple(
        (
            f"{feeding.span(row)}: {row['material']}",
            terms.greens([str(g) for g in row["greens"]], every),
            f"{feeding.rate(row['rate'], course)}{_times(row['passes'])}",
            feeding.mass(row["amount"] / row["passes"], course),
            _water(row, course),
        )
        for row in held
    )
    head = ("When and what", "Where", "Rate of a pass", "Weigh out for a pass", "Water and tank")
    stops = tuple(prose(str(text), course) for text in answer.more.get("holds") or ())
    leave = sentence(["Leave it if", "; ".join(stops)])
    told = (
        "Weigh out, do not guess; passes of one window at least a week apart. The label is law: "
        "it stands above this sheet, and so do local codes and the licence.",
        leave,
        *_limits(answer),
    )
    table = Table(SHEET, head, cells, stacked=True)
    return (Section(SHEET, told, (table,), sheet=True),)


def _times(passes: int) -> str:
    return "" if passes == 1 else f", {passes} passes"


def _water(row: rows.Row, course: Course) -> str:
    spray = row.get("spray")
    if not spray:
        return "spread dry, watered in"
    return (
        f"{feeding.water(spray['water_l'], course)} in all, "
        f"{feeding.per_tank(spray['g_per_100_l'], course)}"
    )


def _limits(answer: Answer) -> tuple[str, ...]:
    hit = [row["text"] for row in answer.more.get("limits_hit") or ()]
    return (sentence([f"Limits that the plan goes up to: {'; '.join(hit)}"]),) if hit else ()


def month_plan(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return the whole plan window by window, and what the limits keep from being met."""
    title = "The plan by half months"
    short = _short(answer, course)
    if not answer.choices:
        return (Section(title, short),) if short else ()
    every = len(answer.more.get("groups") or ())
    cells = tuple(
        (
            feeding.span(row),
            feeding.listed_groups(row["groups"], every),
            row["material"],
            f"{feeding.rate(row['rate'], course)}{_times(row['passes'])}",
            feeding.mass(row["amount"], course),
            formats.money(row["cost"], course.currency),
            _supplies(row, course),
        )
        for row in feeding.together(answer.choices)
    )
    head = ("Days", "Where", "Material", "Rate of a pass", "In all", "Cost", "Brings")
    table = Table(title, head, cells, frozenset({4, 5}))
    return (Section(title, short, (table,)),)


def _supplies(row: rows.Row, course: Course) -> str:
    return ", ".join(
        f"{element} {feeding.rate(round(amount, 2), course)}"
        for element, amount in row["supplies"].items()
        if amount >= 0.005
    )


def _short(answer: Answer, course: Course) -> tuple[str, ...]:
    held: Sequence[rows.Row] = answer.more.get("short") or ()
    told: dict[str, list[str]] = {}
    for row in held:
        month = f" in {feeding.month_name(row['month'])}" if row.get("month") else ""
        what = feeding.element_name(row["element"]).lower()
        where = feeding.group_name(row["green"])
        text = f"{feeding.rate(row['amount'], course)} of {what}{month} on {where}"
        told.setdefault("; ".join(row["because"]) or "the limits together", []).append(text)
    return tuple(
        sentence([f"Short: {terms.listed(texts)}. What clashes: {because}"])
        for because, texts in told.items()
    )


def shopping(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return what the plan uses, what the store holds, and what is to be bought."""
    held = answer.more.get("shopping") or ()
    if not held:
        return ()
    title = "What to buy"
    cells = tuple(
        (
            row["material"],
            feeding.mass(row["mass_kg"], course),
            feeding.mass(row["stock_kg"], course),
            _buy(row, course),
            formats.money(row["cost"], course.currency),
        )
        for row in held
    )
    head = ("Material", "Used", "In the store", "To buy", "Cost of what is used")
    return (Section(title, tables=(Table(title, head, cells, frozenset({1, 2, 4})),)),)


def _buy(row: rows.Row, course: Course) -> str:
    if not row["buy_kg"]:
        return "nothing"
    if row.get("packs"):
        noun = "pack" if row["packs"] == 1 else "packs"
        return f"{row['packs']} {noun} of {feeding.mass(row['pack_kg'], course)}"
    return feeding.mass(row["buy_kg"], course)
