"""The surface over time: believed until today, looked ahead from there, the work under it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import Any

from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import brief_day, week_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table
from greenwright.show.ways import Step, Way

HEIGHT, LOW = 210, 130
RIGHT = 14
STRIP = 21
MOST = 6
"""Practices marked under a picture: those planned and those done most."""


def ahead_figure(way: Way, course: Course, *, small: bool = False) -> Figure:
    """Return the picture of one way, with the last three weeks or without.

    Args:
        way: past, days ahead, readings, target, work.
        course: decides the units.
        small: a lower picture, without the work.
    """
    unit = way.ahead[0].held.unit
    scale = formats.scale_for(way.quantity, unit, course)
    label = terms.quantity(way.quantity, way.method)
    key = f"ahead-{way.quantity}-{way.method}-{way.green}".replace("_", "-").replace(" ", "-")
    whose = "" if way.green in rows.WHOLE else f" on {terms.greens([way.green])}"
    return Figure(
        key=key,
        title=f"{label}{whose}: the next {len(way.ahead)} days",
        description=_description(way, scale, small=small),
        finding=_finding(way, course),
        svg=_svg(way, scale, frame.WIDE, key=key, small=small),
        svg_narrow=_svg(way, scale, frame.NARROW, key=key, small=small),
        table=ahead_table(way, course),
    )


def _description(way: Way, scale: formats.Scale, *, small: bool) -> str:
    unit = frame.unit_words(scale)
    parts = [f"Mean of the greens by day{f' ({unit})' if unit else ''}, today the upright line."]
    if way.past:
        parts.append("Left of it grey: what we believe it was.")
    if way.read:
        parts.append("Dots: readings of single greens.")
    inner = " the darker tint should hold five times out of ten, the" if _inner(way) else " the"
    parts.append(f"Right of it the dashed line is the best guess;{inner} hatched band nine.")
    if way.band:
        parts.append("Shaded between thin lines: the target.")
    if way.work and not small:
        more = ", the foremost kinds" if len({m.practice for m in way.work}) > MOST else ""
        parts.append(f"Below, the work{more}: filled where done, open where it is to come.")
    return " ".join(parts)


def _inner(way: Way) -> bool:
    return all(step.inner for step in way.ahead)


def _finding(way: Way, course: Course) -> str:
    last = way.ahead[-1]
    when = week_date(last.day)
    now = way.past[-1].held if way.past else None
    if now is None:
        return f"By {when} we expect {formats.level(last.held, way.quantity, course)}."
    before = formats.middle(now, way.quantity, course)
    if now.low <= last.held.value <= now.high:
        return f"Best guess for {when}: about where it is today, {before}."
    moved = last.held.value - now.value
    size = formats.gap(abs(moved), now.unit, way.quantity, course)
    return f"Best guess for {when}: {size} {terms.side(way.quantity, moved)} than today's {before}."


def ahead_table(way: Way, course: Course, *, days: Sequence[int] = ()) -> Table:
    """Return the days ahead as a table.

    Args:
        way, course: as in the picture.
        days: only these days ahead, and those of which a chance is told; all of them if empty.
    """
    shown = [
        s for s in way.ahead if not days or _day(way, s.day) in days or s.in_target is not None
    ]
    chance = any(step.in_target is not None for step in shown)
    cells = tuple(
        (
            brief_day(step.day),
            formats.level(step.held, way.quantity, course),
            *([_chance(step)] if chance else []),
        )
        for step in shown
    )
    head = ("Day", "Expected", *(["Inside target"] if chance else []))
    title = f"{terms.quantity(way.quantity, way.method)}: the days ahead"
    return Table(title, head, cells, frozenset(range(1, len(head))))


def _chance(step: Step) -> str:
    return "" if step.in_target is None else formats.chance(step.in_target)


def _svg(way: Way, scale: formats.Scale, size: frame.Size, *, key: str, small: bool) -> str:
    import altair as alt

    marks = [] if small else _marks(way)
    left = _left(marks)
    width = size.width - left - RIGHT
    name = f"{key}-{'n' if size is frame.NARROW else 'w'}-hatch"
    x = _x(way, size)
    top = alt.layer(*_layers(way, scale, x, left=left, hatched=name))
    parts = [top.properties(width=width, height=LOW if small else HEIGHT)]
    if marks:
        side = 54 if width > 300 else 26
        parts.append(_strip(marks, x, left, side).properties(width=width))
    chart = alt.vconcat(*parts, spacing=10)
    return frame.draw(frame.dressed(chart, size), hatched=name)


def _day(way: Way, day: date) -> int:
    return (day - way.on).days


def _x(way: Way, size: frame.Size) -> dict[str, Any]:
    """Return the axis of days; each week from today is named."""
    first = min([_day(way, s.day) for s in way.past] or [0])
    last = _day(way, way.ahead[-1].day)
    every = 7 if last - first > 9 else 1 if size.width > 500 else 2
    x = frame.about_today(way.on, first, last, every=every, margin=0.6)
    x["axis"].labelOverlap, x["axis"].labelSeparation = "parity", 8
    return x


def _layers(
    way: Way, scale: formats.Scale, x: dict[str, Any], *, left: int, hatched: str
) -> list[Any]:
    import altair as alt

    y = _y(way, scale, left)
    now = alt.Chart(alt.Data(values=[{"day": 0}])).mark_rule(color=frame.INK, strokeDash=[2, 2])
    return [
        *_target(way, scale, x, y),
        *_past(way, scale, x, y),
        *_ahead(way, scale, x, (y, hatched)),
        now.encode(x=alt.X("day:Q", **x)),
    ]


def _y(way: Way, scale: formats.Scale, left: int) -> dict[str, Any]:
    import altair as alt

    held = [end for step in (*way.past, *way.ahead) for end in (step.held.low, step.held.high)]
    held += [value for _, value in way.read]
    held = [scale.shown(scale.inside(v)) for v in held] + _edges(way, scale)
    low, high = min(held), max(held)
    domain, ticks = frame.room(low, high, frame.step_for(high - low or 1.0, scale, wanted=5))
    shown = frame.label_expression(scale)
    axis = alt.Axis(values=ticks, labelExpr=shown, minExtent=left - 8, grid=False)
    return {"scale": alt.Scale(domain=domain, nice=False), "axis": axis, "title": None}


def _edges(way: Way, scale: formats.Scale) -> list[float]:
    if way.band is None:
        return []
    return [scale.shown(end) for end in (way.band.low, way.band.high) if end is not None]


def _target(way: Way, scale: formats.Scale, x: dict[str, Any], y: dict[str, Any]) -> list[Any]:
    import altair as alt

    edges = _edges(way, scale)
    if not edges:
        return []
    domain = y["scale"].domain
    low = scale.shown(way.band.low) if way.band.low is not None else domain[0]
    high = scale.shown(way.band.high) if way.band.high is not None else domain[1]
    first, last = x["scale"].domain
    box = [{"low": low, "high": high, "from": first, "to": last}]
    made = [
        alt.Chart(alt.Data(values=box))
        .mark_rect(color=frame.GREY, opacity=0.12)
        .encode(x=alt.X("from:Q", **x), x2="to:Q", y=alt.Y("low:Q", **y), y2="high:Q")
    ]
    lines = alt.Chart(alt.Data(values=[{"edge": edge} for edge in edges]))
    made.append(lines.mark_rule(color=frame.INK, strokeWidth=1).encode(y=alt.Y("edge:Q", **y)))
    return made


def _values(way: Way, steps: Sequence[Step], scale: formats.Scale) -> list[dict[str, Any]]:
    made = []
    for step in steps:
        ends = {"value": step.held.value, "low": step.held.low, "high": step.held.high}
        if step.inner:
            ends |= {"q25": step.inner[0], "q75": step.inner[1]}
        shown = {key: scale.shown(scale.inside(end)) for key, end in ends.items()}
        made.append({"day": _day(way, step.day), **shown})
    return made


def _past(way: Way, scale: formats.Scale, x: dict[str, Any], y: dict[str, Any]) -> list[Any]:
    import altair as alt

    made = []
    if way.past:
        base = alt.Chart(alt.Data(values=_values(way, way.past, scale)))
        base = base.encode(x=alt.X("day:Q", **x))
        band = base.mark_area(color=frame.GREY, opacity=0.25, line=False)
        made.append(band.encode(y=alt.Y("low:Q", **y), y2="high:Q"))
        line = base.mark_line(color=frame.INK, strokeWidth=2)
        made.append(line.encode(y=alt.Y("value:Q", **y)))
    if way.read:
        dots = [{"day": _day(way, d), "value": scale.shown(v)} for d, v in way.read]
        base = alt.Chart(alt.Data(values=dots))
        dot = base.mark_point(filled=True, color=frame.GREY, size=12, opacity=0.6)
        made.append(dot.encode(x=alt.X("day:Q", **x), y=alt.Y("value:Q", **y)))
    return made


def _ahead(
    way: Way, scale: formats.Scale, x: dict[str, Any], look: tuple[dict[str, Any], str]
) -> list[Any]:
    import altair as alt

    y, hatched = look
    joined = (*way.past[-1:], *way.ahead)
    base = alt.Chart(alt.Data(values=_values(way, joined, scale))).encode(x=alt.X("day:Q", **x))
    outer = base.mark_area(color=frame.hatching(hatched), line=False)
    made = [outer.encode(y=alt.Y("low:Q", **y), y2="high:Q")]
    if _inner(way):
        inner = base.transform_filter("isValid(datum.q25)")
        tint = inner.mark_area(color=frame.US, opacity=0.3, line=False)
        made.append(tint.encode(y=alt.Y("q25:Q", **y), y2="q75:Q"))
    line = base.mark_line(color=frame.US, strokeWidth=2.5, strokeDash=[6, 3])
    return [*made, line.encode(y=alt.Y("value:Q", **y))]


def _marks(way: Way) -> list[dict[str, Any]]:
    first = min([s.day for s in way.past] or [way.on])
    last = way.ahead[-1].day
    seen = dict.fromkeys(
        (mark.day, mark.practice, mark.planned)
        for mark in way.work
        if first <= mark.day <= last and mark.planned is (mark.day > way.on)
    )
    kept = _foremost([(key, planned) for _, key, planned in seen])
    return [
        {"day": _day(way, day), "practice": terms.practice(key), "planned": planned}
        for day, key, planned in seen
        if key in kept
    ]


def _foremost(seen: Sequence[tuple[str, bool]]) -> set[str]:
    """Return the practices that are marked: those planned before those only done, then by days."""
    coming = Counter(key for key, planned in seen if planned)
    days = Counter(key for key, _ in seen)
    ordered = sorted(days, key=lambda key: (key not in coming, -days[key], key))
    return set(ordered[:MOST])


def _left(marks: Sequence[dict[str, Any]]) -> int:
    longest = max((len(mark["practice"]) for mark in marks), default=0)
    return min(max(56, int(7.2 * longest) + 14), 120)


def _strip(marks: Sequence[dict[str, Any]], x: dict[str, Any], left: int, side: int) -> Any:
    import altair as alt

    names = list(dict.fromkeys(mark["practice"] for mark in marks))
    axis = alt.Axis(
        title=None, minExtent=left - 8, ticks=False, domain=False, labelLimit=left, grid=True
    )
    bare = {**x, "axis": None}
    base = alt.Chart(alt.Data(values=list(marks))).encode(
        x=alt.X("day:Q", **bare), y=alt.Y("practice:N", sort=names, axis=axis)
    )
    done = base.transform_filter("!datum.planned")
    coming = base.transform_filter("datum.planned")
    return alt.layer(
        done.mark_square(filled=True, size=side, color=frame.US, opacity=1),
        coming.mark_square(filled=False, size=side, color=frame.US, opacity=1, strokeWidth=1.5),
    ).properties(height=STRIP * len(names))
