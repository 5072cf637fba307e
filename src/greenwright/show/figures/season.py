"""Growth potential through the year: weeks seen, forecast, and what is usual here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from greenwright.show import formats, rows
from greenwright.show.dates import MONTHS, short_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

HEIGHT = 190
CLEAR = 0.1
"""A week further than this from the usual is worth a word."""
_LEFT, _RIGHT = 52, 14


def season_figure(year: Sequence[Mapping[str, Any]], on: date, *, grass: str) -> Figure:
    """Return the picture of one grass's year.

    Args:
        year: weeks of the answer, of that grass.
        on: today.
        grass: its name.
    """
    return Figure(
        key="weather-growth",
        title=f"Growth through the year: {grass}",
        description=_description(year),
        finding=season_finding(year, on),
        svg=_svg(year, on, frame.WIDE),
        svg_narrow=_svg(year, on, frame.NARROW),
        table=_table(year, grass),
    )


def week_of(year: Sequence[Mapping[str, Any]], on: date) -> Mapping[str, Any] | None:
    """Return the week that holds a day, or the last before it."""
    before = [row for row in year if rows.day(row["date"]) <= on]
    return before[-1] if before else None


def season_finding(year: Sequence[Mapping[str, Any]], on: date) -> str:
    """Return this week's growth against the usual, and the week of most growth still to come."""
    now = week_of(year, on)
    if now is None:
        return "Too little weather is in the record to say how the grass can grow this week."
    told = f"This week temperature allows about {formats.share(now['value'])} of the fullest growth"
    usual = now.get("usual")
    if not usual:
        return f"{told}; what is usual here the record cannot say yet."
    gap = now["value"] - usual["value"]
    if abs(gap) < CLEAR:
        return f"{told}, about as usual here at this time of year."
    side = "more" if gap > 0 else "less"
    return f"{told}, {side} than the {round(100 * usual['value'])} usual here at this time of year."


def _description(year: Sequence[Mapping[str, Any]]) -> str:
    parts = [
        "Share of the fullest growth that temperature allows, by week, today the upright line."
    ]
    if any(row["kind"] == "observed" for row in year):
        parts.append("Ink line: weeks seen.")
    if any(row["kind"] == "forecast" for row in year):
        parts.append("Dashed: weeks forecast.")
    if any(row.get("usual") for row in year):
        parts.append("Grey band: nine of ten days in the season here; grey line: their mean.")
    parts.append("Light, water and humidity can take growth away, never add to it.")
    return " ".join(parts)


def _table(year: Sequence[Mapping[str, Any]], grass: str) -> Table:
    cells = tuple(
        (
            short_date(rows.day(row["date"])),
            _KINDS[row["kind"]],
            formats.share(row["value"]),
            formats.share(row["usual"]["value"]) if row.get("usual") else "",
        )
        for row in year
    )
    head = ("Week from", "Weather", "Growth", "Usual here")
    return Table(f"Growth by week: {grass}", head, cells, frozenset([2, 3]))


_KINDS = {"observed": "seen", "forecast": "forecast", "typical": "usual of the season"}


def _svg(year: Sequence[Mapping[str, Any]], on: date, size: frame.Size) -> str:
    import altair as alt

    x, y = _axes(on, size)
    layers = [
        *_usual(year, x, y),
        *_lines(year, x, y),
        alt.Chart(alt.Data(values=[{"day": _place(on)}]))
        .mark_rule(color=frame.INK, strokeDash=[2, 2])
        .encode(x=alt.X("day:Q", **x)),
    ]
    chart = alt.layer(*layers).properties(width=size.width - _LEFT - _RIGHT, height=HEIGHT)
    return frame.draw(frame.dressed(chart, size))


def _place(day: date) -> int:
    return day.timetuple().tm_yday


def _axes(on: date, size: frame.Size) -> tuple[dict[str, Any], dict[str, Any]]:
    import altair as alt

    every = 1 if size.width > 500 else 3
    months = [date(on.year, m, 1) for m in range(1, 13, every)]
    pairs = ",".join(f'"{_place(m)}":"{MONTHS[m.month - 1][:3]}"' for m in months)
    axis = alt.Axis(
        values=[_place(m) for m in months], labelExpr=f"({{{pairs}}})[datum.value]", grid=False
    )
    x = {"axis": axis, "scale": alt.Scale(domain=[0, 367], nice=False), "title": None}
    ticks = alt.Axis(
        values=[0, 0.25, 0.5, 0.75, 1], labelExpr="format(100 * datum.value, '~g')",
        minExtent=_LEFT - 8,
    )  # fmt: skip
    y = {"axis": ticks, "scale": alt.Scale(domain=[0, 1.02], nice=False), "title": None}
    return x, y


def _usual(year: Sequence[Mapping[str, Any]], x: dict[str, Any], y: dict[str, Any]) -> list[Any]:
    import altair as alt

    held = [{"day": _place(_middle(row)), **row["usual"]} for row in year if row.get("usual")]
    if not held:
        return []
    base = alt.Chart(alt.Data(values=held)).encode(x=alt.X("day:Q", **x))
    band = base.mark_area(color=frame.GREY, opacity=0.2, line=False)
    line = base.mark_line(color=frame.GREY, strokeWidth=1.5)
    return [
        band.encode(y=alt.Y("low:Q", **y), y2="high:Q"),
        line.encode(y=alt.Y("value:Q", **y)),
    ]


def _lines(year: Sequence[Mapping[str, Any]], x: dict[str, Any], y: dict[str, Any]) -> list[Any]:
    import altair as alt

    made = []
    seen = [row for row in year if row["kind"] == "observed"]
    coming = [row for row in year if row["kind"] == "forecast"]
    looks = (
        (seen, {"color": frame.INK, "strokeWidth": 2.5}),
        ([*seen[-1:], *coming], {"color": frame.US, "strokeWidth": 2.5, "strokeDash": [6, 3]}),
    )
    for held, look in looks:
        values = [{"day": _place(_middle(row)), "value": row["value"]} for row in held]
        if not values:
            continue
        base = alt.Chart(alt.Data(values=values)).encode(
            x=alt.X("day:Q", **x), y=alt.Y("value:Q", **y)
        )
        made.append(base.mark_line(**look))
        if len(values) == 1:
            made.append(base.mark_point(filled=True, size=40, color=look["color"], opacity=1))
    return made


def _middle(row: Mapping[str, Any]) -> date:
    first, last = rows.day(row["date"]), rows.day(row["until"])
    return first + timedelta(days=(last - first).days // 2)
