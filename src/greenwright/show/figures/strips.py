"""Strips of days: which of them favour a disease, and where a growth regulator stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from greenwright.show import formats, rows
from greenwright.show.dates import short_date, week_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

BACK = 30
STRIP, HEIGHT = 26, 150
_RIGHT = 14
_NAMES = {
    "dollar_spot": "Dollar spot",
    "brown_patch": "Brown patch",
    "anthracnose": "Anthracnose",
    "pythium": "Pythium",
}
STATES = {
    "suppressed": "held back",
    "fading": "fading",
    "rebound risk": "may rebound",
    "worn off": "worn off",
    "not known": "not known",
}
"""State of a growth regulator -> as it is said."""

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class _Mark:
    """One day of one strip: risk | none."""

    day: int
    name: str
    risk: bool


def model_label(name: str) -> str:
    """Return what a disease model is called.

    >>> model_label("dollar_spot"), model_label("snow_mould")
    ('Dollar spot', 'Snow mould')
    """
    return _NAMES.get(name, name.replace("_", " ").capitalize())


def risk_figure(findings: Sequence[Row], risks: Sequence[Row], on: date) -> Figure | None:
    """Return the strips of risk days, or None where no model has an answer.

    Args:
        findings: of the answer.
        risks: what is told of each model.
        on: today.
    """
    marks = _marks(findings, on)
    if not marks:
        return None
    return Figure(
        key="weather-risk",
        title="Days that favour a disease",
        description="One strip a disease, today the upright line. Filled square: a risk day; "
        "small ring: none; empty: no answer, because a reading or a forecast is missing or the "
        "weather is outside what the model holds for.",
        finding=risk_finding(risks),
        svg=_strips(marks, on, frame.WIDE),
        svg_narrow=_strips(marks, on, frame.NARROW),
        table=_risk_table(findings, on),
    )


def risk_finding(risks: Sequence[Row]) -> str:
    """Return which disease the days ahead favour most, or that none does."""
    ahead = [one for one in risks if one["ahead"]["known"]]
    if not ahead:
        return "Of the days ahead no disease model has an answer."
    most = max(ahead, key=lambda one: (one["ahead"]["risk"], one["host_here"]))
    known, n = most["ahead"]["known"], most["ahead"]["risk"]
    if not n:
        names = " or ".join(model_label(one["name"]).lower() for one in ahead)
        return f"No day ahead that has an answer favours {names}."
    host = "" if most["host_here"] else f" (a model of {most['host']}, not of your grass)"
    which = "The one day" if known == 1 else f"{n} of the {known} days"
    verb = "favours" if n == 1 else "favour"
    return f"{which} ahead with an answer {verb} {model_label(most['name']).lower()}{host}."


def _marks(findings: Sequence[Row], on: date) -> list[_Mark]:
    return [
        _Mark(
            (rows.day(row["date"]) - on).days,
            model_label(row["quantity"].removeprefix("risk:")),
            bool(row["above_threshold"]),
        )
        for row in findings
        if row["quantity"].startswith("risk:") and rows.day(row["date"]) > on - timedelta(days=BACK)
    ]


def _risk_table(findings: Sequence[Row], on: date) -> Table:
    found: dict[date, dict[str, str]] = {}
    names: dict[str, None] = {}
    for row in findings:
        day = rows.day(row["date"])
        if not row["quantity"].startswith("risk:") or day <= on - timedelta(days=BACK):
            continue
        name = model_label(row["quantity"].removeprefix("risk:"))
        names[name] = None
        mark = " (risk)" if row["above_threshold"] else ""
        found.setdefault(day, {})[name] = f"{row['value']:.2f}{mark}"
    cells = tuple(
        (short_date(day), *(held.get(name, "no answer") for name in names))
        for day, held in sorted(found.items())
    )
    head = ("Day", *names)
    return Table("Disease models by day", head, cells, frozenset(range(1, len(head))))


def _strips(marks: Sequence[_Mark], on: date, size: frame.Size) -> str:
    import altair as alt

    names = list(dict.fromkeys(mark.name for mark in marks))
    left = max(int(7.4 * max(len(name) for name in names)) + 14, 60)
    first = min(mark.day for mark in marks)
    last = max(*(mark.day for mark in marks), 1)
    x = _days_axis(on, first, last, size=size)
    axis = alt.Axis(
        title=None, ticks=False, domain=False, labelLimit=left, minExtent=left - 8, grid=True
    )
    values = [{"day": m.day, "name": m.name, "risk": m.risk} for m in marks]
    base = alt.Chart(alt.Data(values=values)).encode(
        x=alt.X("day:Q", **x), y=alt.Y("name:N", sort=names, axis=axis)
    )
    wide = size.width > 500
    risk = base.transform_filter("datum.risk").mark_square(
        filled=True, color=frame.OUTSIDE, size=110 if wide else 34, opacity=1
    )
    none = base.transform_filter("!datum.risk").mark_circle(
        filled=False, color=frame.GREY, size=22 if wide else 9, opacity=1, strokeWidth=1
    )
    now = alt.Chart(alt.Data(values=[{"day": 0.5}])).mark_rule(color=frame.INK, strokeDash=[2, 2])
    chart = alt.layer(none, risk, now.encode(x=alt.X("day:Q", **x)))
    fitted = chart.properties(width=size.width - left - _RIGHT, height=STRIP * len(names))
    return frame.draw(frame.dressed(fitted, size))


def _days_axis(on: date, first: int, last: int, *, size: frame.Size) -> dict[str, Any]:
    every = 7 if size.width > 500 or last - first < 22 else 14
    return frame.about_today(on, first, last, every=every, margin=0.8)


def regulator_figure(findings: Sequence[Row], use: Row, on: date) -> Figure | None:
    """Return the picture of one use of a regulator, or None where no half-life is known.

    Args:
        findings: of the answer.
        use: what is told of that use.
        on: today.
    """
    held = [row for row in findings if _of(row, use)]
    if len(held) < 2:
        return None
    return Figure(
        key="weather-regulator",
        title=f"Growth regulator: {use['active']} of {short_date(rows.day(use['applied']))}",
        description="Share of it that is left by degree days, today the upright line; the band is "
        "between the two half-lives that the trade gives, hatched ahead. The words say whether "
        "growth is held back.",
        finding=regulator_finding(use),
        svg=_left(held, on, frame.WIDE),
        svg_narrow=_left(held, on, frame.NARROW),
        table=_left_table(held),
    )


def regulator_finding(use: Row) -> str:
    """Return where a use stands, and when that changes."""
    since = use["degree_days"]
    told = f"{use['active'].capitalize()} of {week_date(rows.day(use['applied']))}"
    warmth = "" if since is None else f" after {round(since)} degree days"
    if use["state"] == "not known":
        why = "no source says for this active on this grass"
        return f"{told}: whether growth is held back we cannot tell; {why}."
    verb = {
        "suppressed": "growth is held back",
        "fading": "it is fading",
        "rebound risk": "growth may come back stronger than without",
        "worn off": "it has worn off",
    }[use["state"]]
    return f"{told}: {verb}{warmth}{_next(use)}."


def _next(use: Row) -> str:
    fades, rebounds = (rows.day(use.get(key)) for key in ("fades", "rebounds"))
    if use["state"] == "suppressed" and fades:
        return f"; by the days ahead it begins to fade on {week_date(fades)}"
    if use["state"] == "fading" and rebounds:
        return f"; from {week_date(rebounds)} growth may rebound"
    return ""


def _of(row: Row, use: Row) -> bool:
    return (
        row["quantity"] == "regulator_left"
        and row.get("active") == use["active"]
        and row["green"] == ";".join(use["greens"])
    )


def _left_table(held: Sequence[Row]) -> Table:
    cells = tuple(
        (
            short_date(rows.day(row["date"])),
            f"{round(row['total'])}",
            f"{formats.share(row['value'])} ({round(100 * row['low'])}–{round(100 * row['high'])})",
            STATES.get(row["state"], row["state"]),
        )
        for row in held
    )
    head = ("Day", "Degree days", "Left", "Growth")
    return Table("Growth regulator by day", head, cells, frozenset([1, 2]))


def _left(held: Sequence[Row], on: date, size: frame.Size) -> str:
    import altair as alt

    left = 52
    values = [
        {
            "day": (rows.day(row["date"]) - on).days,
            "value": row["value"],
            "low": row["low"],
            "high": row["high"],
            "state": STATES.get(row["state"], row["state"]),
        }
        for row in held
    ]
    name = f"weather-regulator-{'n' if size is frame.NARROW else 'w'}-hatch"
    first, last = values[0]["day"], values[-1]["day"]
    x = _days_axis(on, first, last, size=size)
    axis = alt.Axis(
        values=[0, 0.25, 0.5, 0.75, 1], labelExpr="format(100 * datum.value, '~g')",
        minExtent=left - 8,
    )  # fmt: skip
    y = {"axis": axis, "scale": alt.Scale(domain=[0, 1.02], nice=False), "title": None}
    layers = []
    behind = [v for v in values if v["day"] <= 0]
    ahead = [*behind[-1:], *(v for v in values if v["day"] > 0)]
    for part, fill, line in (
        (behind, {"color": frame.GREY, "opacity": 0.25}, {"color": frame.INK}),
        (ahead, {"color": frame.hatching(name)}, {"color": frame.US, "strokeDash": [6, 3]}),
    ):
        base = alt.Chart(alt.Data(values=part)).encode(x=alt.X("day:Q", **x))
        layers.append(base.mark_area(line=False, **fill).encode(y=alt.Y("low:Q", **y), y2="high:Q"))
        layers.append(base.mark_line(strokeWidth=2.5, **line).encode(y=alt.Y("value:Q", **y)))
    now = alt.Chart(alt.Data(values=[{"day": 0}])).mark_rule(color=frame.INK, strokeDash=[2, 2])
    width = size.width - left - _RIGHT
    top = alt.layer(*layers, now.encode(x=alt.X("day:Q", **x)))
    below = _states(values, x).properties(width=width, height=34)
    chart = alt.vconcat(top.properties(width=width, height=HEIGHT), below, spacing=6)
    return frame.draw(frame.dressed(chart, size), hatched=name)


def _states(values: Sequence[dict[str, Any]], x: dict[str, Any]) -> Any:
    """Return one bar for each run of days of a state, its name over it."""
    import altair as alt

    runs: list[dict[str, Any]] = []
    for value in values:
        if runs and runs[-1]["state"] == value["state"]:
            runs[-1]["last"] = value["day"] + 0.5
        else:
            runs.append(
                {"state": value["state"], "first": value["day"] - 0.5, "last": value["day"] + 0.5}
            )
    base = alt.Chart(alt.Data(values=runs)).encode(
        x=alt.X("first:Q", **{**x, "axis": None}), x2="last:Q"
    )
    bar = base.mark_bar(height=8, yOffset=-11, color=frame.GREY, opacity=0.55, stroke=frame.INK)
    # Names that would meet stand on two levels.
    text = [
        alt.Chart(alt.Data(values=[run]))
        .mark_text(align="left", dy=4 + 13 * (i % 2), color=frame.INK, fontSize=13)
        .encode(x=alt.X("first:Q", **{**x, "axis": None}), text="state:N")
        for i, run in enumerate(runs)
    ]
    return alt.layer(bar, *text)
