"""Today: how are the greens, each and together?"""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.tables import quantities
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import ago, short_date
from greenwright.show.figures.greens import greens_figure
from greenwright.show.page import Page, Section, Table, sentence
from greenwright.show.pages.coming import ahead_sections
from greenwright.show.pages.parts import joined

WHOLE = "The course as a whole"
UNSAID = {"Inside target": "no target", "Change in 7 days": "not known"}
"""Columns that may be empty, and what stands in an empty cell."""


def today_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `today`."""
    whole = rows.course_rows(answer)
    drawn = _drawn(answer, course, whole) if pictures else ()
    ahead = ahead_sections(answer, course, whole) if pictures else ()
    return joined(
        answer,
        course,
        lead=_lead(answer, course, whole),
        figures=drawn[:1],
        sections=_sections(answer, course, whole, drawn=drawn[1:], ahead=ahead),
        how=_how(whole),
        brief=_brief(answer, course, whole),
    )


def _drawn(answer: Answer, course: Course, whole: Sequence[rows.Row]) -> tuple:
    made = []
    drawn = [*whole[:2], *(row for row in whole[2:] if row["quantity"] == rows.TRUE)]
    for row in drawn:
        figure = greens_figure(answer, course, row["quantity"], row.get("method") or "")
        made += [figure] if figure else []
    return tuple(made)


def _lead(answer: Answer, course: Course, whole: Sequence[rows.Row]) -> tuple[str, ...]:
    main = [row for row in whole if row["quantity"] in rows.FIRST] or list(whole[:1])
    if not main:
        return ("We cannot tell yet: there is no reading to go by.",)
    told = [_state(row, course) for row in main]
    odd = next((o for o in (_odd(answer, row, course) for row in main) if o), "")
    stale = _stale(answer, main)
    return tuple(text for text in (*told, odd, stale) if text)


def _state(row: rows.Row, course: Course) -> str:
    """Return one sentence: the level, where it lies against the target, and how sure we are."""
    held = rows.estimate(row["estimate"])
    quantity = row["quantity"]
    level = formats.level(held, quantity, course)
    subject = f"{terms.quantity(quantity, row.get('method') or '')} is {level}"
    band = rows.band(row)
    if band is None or row.get("in_target") is None:
        return sentence([subject])
    wanted = formats.band(band.low, band.high, unit=held.unit, quantity=quantity, course=course)
    aim = f"the {'usual' if band.default else 'wanted'} {wanted}"
    return sentence([subject + ",", _against(band, held.value, row, aim)])


def _against(band: rows.Band, value: float, row: rows.Row, aim: str) -> str:
    side, p = band.side(value), row["in_target"]
    slow = ("slower than", "faster than") if row["quantity"] == "green_speed" else None
    under, over = slow or ("under", "over")
    if side == 0 and p >= 0.8:
        return f"inside {aim}"
    if 0.35 <= p <= 0.65:
        return f"on the edge of {aim}; the chance of being inside is {formats.chance(p)}"
    if side == 0:
        return f"inside {aim} by our best guess; the chance is {formats.chance(p)}"
    return f"{under if side < 0 else over} {aim}; the chance of being inside is {formats.chance(p)}"


def _odd(answer: Answer, row: rows.Row, course: Course) -> str:
    odd = [str(g) for g in row.get("odd_greens") or ()]
    if not odd:
        return ""
    centre = rows.estimate(row["estimate"]).value
    held = rows.green_rows(answer, row["quantity"], row.get("method") or "")
    values = {r["green"]: rows.estimate(r["estimate"]).value for r in held}
    slow = row["quantity"] == "green_speed"
    low = [g for g in odd if values.get(g, centre) < centre]
    high = [g for g in odd if g not in low]
    parts = [
        f"{terms.greens(keys)} {'stands' if len(keys) == 1 else 'stand'} out as {word}"
        for keys, word in (
            (low, "slower" if slow else "lower"),
            (high, "faster" if slow else "higher"),
        )
        if keys
    ]
    tail = "" if slow else f" in {terms.quantity(row['quantity']).lower()}"
    return sentence([" and ".join(parts) + tail])


def _stale(answer: Answer, main: Sequence[rows.Row]) -> str:
    worst = ""
    for row in main:
        last, known = rows.day(row.get("last_read")), quantities().get(row["quantity"])
        if last and known and (answer.as_of - last).days > known.goes_stale_d:
            label = terms.quantity(row["quantity"]).lower()
            worst = f"The last {label} reading was {ago(last, answer.as_of)}: read again soon."
    return worst


def _sections(
    answer: Answer,
    course: Course,
    whole: Sequence[rows.Row],
    *,
    drawn: Sequence,
    ahead: Sequence[Section],
) -> tuple[Section, ...]:
    every = [_cells(row, course, _label(row)) for row in whole]
    made = [*ahead]
    made += [Section(WHOLE, tables=(_table(WHOLE, "Reading", every),))] if whole else []
    made += [Section(figure.title, figure=figure) for figure in drawn]
    each = tuple(t for t in (_green_table(answer, course, row) for row in whole) if t.rows)
    if each:
        made.append(Section("Green by green", tables=each, folded=True))
    return tuple(made)


def _label(row: rows.Row) -> str:
    return terms.quantity(row["quantity"], row.get("method") or "")


def _green_table(answer: Answer, course: Course, whole: rows.Row) -> Table:
    held = rows.green_rows(answer, whole["quantity"], whole.get("method") or "")
    cells = [_cells(row, course, str(row["green"])) for row in held]
    return _table(_label(whole), "Green", cells)


def _table(title: str, first: str, cells: Sequence[tuple[str, ...]]) -> Table:
    """Return a table without the columns that have nothing to say in any row."""
    head = (first, "Now", *UNSAID, "Read")
    empty = {
        i for i, nothing in enumerate(UNSAID.values(), 2) if {c[i] for c in cells} <= {nothing}
    }
    kept = [i for i in range(len(head)) if i not in empty]
    numbers = frozenset(place for place, i in enumerate(kept) if 1 <= i <= 3)
    shown = tuple(tuple(row[i] for i in kept) for row in cells)
    return Table(title, tuple(head[i] for i in kept), shown, numbers)


def _cells(row: rows.Row, course: Course, label: str) -> tuple[str, ...]:
    held, moved = rows.estimate(row["estimate"]), rows.estimate(row.get("change_7d"))
    last = rows.day(row.get("last_read"))
    no_target, not_known = UNSAID.values()
    return (
        label,
        formats.level(held, row["quantity"], course),
        _chance(row) or no_target,
        not_known if moved is None else formats.change(moved, row["quantity"], course),
        "never" if last is None else short_date(last),
    )


def _chance(row: rows.Row) -> str:
    inside = row.get("in_target")
    return "" if inside is None else formats.chance(inside)


def _brief(answer: Answer, course: Course, whole: Sequence[rows.Row]) -> tuple[Section, ...]:
    if not whole:
        return ()
    cells = [_cells(row, course, _label(row))[:3] for row in whole]
    table = Table(WHOLE, ("Reading", "Now", "Inside target"), tuple(cells), frozenset({1, 2}))
    each = _beside(answer, course, whole)
    told = Section(WHOLE, (_moved(whole, course),), (table,))
    return (told, Section("Green by green", tables=(each,))) if each.rows else (told,)


def _moved(whole: Sequence[rows.Row], course: Course) -> str:
    held = [(row, moved) for row in whole if (moved := rows.estimate(row.get("change_7d")))]
    told = [
        f"{_label(row).lower()} {formats.change(moved, row['quantity'], course)}"
        for row, moved in held
        if formats.clear(moved)
    ]
    if told:
        return sentence([f"Clearly changed in 7 days: {terms.listed(told)}"])
    return "Nothing has clearly changed in 7 days." if held else ""


def _beside(answer: Answer, course: Course, whole: Sequence[rows.Row]) -> Table:
    """Return one row a green: its first reading with the chance, and the second beside it."""
    first, *others = whole
    shown = [first, *(row for row in others[:1] if row["quantity"] in rows.FIRST)]
    each = [_by_green(answer, row) for row in shown]
    cells = tuple(
        (
            green,
            _level(row, course),
            _chance(row) or "no target",
            *(_level(other.get(green), course) for other in each[1:]),
        )
        for green, row in each[0].items()
    )
    labels = [_label(row) for row in shown]
    head = ("Green", labels[0], "Inside target", *labels[1:])
    return Table(labels[0], head, cells, frozenset(range(1, len(head))))


def _by_green(answer: Answer, whole: rows.Row) -> dict[str, rows.Row]:
    held = rows.green_rows(answer, whole["quantity"], whole.get("method") or "")
    return {str(row["green"]): row for row in held}


def _level(row: rows.Row | None, course: Course) -> str:
    if row is None:
        return ""
    return formats.level(rows.estimate(row["estimate"]), row["quantity"], course)


def _how(whole: Sequence[rows.Row]) -> tuple[str, ...]:
    defaults = sorted({terms.quantity(r["quantity"]).lower() for r in whole if _is_default(r)})
    usual = (
        f"Nobody entered a target for {terms.listed(defaults)}; the usual one for such a course "
        "stands in. Enter your own in targets.csv."
        if defaults
        else ""
    )
    true = terms.SIDEWAYS if any(r["quantity"] == rows.TRUE for r in whole) else ""
    return (
        "Each green is judged by its own readings; where it has few, the rest of the course "
        "helps, and the range grows with every day without a reading.",
        "Speeds are rolled both ways along one line, so that the slope drops out. "
        "Observers who score higher or lower than the others are brought to one scale.",
        true,
        usual,
    )


def _is_default(row: rows.Row) -> bool:
    held = rows.band(row)
    return bool(held and held.default)
