"""How often the ranges held, against how often they promised to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.show import formats, judged, terms
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

ROW = 30
_TITLE = "Did the ranges hold?"
CLOSE = 0.03
"""So far apart, promised and held are told as the same."""


def coverage_figure(answer: Answer) -> Figure | None:
    """Return the picture of promised and held, or nothing while nothing was judged."""
    names = judged.quantities_of(answer)
    held = [one for quantity in names for one in judged.coverage(answer, quantity)]
    every = judged.coverage(answer)
    if not held:
        return None
    return Figure(
        key="coverage",
        title=_TITLE,
        description=(
            "One panel for each quantity, one row for each promise: of a hundred readings, how "
            "many should lie inside the range (upright tick) and how many did (blue dot). A dot "
            "left of its tick: the ranges were too narrow; right of it: wider than they need be."
        ),
        finding=finding(every),
        svg=_svg(held, frame.WIDE),
        svg_narrow=_svg(held, frame.NARROW),
        table=_table(held),
    )


def finding(every: Sequence[judged.Held]) -> str:
    """Return the sentence on the promise of nine in ten, or the one nearest to it."""
    one = min(every, key=lambda held: abs(held.promised - 0.9))
    gap = one.held - one.promised
    told = (
        f"Ranges that should hold {round(100 * one.promised)} times in 100 held "
        f"{round(100 * one.held)} times ({one.n:,} readings)"
    )
    if abs(gap) <= CLOSE:
        return f"{told}: as promised."
    return f"{told}: {'too narrow' if gap < 0 else 'wider than they need be'}."


def _table(held: Sequence[judged.Held]) -> Table:
    cells = tuple(
        (
            terms.quantity(one.quantity),
            formats.share(one.promised),
            formats.share(one.held),
            f"{one.n:,}",
        )
        for one in held
    )
    head = ("Quantity", "Promised", "Held", "Readings")
    return Table(_TITLE, head, cells, frozenset({1, 2, 3}))


def _svg(held: Sequence[judged.Held], size: frame.Size) -> str:
    import altair as alt

    names = list(dict.fromkeys(one.quantity for one in held))
    columns = min(len(names), 3 if size.width > 500 else 1)
    left = 92
    width = (size.width - columns * left - 12 * (columns - 1)) // columns - 14
    panels = []
    for name in names:
        mine = [one for one in held if one.quantity == name]
        title = alt.TitleParams(
            terms.quantity(name), anchor="start", fontSize=size.font, color=frame.INK
        )
        chart = _panel(mine, left).properties(width=width, height=ROW * len(mine), title=title)
        panels.append(chart)
    joined = alt.concat(*panels, columns=columns, spacing=14)
    return frame.draw(frame.dressed(joined, size))


def _panel(mine: Sequence[judged.Held], left: int) -> Any:
    import altair as alt

    values = [
        {
            "row": f"{round(100 * one.promised)} in 100",
            "promised": 100 * one.promised,
            "held": 100 * one.held,
        }
        for one in mine
    ]
    axis = alt.Axis(title=None, ticks=False, domain=False, minExtent=left - 16)
    ticks = [20, 40, 60, 80, 100]
    scale = alt.Scale(domain=[min(20, *(v["held"] for v in values)), 101], nice=False)
    x = {"scale": scale, "axis": alt.Axis(values=ticks, labelFlush=False), "title": None}
    base = alt.Chart(alt.Data(values=values)).encode(y=alt.Y("row:N", sort=None, axis=axis))
    return alt.layer(
        base.mark_rule(color=frame.LINE).encode(
            x=alt.X("promised:Q", **x), x2="held:Q", strokeWidth=alt.value(3)
        ),
        base.mark_tick(color=frame.INK, thickness=3, size=18).encode(x=alt.X("promised:Q", **x)),
        base.mark_point(filled=True, size=80, opacity=1, color=frame.US).encode(
            x=alt.X("held:Q", **x)
        ),
    )
