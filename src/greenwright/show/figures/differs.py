"""What one act does on each green: where greens differ from the course."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.figures import frame
from greenwright.show.learned import Detail
from greenwright.show.page import Figure, Table

HEIGHT = 130
LEFT = 58


def differs_figure(
    detail: Detail, held: Sequence[rows.Row], course: Course, *, greens: Sequence[str] = ()
) -> Figure | None:
    """Return the picture of one effect green by green, or nothing where greens are not told apart.

    Args:
        detail: the effect of the whole course.
        held: its rows of single greens.
        course: decides the units.
        greens: all of them in playing order, where some are not told apart.
    """
    if not held:
        return None
    scale = formats.scale_for(detail.outcome, detail.here.unit, course)
    label = terms.quantity(detail.outcome).lower()
    return Figure(
        key=f"differs-{detail.row['practice']}-{detail.outcome}".replace("_", "-"),
        title=f"{detail.act}, {label}: green by green",
        description=(
            "Greens in playing order; each dot is what one act changes there, its bar the range. "
            f"The dashed line is the course; the plain line no change.{_left_out(held, greens)}"
        ),
        finding=_finding(detail, held, course),
        svg=_svg(detail, held, (scale, greens), frame.WIDE),
        svg_narrow=_svg(detail, held, (scale, greens), frame.NARROW),
        table=_table(detail, held, course),
    )


def _left_out(held: Sequence[rows.Row], greens: Sequence[str]) -> str:
    if set(greens) <= {str(row["green"]) for row in held}:
        return ""
    return " Where no dot stands, nothing tells the green from the course."


def apart(detail: Detail, held: Sequence[rows.Row]) -> list[rows.Row]:
    """Return the greens whose range leaves out what the course does, the furthest first."""
    centre = detail.here.value
    found = []
    for row in held:
        one = rows.estimate(row["here"])
        if not one.low <= centre <= one.high:
            found.append(row)
    return sorted(found, key=lambda row: -abs(rows.estimate(row["here"]).value - centre))


def _finding(detail: Detail, held: Sequence[rows.Row], course: Course) -> str:
    off = apart(detail, held)
    if not off:
        low, high = (f(held, key=lambda row: rows.estimate(row["here"]).value) for f in (min, max))
        return (
            f"No green is clearly unlike the others: the least is green {low['green']} with "
            f"{_told(low, detail, course)}, the most green {high['green']} with "
            f"{_told(high, detail, course)}."
        )
    told = [f"green {row['green']} {_told(row, detail, course)}" for row in off[:3]]
    whole = formats.change(detail.here, detail.outcome, course)
    return f"The course: {whole}; clearly unlike it: {terms.listed(told)}."


def _told(row: rows.Row, detail: Detail, course: Course) -> str:
    return formats.change(rows.estimate(row["here"]), detail.outcome, course)


def _table(detail: Detail, held: Sequence[rows.Row], course: Course) -> Table:
    cells = tuple((str(row["green"]), _told(row, detail, course)) for row in held)
    title = f"{detail.act}, {terms.quantity(detail.outcome).lower()}: green by green"
    return Table(title, ("Green", "Here"), cells, frozenset({1}))


def _svg(
    detail: Detail,
    held: Sequence[rows.Row],
    look: tuple[formats.Scale, Sequence[str]],
    size: frame.Size,
) -> str:
    import altair as alt

    scale, greens = look
    values = []
    for row in held:
        one = rows.estimate(row["here"])
        ends = {name: getattr(one, name) * scale.factor for name in ("value", "low", "high")}
        values.append({"green": str(row["green"]), **ends})
    centre = detail.here.value * scale.factor
    y = _y([centre, *(v[end] for v in values for end in ("low", "high"))], scale)
    shown = [v["green"] for v in values]
    greens = list(greens) if set(shown) <= set(greens) else shown
    axis = alt.Axis(title=None, labelAngle=0, ticks=False, labelOverlap="parity", labelSeparation=5)
    x = alt.X("green:N", sort=greens, scale=alt.Scale(domain=greens), axis=axis)
    base = alt.Chart(alt.Data(values=values)).encode(x=x)
    chart = alt.layer(
        *_lines(centre, y),
        base.mark_rule(strokeWidth=6, opacity=0.3, color=frame.US).encode(
            y=alt.Y("low:Q", **y), y2="high:Q"
        ),
        base.mark_point(filled=True, size=50, opacity=1, color=frame.US).encode(
            y=alt.Y("value:Q", **y)
        ),
    )
    width = size.width - LEFT - 12
    return frame.draw(frame.dressed(chart.properties(width=width, height=HEIGHT), size))


def _lines(centre: float, y: dict[str, Any]) -> list[Any]:
    import altair as alt

    def rule(value: float, **look: Any) -> Any:
        chart = alt.Chart(alt.Data(values=[{"edge": value}])).mark_rule(**look)
        return chart.encode(y=alt.Y("edge:Q", **y))

    return [rule(0.0, color=frame.INK), rule(centre, color=frame.GREY, strokeDash=[5, 4])]


def _y(ends: Sequence[float], scale: formats.Scale) -> dict[str, Any]:
    held = frame.changes_axis(ends, scale, wanted=4)
    held["axis"].minExtent = LEFT - 8
    held["axis"].grid = False
    return held
