"""Chances to hole by distance: now, and on a perfectly true surface of the same speed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.lengths import INCH_M
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

HEIGHT, COST_HEIGHT = 150, 84
LEFT = 74
SPACING = 26
_TITLE = "Of 100 putts, how many drop, by distance"


def holing_table(answer: Answer, course: Course) -> Table | None:
    """Return the chances by player and distance, or nothing where there is none."""
    held = _held(answer)
    return _table(held, course) if held else None


def holing_figure(answer: Answer, course: Course) -> Figure | None:
    """Return the holing curves of each player, or nothing where there is none."""
    held = _held(answer)
    if not held:
        return None
    return Figure(
        key="holing",
        title=_TITLE,
        description=(
            "One panel for each player: of ten putts, how many drop from how far. Solid blue "
            "line with its range: now; dashed line: a perfectly true surface of the same speed. "
            "Where the two lie on each other the surface costs next to nothing; below, on a scale "
            "of its own, what it costs of a hundred putts, each mark with its range."
        ),
        finding=_finding(held, course),
        svg=_svg(held, course, frame.WIDE),
        svg_narrow=_svg(held, course, frame.NARROW),
        table=_table(held, course),
    )


def _held(answer: Answer) -> dict[str, Sequence[rows.Row]]:
    found = ((player, threefold.holing(answer, player)) for player in threefold.players(answer))
    return {player: among for player, among in found if among}


def _lost(row: rows.Row) -> float:
    held = rows.estimate(row.get("difference"))
    return 0.0 if held is None else held.value


def _finding(held: Mapping[str, Sequence[rows.Row]], course: Course) -> str:
    told = []
    for player, among in held.items():
        worst = max(among, key=_lost)
        lost = rows.estimate(worst.get("difference"))
        where = formats.distance(worst["distance_m"], course)
        cost = "nothing that shows" if lost is None else formats.of_hundred(lost)
        told.append(f"{terms.player(player)} {cost}, at {where}")
    return f"Most putts that the surface costs: {'; '.join(told)}."


def _table(held: Mapping[str, Sequence[rows.Row]], course: Course) -> Table:
    head = ("Player", "Distance", "Now", "True", "Cost", "Putts to tell")
    cells = tuple(
        (
            terms.player(player),
            formats.distance(row["distance_m"], course),
            _bare(rows.estimate(row["estimate"])),
            formats.number(100 * row["chance_perfect"]),
            _cost(row),
            to_tell(row),
        )
        for player, among in held.items()
        for row in among
    )
    return Table(_TITLE, head, cells, frozenset(range(1, len(head))))


def _cost(row: rows.Row) -> str:
    held = rows.estimate(row.get("difference"))
    return "not known" if held is None else _bare(held)


def _bare(held: Estimate) -> str:
    return formats.of_hundred(held).replace(" of 100", "")


def to_tell(row: rows.Row) -> str:
    """Return how many putts would tell now from perfect, in words for a table."""
    count = row.get("putts_to_tell")
    return "more than anyone putts" if count is None else formats.roughly(count)


def _svg(held: Mapping[str, Sequence[rows.Row]], course: Course, size: frame.Size) -> str:
    import altair as alt

    beside = size.width > 500
    columns = len(held) if beside and len(held) <= 3 else 1
    width = (size.width - LEFT - SPACING * (columns - 1)) // columns - 8
    top = max(_cost_ends(row)[1] for among in held.values() for row in among)
    panels = []
    for place, (player, among) in enumerate(held.items()):
        first = not place % columns
        parts = (
            _curve(among, course, first=first).properties(width=width, height=HEIGHT),
            _costs(among, course, top, first=first).properties(width=width, height=COST_HEIGHT),
        )
        name = alt.TitleParams(
            terms.player(player), anchor="start", fontSize=size.font, color=frame.INK
        )
        panels.append(alt.vconcat(*parts, spacing=14, title=name))
    joined = alt.concat(*panels, columns=columns, spacing=SPACING)
    return frame.draw(frame.dressed(joined, size))


def _costs(among: Sequence[rows.Row], course: Course, top: float, *, first: bool) -> Any:
    import altair as alt

    y = _cost_axis(max(top, 0.2), first=first)
    base = alt.Chart(alt.Data(values=[_cost_value(row, course) for row in among])).encode(
        x=_distance_axis(among, course, bare=False)
    )
    return alt.layer(
        base.mark_rule(color=frame.US, strokeWidth=5, opacity=0.3).encode(
            y=alt.Y("low:Q", **y), y2="high:Q"
        ),
        base.mark_point(filled=True, color=frame.US, size=40, opacity=1).encode(
            y=alt.Y("cost:Q", **y)
        ),
    )


def _cost_value(row: rows.Row, course: Course) -> dict[str, float]:
    low, high = _cost_ends(row)
    at = _shown(row["distance_m"], course)
    return {"at": at, "cost": 100 * _lost(row), "low": low, "high": high}


def _cost_ends(row: rows.Row) -> tuple[float, float]:
    held = rows.estimate(row.get("difference"))
    return (0.0, 0.0) if held is None else (100 * max(held.low, 0.0), 100 * max(held.high, 0.0))


def _cost_axis(top: float, *, first: bool) -> dict[str, Any]:
    import altair as alt

    step = frame.step_for(top, formats.Scale(), wanted=3)
    ticks = frame.axis_values(0.0, top, step)
    axis = alt.Axis(
        values=ticks,
        labelExpr="format(datum.value, '~g') + ' of 100'" if first else "''",
        ticks=False,
        minExtent=LEFT - 22 if first else 4,
    )
    return {"axis": axis, "scale": alt.Scale(domain=[0, ticks[-1]], nice=False), "title": None}


def _curve(among: Sequence[rows.Row], course: Course, *, first: bool) -> Any:
    import altair as alt

    y = _chance_axis(first=first)
    base = alt.Chart(alt.Data(values=[_value(row, course) for row in among])).encode(
        x=_distance_axis(among, course, bare=True)
    )
    return alt.layer(
        base.mark_area(color=frame.US, opacity=0.18, line=False).encode(
            y=alt.Y("low:Q", **y), y2="high:Q"
        ),
        base.mark_line(color=frame.US, strokeWidth=2.5).encode(y=alt.Y("now:Q", **y)),
        base.mark_line(color=frame.INK, strokeWidth=1.5, strokeDash=[5, 4]).encode(
            y=alt.Y("perfect:Q", **y)
        ),
    )


def _value(row: rows.Row, course: Course) -> dict[str, Any]:
    held = rows.estimate(row["estimate"])
    ends = {name: 10 * min(max(getattr(held, name), 0.0), 1.0) for name in ("low", "high")}
    return {
        "at": _shown(row["distance_m"], course),
        "now": 10 * row["chance"],
        "perfect": 10 * row["chance_perfect"],
        **ends,
    }


def _shown(metres: float, course: Course) -> float:
    return round(metres / (12 * INCH_M), 2) if course.speed_units == "ft" else metres


def _distance_axis(among: Sequence[rows.Row], course: Course, *, bare: bool) -> Any:
    import altair as alt

    feet = course.speed_units == "ft"
    far = max(_shown(row["distance_m"], course) for row in among)
    step = 10.0 if feet else 3.0
    ticks = [t for t in frame.axis_values(0.0, far, step) if t <= far + step / 10]
    shown = "''" if bare else f"datum.value + ' {'ft' if feet else 'm'}'"
    axis = alt.Axis(values=ticks, labelExpr=shown, grid=False, labelFlush=False)
    scale = alt.Scale(domain=[0.0, far * 1.04], nice=False)
    return alt.X("at:Q", axis=axis, scale=scale, title=None)


def _chance_axis(*, first: bool) -> dict[str, Any]:
    import altair as alt

    axis = alt.Axis(
        values=[0, 2, 4, 6, 8, 10],
        labelExpr="datum.value + ' of 10'" if first else "''",
        ticks=False,
        minExtent=LEFT - 22 if first else 4,
    )
    return {"axis": axis, "scale": alt.Scale(domain=[0, 10], nice=False), "title": None}
