"""Each green against the others, in playing order: which ones a player notices."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

HEIGHT = 118
LEFT = 46
_SHAPES = ["less", "like", "more"]
_TITLE = "Each green against the others"

Strip = list[dict[str, Any]]


def apart_figure(answer: Answer, course: Course) -> Figure | None:
    """Return the picture of how far each green lies from the others, one strip a quantity."""
    found = ((q, threefold.against_others(answer, q)) for q in threefold.NOTICED)
    held = {q: among for q, among in found if among}
    if not held:
        return None
    edges = {q: threefold.threshold(answer, q) for q in held}
    strips = [_strip(q, among, edges[q], course=course) for q, among in held.items()]
    return Figure(
        key="apart",
        title=_TITLE,
        description=_description(edges, course),
        finding=_finding(answer, held, course),
        svg=_svg(strips, frame.WIDE),
        svg_narrow=_svg(strips, frame.NARROW),
        table=_table(held, course),
    )


def _strip(
    quantity: str,
    among: Sequence[rows.Row],
    edge: threefold.Threshold | None,
    *,
    course: Course,
) -> tuple[str, formats.Scale, Strip, float | None]:
    scale = formats.scale_for(quantity, rows.estimate(among[0]["difference"]).unit, course)
    line = None if edge is None else edge.value * scale.factor
    values = [_value(row, scale) for row in among]
    unit = "inches" if scale.feet else scale.unit or "points"
    return f"{terms.quantity(quantity)} ({unit})", scale, values, line


def _value(row: rows.Row, scale: formats.Scale) -> dict[str, Any]:
    held = rows.estimate(row["difference"])
    seen = (row["chance"] or 0.0) >= threefold.LIKELY
    return {
        "green": str(row["green"]),
        "value": held.value * scale.factor,
        "low": held.low * scale.factor,
        "high": held.high * scale.factor,
        "shape": "like" if not seen else "less" if held.value < 0 else "more",
    }


def _description(edges: dict[str, threefold.Threshold | None], course: Course) -> str:
    told = [
        f"{formats.gap(edge.value, edge.unit, quantity, course)} of "
        f"{terms.quantity(quantity).lower()}"
        for quantity, edge in edges.items()
        if edge
    ]
    lines = f" Thin lines: the difference that half of players notice, {terms.listed(told)}."
    return (
        "Greens in playing order, one strip for each quantity; the middle line is the mean of the "
        f"others, the bar the range.{lines if told else ''} A triangle marks a green that most "
        "players notice and points the way it lies."
    )


def _finding(answer: Answer, held: dict[str, Sequence[rows.Row]], course: Course) -> str:
    seen = threefold.standing_out(answer)
    if seen:
        told = [noticed_words(row, course) for row in seen[:3]]
        more = f"; {len(seen) - 3} more do" if len(seen) > 3 else ""
        return f"Standing out from the others: {'; '.join(told)}{more}."
    every = [row for among in held.values() for row in among]
    top = max(every, key=lambda row: row["chance"] or 0.0)
    name = terms.quantity(top["quantity"]).lower()
    return (
        f"No green stands out: the likeliest to be noticed is green {top['green']} in {name}, by "
        f"{formats.chance(top['chance'] or 0.0)} players."
    )


def noticed_words(row: rows.Row, course: Course) -> str:
    """Return a green that players notice, with how far it lies off and how many notice."""
    held = rows.estimate(row["difference"])
    size = formats.gap(abs(held.value), held.unit, row["quantity"], course)
    chance = formats.chance(row["chance"])
    return f"green {row['green']}, {size} {side(row)}, to {chance} players"


def side(row: rows.Row) -> str:
    """Return which way a green lies off the others: slower, smoother, less true."""
    words = {
        "green_speed": ("slower", "faster"),
        "smoothness": ("bumpier", "smoother"),
        "trueness_score": ("less true", "truer"),
    }[row["quantity"]]
    return words[rows.estimate(row["difference"]).value > 0]


def _table(held: dict[str, Sequence[rows.Row]], course: Course) -> Table:
    cells: dict[str, list[str]] = {}
    for place, among in enumerate(held.values()):
        for row in among:
            line = cells.setdefault(str(row["green"]), ["not read"] * (2 * len(held)))
            moved = formats.change(rows.estimate(row["difference"]), row["quantity"], course)
            line[2 * place : 2 * place + 2] = [
                moved,
                formats.likely(rows.estimate(row["estimate"])),
            ]
    head = ["Green"]
    for quantity in held:
        head += [terms.quantity(quantity), "Will notice"]
    body = tuple((green, *line) for green, line in cells.items())
    return Table(_TITLE, tuple(head), body, frozenset(range(1, len(head))))


def _svg(strips: Sequence[tuple[str, formats.Scale, Strip, float | None]], size: frame.Size) -> str:
    import altair as alt

    width = size.width - LEFT - 12
    greens = list(dict.fromkeys(v["green"] for strip in strips for v in strip[2]))
    parts = [
        _layers(strip, greens, last=strip is strips[-1]).properties(
            width=width,
            height=HEIGHT,
            title=alt.TitleParams(strip[0], anchor="start", fontSize=size.font, color=frame.INK),
        )
        for strip in strips
    ]
    return frame.draw(frame.dressed(alt.vconcat(*parts, spacing=14), size))


def _layers(
    strip: tuple[str, formats.Scale, Strip, float | None], greens: Sequence[str], *, last: bool
) -> Any:
    import altair as alt

    _, scale, values, line = strip
    y = _y(values, scale, line)
    axis = alt.Axis(title=None, labelAngle=0, labelPadding=4, ticks=False)
    axis.labelOverlap, axis.labelSeparation = "parity", 5
    x = alt.X("green:N", sort=list(greens), scale=alt.Scale(domain=list(greens)))
    x.axis = axis if last else None
    base = alt.Chart(alt.Data(values=values)).encode(x=x)
    colours = alt.Scale(domain=_SHAPES, range=[frame.OUTSIDE, frame.US, frame.OUTSIDE])
    colour = alt.Color("shape:N", scale=colours, legend=None)
    shapes = alt.Scale(domain=_SHAPES, range=["triangle-down", "circle", "triangle-up"])
    return alt.layer(
        *_rules(y, line),
        base.mark_rule(strokeWidth=6, opacity=0.3).encode(
            y=alt.Y("low:Q", **y), y2="high:Q", color=colour
        ),
        base.mark_point(filled=True, size=55, opacity=1).encode(
            y=alt.Y("value:Q", **y),
            color=colour,
            shape=alt.Shape("shape:N", scale=shapes, legend=None),
        ),
    )


def _rules(y: dict[str, Any], line: float | None) -> list[Any]:
    import altair as alt

    edges = [] if line is None else [{"edge": -line}, {"edge": line}]
    made = [(frame.GREY, [{"edge": 0.0}]), (frame.INK, edges)]
    return [
        alt.Chart(alt.Data(values=values))
        .mark_rule(color=colour, strokeWidth=1)
        .encode(y=alt.Y("edge:Q", **y))
        for colour, values in made
        if values
    ]


def _y(values: Strip, scale: formats.Scale, line: float | None) -> dict[str, Any]:
    import altair as alt

    edges = [0.0] if line is None else [-line, line]
    low = min([*edges, *(v["low"] for v in values)])
    high = max([*edges, *(v["high"] for v in values)])
    plain = formats.Scale(scale.unit, scale.factor)
    domain, ticks = frame.room(low, high, frame.step_for(high - low, plain, wanted=4))
    shown = f"(datum.value > 0 ? '+' : '') + {frame.label_expression(plain)}"
    axis = alt.Axis(values=ticks, labelExpr=shown, minExtent=LEFT - 8, grid=False, ticks=False)
    return {"axis": axis, "scale": alt.Scale(domain=domain, nice=False), "title": None}
