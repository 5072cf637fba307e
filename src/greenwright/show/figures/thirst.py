"""The water balance: what is missing to a full root zone, the refill line, rain and watering."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import ceil
from typing import Any

from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows
from greenwright.show.dates import brief_day, short_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

HEIGHT, BARS = 190, 70
BACK = 30
_LEFT, _RIGHT = 58, 14
_NAME_PX, _NAME_UP = 76, 10
"""Width of the line's name, and how far it stands off it [px]."""

Row = Mapping[str, Any]


def thirst_figure(water: Row, on: date, course: Course) -> Figure:
    """Return the picture of the water balance of the greens as a whole.

    Args:
        water: of the answer.
        on: today.
        course: decides the units.
    """
    daily = shown(water, on)
    scale = formats.scale_for("", "mm", course)
    return Figure(
        key="weather-water",
        title="Water missing in the root zone",
        description=_description(daily, scale),
        finding=thirst_finding(water, on, course),
        svg=_svg(daily, water, scale, look=(on, frame.WIDE)),
        svg_narrow=_svg(daily, water, scale, look=(on, frame.NARROW)),
        table=_table(daily, course),
    )


def shown(water: Row, on: date) -> list[Row]:
    """Return the days of the picture: the last month and those ahead."""
    first = on - timedelta(days=BACK)
    return [row for row in water["daily"] if rows.day(row["date"]) > first]


def thirst_finding(water: Row, on: date, course: Course) -> str:
    """Return what is missing tonight against the refill line, and when it is reached."""
    held = rows.estimate(water["course"]["deficit"])
    level = formats.level(held, "", course)
    line = formats.point(round(water["refill_mm"]), "mm", "", course)
    told = f"By this evening the greens miss {level} of water; the refill line is at {line}"
    # A winter without watering needs no word; a drying summer without any in the record does.
    if not water.get("watered", True) and held.value >= water["refill_mm"] / 2:
        told = f"If no water was given but the rain: {told[0].lower()}{told[1:]}"
    return f"{told}{_when(water['course']['days_left'])}."


def _when(left: Row) -> str:
    soon, best, late = (left.get(k) for k in ("low", "value", "high"))
    if best == 0:
        return ", so they are past it by our best guess" + (
            "" if late == 0 else ", though the range reaches short of it"
        )
    if best is None:
        return ", and nothing ahead dries them to it"
    ends = f"{_days(soon)} to {_days(late)}" if late is not None else f"{_days(soon)} or more"
    if best > 60:
        return ", months away at this rate"
    if best < 1:
        return ", reached within a day without more water than is planned"
    return f", reached in about {_days(best)} days ({ends}) without more water than is planned"


def _days(count: float | None) -> str:
    return "0" if count is None else f"{min(round(count), 60)}"


def _description(daily: Sequence[Row], scale: formats.Scale) -> str:
    parts = [
        f"Mean of the greens at the end of each day ({scale.unit}); the top is a full root zone, "
        "today the upright line.",
        "Thin line: where the grass begins to go short.",
        "Band: where it should lie nine times out of ten, hatched ahead.",
    ]
    if any(row["read"] for row in daily):
        parts.append("Dots: days on which moisture readings put it right.")
    parts.append("Below: rain as filled bars, water given as open ones.")
    return " ".join(parts)


def _table(daily: Sequence[Row], course: Course) -> Table:
    cells = tuple(
        (
            short_date(rows.day(row["date"])),
            _weather(row),
            *(_amount(row[key], course) for key in ("rain", "given", "use", "drained")),
            _missing(row, course),
        )
        for row in daily
    )
    head = ("Day", "Weather", "Rain", "Given", "Used", "Drained", "Missing")
    return Table("Water by day", head, cells, frozenset(range(2, len(head))))


def _weather(row: Row) -> str:
    told = {"observed": "seen", "forecast": "forecast", "typical": "usual of the season"}
    partly = row["filled"] and row["kind"] != "typical"
    return told[row["kind"]] + (", partly filled" if partly else "")


def _amount(mm: float, course: Course) -> str:
    return formats.point(round(mm, 1), "mm", "", course)


def _missing(row: Row, course: Course) -> str:
    if row.get("low") is None:
        return _amount(row["deficit"], course)
    held = Estimate(row["deficit"], "mm", 0.0, row["low"], row["high"], basis="model")
    return formats.level(held, "", course)


def ahead_cells(water: Row | None, day: date, course: Course) -> str:
    """Return what will be missing on a day, or nothing."""
    found = next((r for r in (water or {}).get("daily", ()) if rows.day(r["date"]) == day), None)
    return "" if found is None else _missing(found, course)


def day_name(day: date) -> str:
    """Return a day of the days ahead."""
    return brief_day(day)


def _svg(
    daily: Sequence[Row], water: Row, scale: formats.Scale, *, look: tuple[date, frame.Size]
) -> str:
    import altair as alt

    on, size = look
    name = f"weather-water-{'n' if size is frame.NARROW else 'w'}-hatch"
    x = _x(daily, on, size)
    y = _y(daily, water, scale)
    width = size.width - _LEFT - _RIGHT
    span = max(ceil(_NAME_PX * len(daily) / width), 1)
    top = alt.layer(
        *_bands(daily, on, scale, axes=(x, y), hatched=name),
        *_refill(daily, water, on, scale=scale, axes=(x, y), span=span),
        _today(x),
    ).properties(width=width, height=HEIGHT)
    below = _bars(daily, on, scale, x=x).properties(width=width, height=BARS)
    return frame.draw(frame.dressed(alt.vconcat(top, below, spacing=8), size), hatched=name)


def _today(x: dict[str, Any]) -> Any:
    import altair as alt

    base = alt.Chart(alt.Data(values=[{"day": 0}]))
    rule = base.mark_rule(color=frame.INK, strokeDash=[2, 2])
    return rule.encode(x=alt.X("day:Q", **x))


def _x(daily: Sequence[Row], on: date, size: frame.Size) -> dict[str, Any]:
    first, last = (_place(daily[i], on) for i in (0, -1))
    every = 7 if size.width > 500 else 14
    return frame.about_today(on, first, last, every=every, margin=0.6)


def _y(daily: Sequence[Row], water: Row, scale: formats.Scale) -> dict[str, Any]:
    import altair as alt

    deepest = max([row.get("high", row["deficit"]) for row in daily] + [water["refill_mm"]])
    top = scale.shown(deepest)
    step = frame.step_for(top or 1.0, scale)
    ticks = [t for t in frame.axis_values(0.0, top, step) if 0 <= t <= 1.05 * top]
    axis = alt.Axis(values=ticks, labelExpr=frame.label_expression(scale), minExtent=_LEFT - 8)
    return {
        "axis": axis,
        "scale": alt.Scale(domain=[1.05 * top, 0], nice=False),
        "title": None,
    }


def _place(row: Row, on: date) -> int:
    return (rows.day(row["date"]) - on).days


def _values(held: Sequence[Row], on: date, scale: formats.Scale) -> list[dict[str, Any]]:
    return [
        {
            "day": _place(row, on),
            "read": bool(row["read"]),
            **{k: scale.shown(row.get(k, row["deficit"])) for k in ("deficit", "low", "high")},
        }
        for row in held
    ]


def _bands(
    daily: Sequence[Row],
    on: date,
    scale: formats.Scale,
    *,
    axes: tuple[dict[str, Any], dict[str, Any]],
    hatched: str,
) -> list[Any]:
    import altair as alt

    x, y = axes
    behind = _values([r for r in daily if _place(r, on) <= 0], on, scale)
    ahead = [*behind[-1:], *_values([r for r in daily if _place(r, on) > 0], on, scale)]
    made = []
    for held, fill, line in (
        (behind, {"color": frame.GREY, "opacity": 0.25}, {"color": frame.INK}),
        (ahead, {"color": frame.hatching(hatched)}, {"color": frame.US, "strokeDash": [6, 3]}),
    ):
        if held:
            base = alt.Chart(alt.Data(values=held)).encode(x=alt.X("day:Q", **x))
            area = base.mark_area(line=False, **fill)
            made.append(area.encode(y=alt.Y("low:Q", **y), y2="high:Q"))
            made.append(base.mark_line(strokeWidth=2.5, **line).encode(y=alt.Y("deficit:Q", **y)))
    dots = [value for value in behind if value["read"]]
    if dots:
        base = alt.Chart(alt.Data(values=dots)).encode(x=alt.X("day:Q", **x))
        dot = base.mark_point(filled=True, color=frame.INK, size=34, opacity=1)
        made.append(dot.encode(y=alt.Y("deficit:Q", **y)))
    return made


def _refill(
    daily: Sequence[Row],
    water: Row,
    on: date,
    *,
    scale: formats.Scale,
    axes: tuple[dict[str, Any], dict[str, Any]],
    span: int,
) -> list[Any]:
    import altair as alt

    x, y = axes
    deep = max(y["scale"].domain) / scale.factor * _NAME_UP / HEIGHT
    day, under = _clearest(daily, water["refill_mm"], on, span=span, away=deep)
    value = {"line": scale.shown(water["refill_mm"]), "text": "refill line", "day": day}
    base = alt.Chart(alt.Data(values=[value])).encode(y=alt.Y("line:Q", **y))
    text = base.mark_text(
        align="left", dx=2, dy=_NAME_UP if under else -_NAME_UP, color=frame.INK, fontSize=13
    )
    return [
        base.mark_rule(color=frame.INK, strokeWidth=1),
        text.encode(x=alt.X("day:Q", **x), text="text:N"),
    ]


def _clearest(
    daily: Sequence[Row], refill_mm: float, on: date, *, span: int, away: float
) -> tuple[int, bool]:
    """Return where the line's name keeps farthest from the deficit: its day, and if under it.

    Args:
        daily, refill_mm, on: as drawn.
        span: days that the name covers.
        away: how far its middle stands from the line [mm].
    """
    first = _place(daily[0], on)
    room: dict[tuple[int, bool], float] = {}
    for i in range(max(len(daily) - span, 1)):
        if -span < first + i <= 0:
            continue  # not across the line of today
        for under in (False, True):
            middle = refill_mm + (away if under else -away)
            held = daily[i : i + span]
            room[first + i, under] = min(abs(row["deficit"] - middle) for row in held)
    return max(room, key=lambda key: room[key]) if room else (first, False)


def _bars(daily: Sequence[Row], on: date, scale: formats.Scale, *, x: dict[str, Any]) -> Any:
    import altair as alt

    held = [
        {
            "day": _place(row, on),
            "rain": scale.shown(row["rain"]),
            "top": scale.shown(row["rain"] + row["given"]),
            "given": bool(row["given"] > 0),
        }
        for row in daily
    ]
    most = max([value["top"] for value in held] + [scale.shown(1.0)])
    step = frame.step_for(most, scale, wanted=2)
    ticks = [t for t in frame.axis_values(0.0, most, step) if 0 <= t <= 1.1 * most]
    y = {
        "axis": alt.Axis(values=ticks, labelExpr=frame.label_expression(scale),
                         minExtent=_LEFT - 8),
        "scale": alt.Scale(domain=[0, 1.1 * most], nice=False),
        "title": None,
    }  # fmt: skip
    bare = {**x, "axis": None}
    base = alt.Chart(alt.Data(values=held)).encode(x=alt.X("day:Q", **bare))
    rain = base.mark_bar(color=frame.US, width=5)
    given = base.transform_filter("datum.given").mark_bar(
        filled=False, color=frame.US, width=5, strokeWidth=1.5
    )
    return alt.layer(
        rain.encode(y=alt.Y("zero:Q", **y), y2="rain:Q").transform_calculate(zero="0"),
        given.encode(y=alt.Y("rain:Q", **y), y2="top:Q"),
    )
