"""The week ahead: where each plan takes the course, and the work that takes it there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import brief_day, week_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

PLANS = ("advised", "usual", "nothing")
DRAWN = ("green_speed", "smoothness")
DASHES = {"advised": [1, 0], "usual": [6, 3], "nothing": [2, 3]}
COLOURS = {"advised": frame.US, "usual": frame.INK, "nothing": frame.GREY}
NAMES = {"advised": "advised", "usual": "usual", "nothing": "no work"}
HEIGHT = 190
SILENT = ("hole_change", "mark_repair", "dew_removal", "cover", "other")
"""Work that is not drawn: it is not done for speed or smoothness."""
RIGHT = 62

Path = list[dict[str, Any]]


def week_figures(answer: Answer, course: Course) -> tuple[Figure, ...]:
    """Return the pictures of expected speed and smoothness under the three plans."""
    made = (_figure(answer, course, quantity) for quantity in DRAWN)
    return tuple(figure for figure in made if figure)


def _figure(answer: Answer, course: Course, quantity: str) -> Figure | None:
    held = _held(answer, quantity)
    if not held:
        return None
    unit = rows.estimate(next(iter(held.values()))[0]["estimate"]).unit
    scale = formats.scale_for(quantity, unit, course)
    values = [v for key, path in held.items() for v in _values(key, path, scale)]
    lines, work = _lines(answer, quantity, scale), _work(answer)
    label = terms.quantity(quantity)
    return Figure(
        key=f"week-{quantity}".replace("_", "-"),
        title=f"{label} over the week",
        description=_description(held, bool(lines), bool(work)),
        finding=_finding(held, quantity, course),
        svg=_svg(values, lines, work, size=frame.WIDE, scale=scale),
        svg_narrow=_svg(values, lines, work, size=frame.NARROW, scale=scale),
        table=_table(held, quantity, course),
    )


def _held(answer: Answer, quantity: str) -> dict[str, list[rows.Row]]:
    plans: Mapping[str, Any] = answer.more.get("plans") or {}
    found = {
        key: [r for r in plans.get(key, {}).get("by_day") or () if r.get("quantity") == quantity]
        for key in PLANS
    }
    return {key: path for key, path in found.items() if path}


def _values(key: str, path: Sequence[rows.Row], scale: formats.Scale) -> Path:
    made = []
    for row in path:
        held = rows.estimate(row["estimate"])
        ends = {n: scale.shown(scale.inside(getattr(held, n))) for n in ("value", "low", "high")}
        made.append({"plan": key, "day": brief_day(rows.day(row["date"])), **ends})
    return made


def _lines(answer: Answer, quantity: str, scale: formats.Scale) -> tuple[float, ...]:
    held = (answer.more.get("targets") or {}).get(quantity)
    band = rows.band({"target": held})
    if band is None:
        return ()
    top = float(scale.of) if scale.of else None
    ends = [scale.shown(x) for x in (band.low, band.high) if x is not None]
    return tuple(x for x in ends if x != top)


def _work(answer: Answer) -> Path:
    drawn = (r for r in answer.choices if r["practice"] not in SILENT)
    seen = dict.fromkeys((r["practice"], rows.day(r["date"])) for r in drawn)
    return [{"practice": terms.practice(p), "day": brief_day(d)} for p, d in seen]


def _description(held: Mapping[str, Any], lines: bool, work: bool) -> str:
    drawn = terms.listed([f"{_look(key)} {NAMES[key]}" for key in held])
    parts = [f"Expected mean of the course by day: {drawn}; the tint is the range when advised."]
    if lines:
        parts.append("Thin lines: the target.")
    if work:
        parts.append("Below, the days on which the advised work is done.")
    return " ".join(parts)


def _look(key: str) -> str:
    return {"advised": "solid blue line", "usual": "dashed line", "nothing": "dotted grey line"}[
        key
    ]


def _finding(held: Mapping[str, Sequence[rows.Row]], quantity: str, course: Course) -> str:
    told = []
    for key in held:
        last = held[key][-1]
        level = formats.level(rows.estimate(last["estimate"]), quantity, course)
        told.append(f"{level} {_under(key)}")
    when = week_date(rows.day(next(iter(held.values()))[-1]["date"]))
    return f"By {when} we expect {terms.listed(told)}."


def _under(key: str) -> str:
    return {"advised": "as advised", "usual": "with the usual work", "nothing": "with no work"}[key]


def _table(held: Mapping[str, Sequence[rows.Row]], quantity: str, course: Course) -> Table:
    days: dict[date, dict[str, str]] = {}
    for key, path in held.items():
        for row in path:
            level = formats.level(rows.estimate(row["estimate"]), quantity, course)
            days.setdefault(rows.day(row["date"]), {})[key] = level
    head = ("Day", *(terms.PLANS[key] for key in held))
    cells = tuple((brief_day(d), *(got.get(key, "") for key in held)) for d, got in days.items())
    title = f"{terms.quantity(quantity)} over the week"
    return Table(title, head, cells, frozenset(range(1, len(head))))


def _svg(
    values: Path, lines: Sequence[float], work: Path, *, size: frame.Size, scale: formats.Scale
) -> str:
    import altair as alt

    days = list(dict.fromkeys(v["day"] for v in values))
    left = _left(work)
    width = size.width - left - RIGHT
    x = alt.X("day:N", sort=days, scale=alt.Scale(domain=days), axis=_day_axis(size), title=None)
    top = _curves(values, lines, x, (scale, left)).properties(width=width, height=HEIGHT)
    parts = [top, _strip(work, x, width, left)] if work else [top]
    return frame.draw(frame.dressed(alt.vconcat(*parts, spacing=12), size))


def _day_axis(size: frame.Size) -> Any:
    import altair as alt

    shown = "split(datum.label, ' ')" if size.width < 500 else "datum.label"
    return alt.Axis(labelAngle=0, labelExpr=shown, labelLineHeight=15, labelOverlap=False)


def _left(work: Path) -> int:
    """Return the room that the longest practice needs left of the drawing [px]."""
    longest = max((len(w["practice"]) for w in work), default=0)
    return min(max(56, 8 * longest + 12), 120)


def _curves(values: Path, lines: Sequence[float], x: Any, look: tuple[formats.Scale, int]) -> Any:
    import altair as alt

    y, span = _y(values, lines, *look)
    keys = [key for key in PLANS if any(v["plan"] == key for v in values)]
    colour = alt.Color(
        "plan:N", scale=alt.Scale(domain=keys, range=[COLOURS[k] for k in keys]), legend=None
    )
    dash = alt.StrokeDash(
        "plan:N", scale=alt.Scale(domain=keys, range=[DASHES[k] for k in keys]), legend=None
    )
    base = alt.Chart(alt.Data(values=values)).encode(x=x)
    tint = base.transform_filter("datum.plan == 'advised'").mark_area(
        color=frame.US, opacity=0.18, line=False
    )
    target = [
        alt.Chart(alt.Data(values=[{"edge": edge}]))
        .mark_rule(color=frame.INK, strokeWidth=1)
        .encode(y=alt.Y("edge:Q", **y))
        for edge in lines
    ]
    return alt.layer(
        tint.encode(y=alt.Y("low:Q", **y), y2="high:Q"),
        *target,
        base.mark_line(strokeWidth=2.5).encode(
            y=alt.Y("value:Q", **y), color=colour, strokeDash=dash
        ),
        _end_labels(values, y, span, x),
    )


def _y(
    values: Path, lines: Sequence[float], scale: formats.Scale, left: int
) -> tuple[dict[str, Any], float]:
    import altair as alt

    held = [v["value"] for v in values]
    held += [v[end] for v in values if v["plan"] == "advised" for end in ("low", "high")]
    low, high = min([*held, *lines]), max([*held, *lines])
    domain, ticks = frame.room(low, high, frame.step_for(high - low, scale, wanted=5))
    axis = alt.Axis(
        values=ticks, labelExpr=frame.label_expression(scale), minExtent=left - 8, grid=False
    )
    shape = {"scale": alt.Scale(domain=domain, nice=False), "axis": axis, "title": None}
    return shape, domain[1] - domain[0]


def _end_labels(values: Path, y: dict[str, Any], span: float, x: Any) -> Any:
    import altair as alt

    ends = {v["plan"]: v for v in values}
    gap = span * 16 / HEIGHT
    placed = apart({key: v["value"] for key, v in ends.items()}, gap)
    labels = [{"day": ends[k]["day"], "at": at, "name": NAMES[k]} for k, at in placed.items()]
    return (
        alt.Chart(alt.Data(values=labels))
        .mark_text(align="left", dx=12, fontSize=13, color=frame.INK)
        .encode(x=x, y=alt.Y("at:Q", **y), text="name:N")
    )


def apart(places: Mapping[str, float], gap: float) -> dict[str, float]:
    """Return places moved up as little as keeps them a gap apart, lowest first.

    >>> apart({"a": 1.0, "b": 1.1, "c": 3.0}, 0.5)
    {'a': 1.0, 'b': 1.5, 'c': 3.0}
    """
    made: dict[str, float] = {}
    last = float("-inf")
    for key, place in sorted(places.items(), key=lambda item: item[1]):
        last = max(place, last + gap)
        made[key] = last
    return made


def _strip(work: Path, x: Any, width: int, left: int) -> Any:
    import altair as alt

    names = list(dict.fromkeys(w["practice"] for w in work))
    axis = alt.Axis(
        title=None, minExtent=left - 8, ticks=False, domain=False, labelLimit=left, grid=True
    )
    bare = x.copy()
    bare.axis = None
    return (
        alt.Chart(alt.Data(values=work))
        .mark_square(size=90, color=frame.US, opacity=1)
        .encode(x=bare, y=alt.Y("practice:N", sort=names, axis=axis))
        .properties(width=width, height=20 * len(names))
    )
