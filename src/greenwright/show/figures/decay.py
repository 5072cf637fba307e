"""What is left of one act, day by day after it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.values import Course
from greenwright.show import formats, terms
from greenwright.show.dates import after
from greenwright.show.figures import frame
from greenwright.show.learned import Detail, Point
from greenwright.show.page import Figure, Table

HEIGHT = 180
LEFT = 64
GONE = 0.1
"""An effect smaller than this share of its largest is told as gone."""


def decay_figure(detail: Detail, points: Sequence[Point], course: Course) -> Figure | None:
    """Return the picture of one effect over the days after the act, or nothing for one day only.

    Args:
        detail: the effect.
        points: day by day, at least two.
        course: decides the units.
    """
    if len(points) < 2:
        return None
    unit = points[0].here.unit
    scale = formats.scale_for(detail.outcome, unit, course)
    label = terms.quantity(detail.outcome).lower()
    return Figure(
        key=f"decay-{detail.row['practice']}-{detail.outcome}".replace("_", "-"),
        title=f"What is left of it: {detail.act.lower()}, {label}",
        description=(
            "Days after one act run to the right; upward is more "
            f"{label} ({_unit(scale)}). Blue line with its tint: here; dashed grey line between "
            "thin ones: elsewhere. The level line is no change."
        ),
        finding=_finding(detail, points, course),
        svg=_svg(points, scale, frame.WIDE),
        svg_narrow=_svg(points, scale, frame.NARROW),
        table=_table(detail, points, course),
    )


def _unit(scale: formats.Scale) -> str:
    return "inches" if scale.feet else scale.unit or "points"


def _finding(detail: Detail, points: Sequence[Point], course: Course) -> str:
    def told(point: Point) -> str:
        return formats.change(point.here, detail.outcome, course)

    top = max(points, key=lambda point: abs(point.here.value))
    last = points[-1]
    first = f"One act of {detail.act.lower()} changes it by {told(top)} {after(top.day)}"
    left = abs(last.here.value) / (abs(top.here.value) or 1.0)
    if last is top:
        return f"{first}, and it had not begun to fade by then."
    if left < GONE:
        gone = next(p for p in points if p.day > top.day and _small(p, top))
        return f"{first}; next to nothing of it is left {after(gone.day)}."
    return f"{first}; {after(last.day)} it is {told(last)}."


def _small(point: Point, top: Point) -> bool:
    return abs(point.here.value) < GONE * abs(top.here.value)


def _table(detail: Detail, points: Sequence[Point], course: Course) -> Table:
    cells = tuple(
        (
            after(point.day),
            formats.change(point.prior, detail.outcome, course),
            formats.change(point.here, detail.outcome, course),
        )
        for point in points
    )
    title = f"{detail.act}: {terms.quantity(detail.outcome).lower()} after one act"
    return Table(title, ("Seen", "Elsewhere", "Here"), cells, frozenset({1, 2}))


def _values(points: Sequence[Point], scale: formats.Scale) -> list[dict[str, Any]]:
    made = []
    for point in points:
        held = {"day": point.day}
        for name, one in (("prior", point.prior), ("here", point.here)):
            for end in ("value", "low", "high"):
                held[f"{name}_{end}"] = getattr(one, end) * scale.factor
        made.append(held)
    return made


def _svg(points: Sequence[Point], scale: formats.Scale, size: frame.Size) -> str:
    import altair as alt

    values = _values(points, scale)
    y = _y(values, scale)
    x = alt.X("day:Q", **_x(points, size))
    base = alt.Chart(alt.Data(values=values)).encode(x=x)
    zero = alt.Chart(alt.Data(values=[{"zero": 0}])).mark_rule(color=frame.INK)
    line = base.mark_line(color=frame.US, strokeWidth=2.5, point={"color": frame.US, "size": 40})
    chart = alt.layer(
        zero.encode(y=alt.Y("zero:Q", **y)),
        *_elsewhere(base, y),
        base.mark_area(color=frame.US, opacity=0.25, line=False).encode(
            y=alt.Y("here_low:Q", **y), y2="here_high:Q"
        ),
        line.encode(y=alt.Y("here_value:Q", **y)),
    )
    width = size.width - LEFT - 16
    fitted = chart.properties(width=width, height=HEIGHT)
    return frame.draw(frame.dressed(fitted, size))


def _elsewhere(base: Any, y: dict[str, Any]) -> list[Any]:
    import altair as alt

    ends = [
        base.mark_line(color=frame.GREY, strokeWidth=1).encode(y=alt.Y(f"prior_{end}:Q", **y))
        for end in ("low", "high")
    ]
    middle = base.mark_line(color=frame.GREY, strokeWidth=2, strokeDash=[5, 4])
    return [*ends, middle.encode(y=alt.Y("prior_value:Q", **y))]


def _x(points: Sequence[Point], size: frame.Size) -> dict[str, Any]:
    import altair as alt

    last = max(point.day for point in points)
    step = next(s for s in (1, 2, 7, 14, 28, 56) if last / s <= (14 if size.width > 500 else 7))
    ticks = list(range(0, int(last) + 1, step))
    text = "datum.value == 0 ? 'same day' : datum.value + (datum.value == 1 ? ' day' : ' days')"
    if len(ticks) > 5:
        text = "datum.value == 0 ? 'same day' : '' + datum.value"
    axis = alt.Axis(values=ticks, labelExpr=text, grid=False, labelFlush=True, labelOverlap=True)
    return {"axis": axis, "title": None, "scale": alt.Scale(domain=[0, last], nice=False)}


def _y(values: Sequence[dict[str, Any]], scale: formats.Scale) -> dict[str, Any]:
    ends = [value for held in values for name, value in held.items() if name != "day"]
    held = frame.changes_axis(ends, scale, wanted=5)
    held["axis"].minExtent = LEFT - 8
    held["axis"].grid = False
    return held
