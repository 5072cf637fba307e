"""Best guesses with their ranges in rows under each other, for changes of one quantity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.estimate import Estimate
from greenwright.show.figures import frame
from greenwright.show.formats import Scale

LINE = 17
"""Height of a line of a label [px]."""
LETTER = 7.0
"""Mean width of a letter [px]."""
_LOOKS = {
    "elsewhere": (frame.GREY, "square"),
    "here": (frame.US, "circle"),
    "misled": (frame.OUTSIDE, "cross"),
    "supposed": (frame.US, "diamond"),
}


@dataclass(frozen=True, slots=True)
class Range:
    """One bar with its mark.

    Args:
        name: lines of the label, those with the same name stand in one row.
        kind: elsewhere | here | misled | supposed; decides colour and mark.
        held: best guess and range [canonical unit].
        beside: lines to the right of the row.
    """

    name: tuple[str, ...]
    kind: str
    held: Estimate
    beside: tuple[str, ...] = ()


def ranges_svg(ranges: Sequence[Range], scale: Scale, size: frame.Size) -> str:
    """Return the drawing of rows of ranges around no change."""
    import altair as alt

    values = [_value(one, scale) for one in ranges]
    left = _widest(line for one in ranges for line in one.name)
    right = _widest(line for one in ranges for line in one.beside)
    deep = max(max(len(one.name), len(one.beside)) for one in ranges)
    count = len({one.name for one in ranges})
    width = size.width - left - right - 16
    wanted = 5 if width > 260 else 3
    x = frame.changes_axis(
        [v[end] for v in values for end in ("low", "high")], scale, wanted=wanted
    )
    drawn = alt.layer(*_zero(x), *_bars(values, x, left), *_notes(ranges, width))
    fitted = drawn.properties(width=width, height=count * (LINE * deep + 18))
    return frame.draw(frame.dressed(fitted, size))


def _widest(lines: Any) -> int:
    longest = max((len(line) for line in lines), default=0)
    return int(LETTER * longest + 12) if longest else 8


def _value(one: Range, scale: Scale) -> dict[str, Any]:
    held = one.held
    centre = min(max(held.value, held.low), held.high)
    ends = {"value": centre, "low": held.low, "high": held.high}
    shown = {key: end * scale.factor for key, end in ends.items()}
    return {"name": "|".join(one.name), "kind": one.kind, **shown}


def _zero(x: dict[str, Any]) -> list[Any]:
    import altair as alt

    zero = alt.Chart(alt.Data(values=[{"zero": 0}])).mark_rule(color=frame.INK)
    return [zero.encode(x=alt.X("zero:Q", **x))]


def _bars(values: Sequence[dict[str, Any]], x: dict[str, Any], left: int) -> list[Any]:
    import altair as alt

    kinds = [kind for kind in _LOOKS if any(v["kind"] == kind for v in values)]
    colours = alt.Scale(domain=kinds, range=[_LOOKS[k][0] for k in kinds])
    shapes = alt.Scale(domain=kinds, range=[_LOOKS[k][1] for k in kinds])
    # Several lines hang down from the row's middle: half of them belong above it.
    lift = -LINE / 2 * max(v["name"].count("|") for v in values)
    shown = {"labelExpr": "split(datum.label, '|')", "labelLineHeight": LINE, "labelLimit": left}
    shown["labelOffset"] = lift
    axis = alt.Axis(title=None, ticks=False, domain=False, minExtent=left - 8, **shown)
    held = {
        "y": alt.Y("name:N", sort=None, axis=axis),
        "color": alt.Color("kind:N", scale=colours, legend=None),
    }
    if len({v["name"] for v in values}) < len(values):
        held["yOffset"] = alt.YOffset("kind:N", sort=kinds, scale=alt.Scale(paddingOuter=0.8))
    base = alt.Chart(alt.Data(values=list(values))).encode(**held)
    shape = alt.Shape("kind:N", scale=shapes, legend=None)
    return [
        base.mark_rule(strokeWidth=8, opacity=0.35).encode(x=alt.X("low:Q", **x), x2="high:Q"),
        base.mark_point(filled=True, size=64, opacity=1).encode(
            x=alt.X("value:Q", **x), shape=shape
        ),
    ]


def _notes(ranges: Sequence[Range], width: int) -> list[Any]:
    """Return the lines to the right of each row."""
    import altair as alt

    noted = {one.name: one.beside for one in ranges if one.beside}
    held = [{"name": "|".join(name), "note": list(lines)} for name, lines in noted.items()]
    if not held:
        return []
    tallest = max(len(lines) for lines in noted.values())
    return [
        alt.Chart(alt.Data(values=held))
        .mark_text(
            align="left",
            baseline="middle",
            dy=-(tallest - 1) * LINE / 2,
            lineHeight=LINE,
            fontSize=13,
            color=frame.INK,
        )
        .encode(x=alt.value(width + 8), y=alt.Y("name:N", sort=None), text="note:N")
    ]
