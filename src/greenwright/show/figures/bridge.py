"""From then to now: each part of a change as a step from where the one before it ended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.causes import SMALL, UNEXPLAINED, WORK, Part, Split
from greenwright.show.dates import short_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table, sentence

ROW = 40
_COLOURS = {"level": frame.INK, "work": frame.US, "other": frame.GREY}


def bridge_figure(split: Split, course: Course) -> Figure | None:
    """Return the picture of one change, or nothing when it has no part."""
    if not split.parts:
        return None
    unit = split.total.unit
    scale = formats.scale_for(split.quantity, unit, course)
    steps = _steps(split, scale, course)
    label = terms.quantity(split.quantity, split.method)
    return Figure(
        key=f"bridge-{split.quantity}-{split.green}".replace("_", "-").replace(" ", "-"),
        title=title_of(split),
        description=_description(split, scale),
        finding=_finding(split, course),
        svg=_svg(steps, split, scale, frame.WIDE),
        svg_narrow=_svg(steps, split, scale, frame.NARROW),
        table=_table(split, course, label),
    )


def title_of(split: Split) -> str:
    """Return what a picture of a change is called."""
    label = terms.quantity(split.quantity, split.method)
    if split.against:
        return f"{label}: from {_where(split.against)} to {_where(split.green)}"
    return f"{label} {_on(split.green)}: from {short_date(split.frm)} to {short_date(split.until)}"


def _where(green: str) -> str:
    return "the course" if green in rows.WHOLE else terms.greens([green])


def _on(green: str) -> str:
    return "of the course" if green in rows.WHOLE else f"on {terms.greens([green])}"


def _ends(split: Split) -> tuple[str, str]:
    if split.against:
        return _where(split.against).capitalize(), _where(split.green).capitalize()
    return short_date(split.frm), short_date(split.until)


def _description(split: Split, scale: formats.Scale) -> str:
    unit = frame.unit_words(scale)
    spoken = f" ({unit})" if unit else ""
    level = "level" if split.then and split.now else "change"
    return (
        f"The first row is where it stood, the last where it stands{spoken}. Between them each row "
        "is one part, a bar from where the row before it ended: blue for work, grey for the rest, "
        f"an outline for what nothing in the record explains. The thin line is the range of the "
        f"{level} or part; the number is the part."
    )


def _finding(split: Split, course: Course) -> str:
    """Return what pushed up and what pushed down, and what nothing explains."""
    told = []
    for word, sign in (("Up", 1), ("Down", -1)):
        held = [
            f"{part.name.lower()} {text}"
            for part in split.largest()
            if part.held.value * sign > 0
            and (text := formats.change(part.held, split.quantity, course)) != "none"
        ]
        told += [f"{word if not told else word.lower()}: {terms.listed(held[:2])}"] if held else []
    rest = next((p.held for p in split.parts if p.key == UNEXPLAINED), None)
    if rest is not None:
        told.append(f"unexplained {formats.change(rest, split.quantity, course)}")
    return sentence(["; ".join(told) or "No part stands out"])


def _table(split: Split, course: Course, label: str) -> Table:
    cells = [(p.name, formats.change(p.held, split.quantity, course)) for p in split.parts]
    cells.append(("Together", formats.change(split.total, split.quantity, course)))
    return Table(f"{label}: parts of the change", ("Part", "Change"), tuple(cells), frozenset({1}))


def _steps(split: Split, scale: formats.Scale, course: Course) -> list[dict[str, Any]]:
    """Return the rows of the picture in the printed unit."""
    place = split.then.value if split.then else 0.0
    first, last = _ends(split)
    texts = [formats.middle(end, split.quantity, course) if end else "" for end in _levels(split)]
    steps = [_level(first, split.then, scale, text=texts[0])]
    for part in split.drawn():
        text = _short(part.held, split.quantity, course)
        # What is too small to print is too small to see; the table has it.
        steps += [] if text == "none" else [_part(part, place, scale, text=text)]
        place += part.held.value
    steps.append(_level(last, split.now or split.total, scale, text=texts[1]))
    return steps


def _levels(split: Split) -> tuple[Estimate | None, Estimate | None]:
    return (split.then, split.now) if split.then and split.now else (None, split.total)


def _shown(value: float, scale: formats.Scale) -> float:
    return value * scale.factor + scale.offset


def _level(name: str, held: Estimate | None, scale: formats.Scale, *, text: str) -> dict[str, Any]:
    ends = (held.value, held.low, held.high) if held else (0.0, 0.0, 0.0)
    at, low, high = (_shown(end, scale) for end in ends)
    return {"name": name, "kind": "level", "at": at, "low": low, "high": high, "text": text}


def _part(part: Part, place: float, scale: formats.Scale, *, text: str) -> dict[str, Any]:
    held = part.held
    return {
        "name": part.name,
        "kind": "work" if part.key.startswith((WORK, SMALL)) else "other",
        "at": _shown(place, scale),
        "end": _shown(place + held.value, scale),
        "low": _shown(place + held.low, scale),
        "high": _shown(place + held.high, scale),
        "outlined": part.key == UNEXPLAINED,
        "text": text,
    }


def _short(held: Estimate, quantity: str, course: Course) -> str:
    return formats.change(held, quantity, course).split(" (")[0]


def _svg(
    steps: Sequence[dict[str, Any]], split: Split, scale: formats.Scale, size: frame.Size
) -> str:
    import altair as alt

    names = [step["name"] for step in steps]
    left = min(int(7.2 * max(len(name) for name in names)) + 12, size.width // 2)
    right = int(7.4 * max(len(step["text"]) for step in steps)) + 14
    width = size.width - left - right - 12
    x = _x(steps, scale, levels=bool(split.then), wanted=6 if width > 300 else 3)
    axis = alt.Axis(title=None, ticks=False, domain=False, minExtent=left - 8, labelLimit=left)
    y = alt.Y("name:N", sort=names, scale=alt.Scale(domain=names), axis=axis)
    layers = [*_joins(steps, x, y), *_bars(steps, x, y), *_ranges(steps, x, y)]
    layers.append(_texts(steps, y, width))
    chart = alt.layer(*layers).properties(width=width, height=ROW * len(names))
    return frame.draw(frame.dressed(chart, size))


def _x(
    steps: Sequence[dict[str, Any]], scale: formats.Scale, *, levels: bool, wanted: int
) -> dict[str, Any]:
    import altair as alt

    held = [step[key] for step in steps for key in ("at", "end", "low", "high") if key in step]
    if not levels:
        return frame.changes_axis(held, scale, wanted=wanted)
    low, high = min(held), max(held)
    domain, ticks = frame.room(low, high, frame.step_for(high - low or 1.0, scale, wanted=wanted))
    axis = alt.Axis(values=ticks, labelExpr=frame.label_expression(scale), labelOverlap=True)
    return {"axis": axis, "scale": alt.Scale(domain=domain, nice=False), "title": None}


def _joins(steps: Sequence[dict[str, Any]], x: dict[str, Any], y: Any) -> list[Any]:
    """Return the upright line at which the first row begins and the last one ends."""
    import altair as alt

    ends = [{"edge": steps[0]["at"]}, {"edge": steps[-1]["at"]}]
    rule = alt.Chart(alt.Data(values=ends)).mark_rule(color=frame.GREY, strokeDash=[2, 3])
    return [rule.encode(x=alt.X("edge:Q", **x))]


def _bars(steps: Sequence[dict[str, Any]], x: dict[str, Any], y: Any) -> list[Any]:
    import altair as alt

    parts = [step for step in steps if "end" in step]
    looks = {
        False: {"opacity": 0.75},
        True: {"color": frame.GREY, "fillOpacity": 0, "stroke": frame.GREY, "strokeDash": [3, 2]},
    }
    made = []
    for outlined, look in looks.items():
        held = [step for step in parts if step["outlined"] is outlined]
        bar = alt.Chart(alt.Data(values=held)).mark_bar(height=16, **look)
        drawn = bar.encode(x=alt.X("at:Q", **x), x2="end:Q", y=y)
        if not outlined:
            drawn = drawn.encode(color=alt.Color("kind:N", legend=None, scale=_scale()))
        made += [drawn] if held else []
    return made


def _scale() -> Any:
    import altair as alt

    return alt.Scale(domain=list(_COLOURS), range=list(_COLOURS.values()))


def _ranges(steps: Sequence[dict[str, Any]], x: dict[str, Any], y: Any) -> list[Any]:
    import altair as alt

    base = alt.Chart(alt.Data(values=list(steps)))
    marks = alt.Chart(alt.Data(values=[s for s in (steps[0], steps[-1]) if s["text"]]))
    return [
        base.mark_rule(strokeWidth=1.5, color=frame.INK).encode(
            x=alt.X("low:Q", **x), x2="high:Q", y=y
        ),
        marks.mark_point(filled=True, size=90, opacity=1, color=frame.INK).encode(
            x=alt.X("at:Q", **x), y=y
        ),
    ]


def _texts(steps: Sequence[dict[str, Any]], y: Any, width: int) -> Any:
    import altair as alt

    held = [{"name": step["name"], "text": step["text"]} for step in steps]
    return (
        alt.Chart(alt.Data(values=held))
        .mark_text(align="left", baseline="middle", fontSize=13, color=frame.INK)
        .encode(x=alt.value(width + 8), y=y, text="text:N")
    )
