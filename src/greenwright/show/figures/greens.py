"""The greens in playing order as small equal panels on one scale: the odd one is seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

PANEL_HEIGHT = 76
GAP = 12
AXIS = 40
"""Least room of the labels on the left [px]; with their offset they take SIDE."""
SIDE = 54
ENDS = {"green_speed": ("Slowest", "fastest"), "trueness": ("Truest", "least true")}
"""What the lowest and the highest are called."""


@dataclass(frozen=True, slots=True)
class _Panel:
    """One green: today's level with its range and the level a week ago [printed unit]."""

    label: str
    now: float
    low: float
    high: float
    before: float | None
    side: int


def greens_figure(answer: Answer, course: Course, quantity: str, method: str) -> Figure | None:
    """Return the picture of one quantity on every green, or nothing when no green has it."""
    held = rows.green_rows(answer, quantity, method)
    if not held:
        return None
    unit = rows.estimate(held[0]["estimate"]).unit
    scale = formats.scale_for(quantity, unit, course)
    panels = [_panel(row, scale, course) for row in held]
    band = rows.band(held[0])
    lines = _lines(band, scale)
    label = terms.quantity(quantity, method)
    return Figure(
        key=f"greens-{quantity}-{method}".strip("-").replace(" ", "-").replace("_", "-"),
        title=f"{label} on each green",
        description=_description(label, panels, lines, scale),
        finding=_finding(held, panels, course, lines),
        svg=_svg(panels, lines, scale, frame.WIDE),
        svg_narrow=_svg(panels, lines, scale, frame.NARROW),
        table=_table(held, course, label),
    )


def _panel(row: rows.Row, scale: formats.Scale, course: Course) -> _Panel:
    held, moved = rows.estimate(row["estimate"]), rows.estimate(row.get("change_7d"))
    band = rows.band(row)
    before = None if moved is None else scale.shown(scale.inside(held.value - moved.value))
    return _Panel(
        label=f"{row['green']}:  {formats.middle(held, row['quantity'], course)}",
        now=scale.shown(scale.inside(held.value)),
        low=scale.shown(scale.inside(held.low)),
        high=scale.shown(scale.inside(held.high)),
        before=before,
        side=band.side(held.value) if band else 0,
    )


def _lines(band: rows.Band | None, scale: formats.Scale) -> tuple[float, ...]:
    if band is None:
        return ()
    ends = [scale.shown(x) for x in (band.low, band.high) if x is not None]
    top = float(scale.of) if scale.of else None
    return tuple(x for x in ends if x != top)


def _description(
    label: str, panels: Sequence[_Panel], lines: Sequence[float], scale: formats.Scale
) -> str:
    unit = frame.unit_words(scale)
    ago = "The grey dot on the left is a week ago, the" if _has_before(panels) else "The"
    target = " Thin lines: the target." if lines else ""
    shape = (
        " A triangle points the way a green lies outside it."
        if lines and any(p.side for p in panels)
        else ""
    )
    spoken = f" ({unit})" if unit else ""
    low_is_good = f" {terms.SIDEWAYS}" if label == terms.quantity(rows.TRUE) else ""
    return (
        f"One panel for each green in playing order, all on one scale{spoken}. {ago} mark on the "
        f"right is today, its bar the range.{target}{shape}{low_is_good}"
    )


def _has_before(panels: Sequence[_Panel]) -> bool:
    return any(p.before is not None for p in panels)


def _finding(
    held: Sequence[rows.Row], panels: Sequence[_Panel], course: Course, lines: Sequence[float]
) -> str:
    quantity = held[0]["quantity"]
    ordered = sorted(held, key=lambda row: rows.estimate(row["estimate"]).value)
    low, high = ordered[0], ordered[-1]
    named = [f"green {row['green']} with {_middle(row, course)}" for row in (low, high)]
    ends = ENDS.get(quantity, ("Lowest", "highest"))
    told = f"{ends[0]} is {named[0]}, {ends[1]} {named[1]}"
    if len(held) == 1:
        told = f"Only {named[0]} has been read"
    if not lines:
        return f"{told}."
    inside = sum(p.side == 0 for p in panels)
    return f"{told}; {_count(inside, len(panels))} by our best guess."


def _middle(row: rows.Row, course: Course) -> str:
    return formats.middle(rows.estimate(row["estimate"]), row["quantity"], course)


def _count(inside: int, total: int) -> str:
    if inside in (0, total):
        return f"{'none' if not inside else 'all'} of {total} inside the target"
    return f"{inside} of {total} inside the target"


def _table(held: Sequence[rows.Row], course: Course, label: str) -> Table:
    cells = []
    for row in held:
        moved = rows.estimate(row.get("change_7d"))
        level = formats.level(rows.estimate(row["estimate"]), row["quantity"], course)
        change = "not known" if moved is None else formats.change(moved, row["quantity"], course)
        cells.append((str(row["green"]), level, change))
    head = ("Green", "Now", "Change in 7 days")
    return Table(f"{label} on each green", head, tuple(cells), frozenset({1, 2}))


def _svg(
    panels: Sequence[_Panel], lines: Sequence[float], scale: formats.Scale, size: frame.Size
) -> str:
    columns = min(size.columns, len(panels))
    room = (size.width - SIDE - GAP * (columns - 1)) / columns
    chart = _layers(panels, lines, scale, size).properties(
        width=min(int(room) - 2, 150), height=PANEL_HEIGHT
    )
    labels = [p.label for p in panels]
    faceted = chart.facet(facet=_facet(labels), columns=columns, spacing=GAP)
    return frame.draw(frame.dressed(faceted, size))


def _facet(labels: Sequence[str]) -> Any:
    import altair as alt

    header = alt.Header(labelAnchor="start", labelPadding=3, labelFontWeight="bold", labelLimit=150)
    return alt.Facet("label:N", sort=list(labels), title=None, header=header)


def _data(panels: Sequence[_Panel], lines: Sequence[float]) -> list[dict[str, Any]]:
    edge = {"line_low": lines[0] if lines else None, "line_high": lines[-1] if lines else None}
    made = []
    for p in panels:
        held = {"label": p.label, "now": p.now, "low": p.low, "high": p.high, "x": 1, "x0": 0}
        shape = {-1: "under", 0: "inside", 1: "over"}[p.side]
        made.append({**held, "before": p.before, "shape": shape, **edge})
    return made


def _layers(
    panels: Sequence[_Panel], lines: Sequence[float], scale: formats.Scale, size: frame.Size
) -> Any:
    import altair as alt

    y = _y_scale(panels, lines, scale)
    x = alt.X("x:Q", axis=None, scale=alt.Scale(domain=[-0.35, 1.35]))
    base = alt.Chart(alt.Data(values=_data(panels, lines)))
    mark = _today(base, x, y)
    target = [
        base.mark_rule(color=frame.INK, strokeWidth=1).encode(y=alt.Y(f"{edge}:Q", **y))
        for edge in (
            ("line_low", "line_high") if len(lines) > 1 else ("line_low",) if lines else ()
        )
    ]
    return alt.layer(*target, *_week_ago(base, x, y, panels), *mark)


def _y_scale(
    panels: Sequence[_Panel], lines: Sequence[float], scale: formats.Scale
) -> dict[str, Any]:
    import altair as alt

    held = [x for p in panels for x in (p.low, p.high, p.now, p.before) if x is not None]
    low, high = min([*held, *lines]), max([*held, *lines])
    domain, ticks = frame.room(low, high, frame.step_for(high - low, scale, wanted=3))
    axis = alt.Axis(
        values=ticks,
        labelExpr=frame.label_expression(scale),
        minExtent=AXIS,
        ticks=False,
        grid=False,
        domain=False,
    )
    return {"scale": alt.Scale(domain=domain, nice=False), "axis": axis, "title": None}


def _week_ago(base: Any, x: Any, y: dict[str, Any], panels: Sequence[_Panel]) -> list[Any]:
    import altair as alt

    if not _has_before(panels):
        return []
    seen = base.transform_filter("isValid(datum.before)")
    return [
        seen.mark_rule(color=frame.GREY, strokeWidth=1.5, strokeDash=[3, 2]).encode(
            x=alt.X("x0:Q", axis=None), x2="x:Q", y=alt.Y("before:Q", **y), y2="now:Q"
        ),
        seen.mark_point(filled=True, color=frame.GREY, size=36, opacity=1).encode(
            x=alt.X("x0:Q", axis=None), y=alt.Y("before:Q", **y)
        ),
    ]


def _today(base: Any, x: Any, y: dict[str, Any]) -> list[Any]:
    import altair as alt

    kinds = ["under", "inside", "over"]
    shapes = alt.Scale(domain=kinds, range=["triangle-down", "circle", "triangle-up"])
    colours = alt.Scale(domain=kinds, range=[frame.OUTSIDE, frame.US, frame.OUTSIDE])
    colour = alt.Color("shape:N", scale=colours, legend=None)
    return [
        base.mark_rule(strokeWidth=9, opacity=0.3, clip=True).encode(
            x=x, y=alt.Y("low:Q", **y), y2="high:Q", color=colour
        ),
        base.mark_point(filled=True, size=70, opacity=1, clip=True).encode(
            x=x,
            y=alt.Y("now:Q", **y),
            color=colour,
            shape=alt.Shape("shape:N", scale=shapes, legend=None),
        ),
    ]
