"""What each practice does: elsewhere and here, as two ranges side by side."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures import frame
from greenwright.show.figures.ranges import Range, ranges_svg
from greenwright.show.page import Figure, Table

DRAWN = ("green_speed", "smoothness")
MOST = 9
"""Practices drawn in one picture; the others stand in its table."""


def effects_figures(answer: Answer, course: Course) -> tuple[Figure, ...]:
    """Return one picture for each outcome, speed and smoothness first."""
    made = (_figure(answer, course, outcome) for outcome in outcomes(answer))
    return tuple(figure for figure in made if figure)


def outcomes(answer: Answer) -> list[str]:
    """Return the outcomes that the answer speaks of, speed and smoothness first."""
    told = dict.fromkeys(row["outcome"] for row in answer.findings)
    return [*(o for o in DRAWN if o in told), *(o for o in told if o not in DRAWN)]


def chosen(answer: Answer, outcome: str) -> list[rows.Row]:
    """Return one row per practice and dose: the horizon at which its effect is largest."""
    best: dict[tuple[str, str, str], rows.Row] = {}
    for row in answer.findings:
        if row["outcome"] != outcome or row["green"] not in rows.WHOLE:
            continue
        key = (row["practice"], str(row.get("dose")), row.get("method") or "")
        if key not in best or _size(row) > _size(best[key]):
            best[key] = row
    return sorted(best.values(), key=lambda row: -rows.estimate(row["here"]).value)


def _size(row: rows.Row) -> float:
    return abs(rows.estimate(row["here"]).value)


def drawn(held: Sequence[rows.Row]) -> list[rows.Row]:
    """Return the rows that a picture has room for: what is done here goes first."""
    ordered = sorted(held, key=lambda row: (not row.get("n_events", 0), -_size(row)))
    kept = ordered[:MOST]
    return [row for row in held if row in kept]


def _figure(answer: Answer, course: Course, outcome: str) -> Figure | None:
    held = chosen(answer, outcome)
    if not held:
        return None
    scale = formats.scale_for(outcome, rows.estimate(held[0]["here"]).unit, course)
    label = terms.quantity(outcome)
    shown = drawn(held)
    return Figure(
        key=f"effects-{outcome}".replace("_", "-"),
        title=f"{label}: what one act changes",
        description=_description(scale, len(held) - len(shown)),
        finding=_finding(held, course),
        svg=ranges_svg(_ranges(shown, wide=True), scale, frame.WIDE),
        svg_narrow=ranges_svg(_ranges(shown, wide=False), scale, frame.NARROW),
        table=_table(held, course, label),
    )


def _description(scale: formats.Scale, left_out: int) -> str:
    unit = "inches" if scale.feet else scale.unit or "points"
    more = f" {left_out} more stand in the table only." if left_out else ""
    return (
        "One row for each practice at the time its effect is largest. Grey with a square: what is "
        "known elsewhere; blue with a dot: here. The bar is the range, the mark the best guess; "
        f"the upright line is no change ({unit}). In words: whether this record can tell the "
        f"effect from the habit of doing it, and on how many days it was done.{more}"
    )


def _ranges(held: Sequence[rows.Row], *, wide: bool) -> list[Range]:
    made = []
    for row in held:
        name = (_act(row), *([row["method"]] if row.get("method") else []))
        name = (*name, after(row["horizon_days"]))
        told = (terms.VERDICTS[row["separable"]], _done(row))
        label, beside = (name, told) if wide else ((*name, *told), ())
        for kind, key in (("elsewhere", "prior"), ("here", "here")):
            made.append(Range(label, kind, rows.estimate(row[key]), beside))
    return made


def _act(row: rows.Row) -> str:
    return terms.act(row["practice"], row.get("dose"))


def _done(row: rows.Row) -> str:
    count = row.get("n_events", 0)
    return {0: "not done here", 1: "done on one day"}.get(count, f"done on {count} days")


def _finding(held: Sequence[rows.Row], course: Course) -> str:
    def told(row: rows.Row) -> str:
        moved = formats.change(rows.estimate(row["here"]), row["outcome"], course)
        name = _act(row).lower()
        return f"{name} {moved} {after(row['horizon_days'])}"

    clear = [row for row in held if formats.clear(rows.estimate(row["here"]))]
    if not clear:
        return "No practice here has an effect whose direction we are sure of."
    few = sorted(clear, key=lambda row: -_size(row))[:3]
    more = f"; {len(clear) - len(few)} more in the table" if len(clear) > len(few) else ""
    return f"The direction is clear for {'; '.join(told(row) for row in few)}{more}."


def _table(held: Sequence[rows.Row], course: Course, label: str) -> Table:
    cells = tuple(
        (
            _act(row),
            after(row["horizon_days"]),
            formats.change(rows.estimate(row["prior"]), row["outcome"], course),
            formats.change(rows.estimate(row["here"]), row["outcome"], course),
            terms.SEPARABLE[row["separable"]],
            str(row.get("n_events", 0)),
        )
        for row in held
    )
    head = ("Practice", "Seen", "Elsewhere", "Here", "Can this record tell?", "Days done")
    return Table(f"{label}: what one act changes", head, cells, frozenset({2, 3, 5}))
