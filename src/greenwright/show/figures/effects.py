"""What each practice does: elsewhere and here, as two ranges side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

ROW_HEIGHT = 46
DRAWN = ("green_speed", "smoothness")
WHOSE = ["elsewhere", "here"]


def effects_figures(answer: Answer, course: Course) -> tuple[Figure, ...]:
    """Return one picture for each outcome that a practice is known to move."""
    made = (_figure(answer, course, outcome) for outcome in DRAWN)
    return tuple(figure for figure in made if figure)


def chosen(answer: Answer, outcome: str) -> list[rows.Row]:
    """Return one row per practice and dose: the horizon at which its effect is largest."""
    best: dict[tuple[str, str], rows.Row] = {}
    for row in answer.findings:
        if row["outcome"] != outcome or row["green"] not in rows.WHOLE:
            continue
        key = (row["practice"], str(row.get("dose")))
        if key not in best or _size(row) > _size(best[key]):
            best[key] = row
    return sorted(best.values(), key=lambda row: -rows.estimate(row["here"]).value)


def _size(row: rows.Row) -> float:
    return abs(rows.estimate(row["here"]).value)


def _figure(answer: Answer, course: Course, outcome: str) -> Figure | None:
    held = chosen(answer, outcome)
    if not held:
        return None
    scale = formats.scale_for(outcome, rows.estimate(held[0]["here"]).unit, course)
    label = terms.quantity(outcome)
    values = [v for row in held for v in _values(row, scale)]
    return Figure(
        key=f"effects-{outcome}".replace("_", "-"),
        title=f"{label}: what one act changes",
        description=(
            "One row for each practice at the time its effect is largest. Grey: what is known "
            "elsewhere; blue: here. The bar is the range, the mark the best guess; the upright "
            f"line is no change{_unit(scale)}."
        ),
        finding=_finding(held, course),
        svg=_svg(values, frame.WIDE, scale),
        svg_narrow=_svg(values, frame.NARROW, scale),
        table=_table(held, course, label),
    )


def _unit(scale: formats.Scale) -> str:
    word = "inches" if scale.feet else scale.unit or "points"
    return f" ({word})"


def row_label(row: rows.Row) -> str:
    """Return the name of a row: practice and when."""
    return f"{_act(row)}, {after(row['horizon_days'])}"


def _act(row: rows.Row) -> str:
    return terms.act(row["practice"], row.get("dose"))


def _values(row: rows.Row, scale: formats.Scale) -> list[dict[str, Any]]:
    made = []
    for whose, held in zip(WHOSE, (row["prior"], row["here"]), strict=True):
        ends: Estimate = rows.estimate(held)
        made.append(
            {
                "name": row_label(row),
                "whose": whose,
                "value": ends.value * scale.factor,
                "low": ends.low * scale.factor,
                "high": ends.high * scale.factor,
            }
        )
    return made


def _finding(held: Sequence[rows.Row], course: Course) -> str:
    def told(row: rows.Row) -> str:
        moved = formats.change(rows.estimate(row["here"]), row["outcome"], course)
        name = _act(row).lower()
        return f"{name} {moved} {after(row['horizon_days'])}"

    clear = [row for row in held if formats.clear(rows.estimate(row["here"]))]
    if not clear:
        return "No practice here has an effect whose direction we are sure of."
    return f"The direction is clear for {'; '.join(told(row) for row in clear)}."


def _table(held: Sequence[rows.Row], course: Course, label: str) -> Table:
    cells = tuple(
        (
            _act(row),
            after(row["horizon_days"]),
            formats.change(rows.estimate(row["prior"]), row["outcome"], course),
            formats.change(rows.estimate(row["here"]), row["outcome"], course),
        )
        for row in held
    )
    head = ("Practice", "Seen", "Elsewhere", "Here")
    return Table(f"{label}: what one act changes", head, cells, frozenset({2, 3}))


def _svg(values: Sequence[dict[str, Any]], size: frame.Size, scale: formats.Scale) -> str:
    import altair as alt

    count = len({v["name"] for v in values})
    x = _x(values, scale)
    shape = alt.Shape(
        "whose:N", scale=alt.Scale(domain=WHOSE, range=["square", "circle"]), legend=None
    )
    base = alt.Chart(alt.Data(values=list(values))).encode(**_encodings())
    zero = alt.Chart(alt.Data(values=[{"zero": 0}])).mark_rule(color=frame.INK)
    chart = alt.layer(
        zero.encode(x=alt.X("zero:Q", **x)),
        base.mark_rule(strokeWidth=8, opacity=0.35).encode(x=alt.X("low:Q", **x), x2="high:Q"),
        base.mark_point(filled=True, size=60, opacity=1).encode(
            x=alt.X("value:Q", **x), shape=shape
        ),
    )
    fitted = chart.properties(
        width=size.width, height=count * ROW_HEIGHT + 30, autosize={"type": "fit"}
    )
    return frame.draw(frame.dressed(fitted, size))


def _encodings() -> dict[str, Any]:
    import altair as alt

    shown = "split(datum.label, ', ')"
    axis = alt.Axis(title=None, labelExpr=shown, labelLineHeight=16, ticks=False, domain=False)
    colours = alt.Scale(domain=WHOSE, range=[frame.GREY, frame.US])
    return {
        "y": alt.Y("name:N", sort=None, axis=axis),
        "yOffset": alt.YOffset("whose:N", sort=WHOSE, scale=alt.Scale(paddingOuter=0.6)),
        "color": alt.Color("whose:N", scale=colours, legend=None),
    }


def _x(values: Sequence[dict[str, Any]], scale: formats.Scale) -> dict[str, Any]:
    import altair as alt

    low = min([0.0, *(v["low"] for v in values)])
    high = max([0.0, *(v["high"] for v in values)])
    plain = formats.Scale(scale.unit, scale.factor)
    domain, ticks = frame.room(low, high, frame.step_for(high - low, plain, wanted=5))
    unit = " in" if scale.feet else ""
    shown = f"(datum.value > 0 ? '+' : '') + {frame.label_expression(plain)} + '{unit}'"
    axis = alt.Axis(values=ticks, labelExpr=shown, labelOverlap=True)
    return {"axis": axis, "scale": alt.Scale(domain=domain, nice=False), "title": None}
