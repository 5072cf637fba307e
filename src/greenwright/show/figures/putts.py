"""Two hundred putts on one green from above, now and on a perfectly true surface."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.lengths import INCH_M
from greenwright.base.values import Course
from greenwright.show import formats, terms
from greenwright.show.figures import frame
from greenwright.show.figures.plan import (
    HOLE_M,
    Plan,
    Point,
    Rolled,
    left_over,
    plan_of,
    short_of,
    thinned,
)
from greenwright.show.page import Figure, Table

TALLEST = 430
"""Most pixels along the shorter way of reading a panel."""
TRUE = "Perfectly true"
_GAP, _HEAD, _FOOT = 16, 46, 28
_CROSS = 3.2
_SURE = 1.645 * 2**0.5


@dataclass(frozen=True, slots=True)
class _View:
    """Metres to pixels in one panel: where it stands, how large, and which way the putt runs.

    Args:
        left, top, width, height: of the green [px].
        near_m, far_m: ends along the putt [m]; hole_m: how far the hole is [m].
        px_m: pixels for a metre.
        upright: the putt runs up the page, else to the right.
    """

    left: float
    top: float
    width: float
    height: float
    near_m: float
    far_m: float
    hole_m: float
    px_m: float
    upright: bool

    def at(self, point: Point) -> tuple[float, float]:
        """Return a place in pixels."""
        if self.upright:
            x = self.left + self.width / 2 + point[0] * self.px_m
            return x, self.top + (self.far_m - point[1]) * self.px_m
        y = self.top + self.height / 2 + point[0] * self.px_m
        return self.left + (point[1] - self.near_m) * self.px_m, y

    def holds(self, point: Point) -> bool:
        """Tell whether a place lies inside the picture."""
        half = (self.width if self.upright else self.height) / 2 / self.px_m
        return abs(point[0]) <= half and self.near_m <= point[1] <= self.far_m


def putts_figure(answer: Answer, course: Course) -> Figure | None:
    """Return the picture of the simulated putts, or nothing where none were rolled."""
    putts = answer.more.get("putts")
    if not putts or not putts.get("ends"):
        return None
    plan = plan_of(putts)
    return Figure(
        key="putts",
        title=title_of(putts),
        description=_description(putts, plan),
        finding=_finding(putts, course),
        svg=_svg(putts, plan, course, frame.WIDE),
        svg_narrow=_svg(putts, plan, course, frame.NARROW),
        table=_table(putts, plan, course),
    )


def title_of(putts: Mapping[str, Any]) -> str:
    """Return what the picture shows."""
    return f"{putts['n']} putts on green {putts['green']}"


def _description(putts: Mapping[str, Any], plan: Plan) -> str:
    sides = "First the surface now, then a perfectly true one of the same slope and speed."
    sample = len(plan.now.paths)
    ways = f" Lines: the ways of {sample} of them, blue where the ball drops." if sample else ""
    return (
        "The green from above: the ball a dot, the hole a ring. "
        f"{sides} Each cross is a ball that missed.{ways} {_ground(putts)}"
    ).strip()


def _ground(putts: Mapping[str, Any]) -> str:
    if putts.get("heights"):
        return f"Heights from {putts['heights']}, mean slope {_percent(putts)} %."
    if not putts["slope"]:
        return "The green is level here."
    return f"The green falls {_percent(putts)} % to the {_way(putts)} of the putt."


def _finding(putts: Mapping[str, Any], course: Course) -> str:
    now, perfect, n = putts["holed"], putts["holed_perfect"], putts["n"]
    where = formats.distance(putts["distance_m"], course)
    who = terms.player(putts["player"])
    told = f"from {where}, {now} of {n} putts drop now and {perfect} of {n} on a true surface"
    return f"{who}: {told}; {_verdict(now, perfect, n)}."


def _verdict(now: int, perfect: int, n: int) -> str:
    """Return whether two counts are further apart than luck makes them nine times out of ten."""
    if now == perfect:
        return "no difference to be seen"
    p = (now + perfect) / (2 * n)
    if abs(now - perfect) <= _SURE * max(n * p * (1 - p), 0.0) ** 0.5:
        return "so small a difference luck alone can make"
    return "more than luck alone would make"


def _table(putts: Mapping[str, Any], plan: Plan, course: Course) -> Table:
    sides = (plan.now, plan.perfect)
    n, far = putts["n"], plan.distance_m
    rows = (
        ("Holed", *(f"{side.holed} of {n}" for side in sides)),
        ("Missed and short", *(str(short_of(side, far)) for side in sides)),
        ("Missed and past", *(str(len(side.missed) - short_of(side, far)) for side in sides)),
        ("Half of the missed leave at most", *(_left(side, far, course) for side in sides)),
    )
    return Table(title_of(putts), ("Putts", "Now", TRUE), rows, frozenset({1, 2}))


def _left(side: Rolled, far: float, course: Course) -> str:
    held = left_over(side, far)
    return "none missed" if held is None else formats.point(held, "m", "green_speed", course)


def _svg(putts: Mapping[str, Any], plan: Plan, course: Course, size: frame.Size) -> str:
    first, second = _beside(plan, size) if size.width < 500 else _under(plan, size)
    foot = second.top + second.height
    parts = [_panel(first, plan.now, "Now", size), _panel(second, plan.perfect, TRUE, size)]
    parts.append(_bar(first.left, foot, first.px_m, course=course, size=size))
    parts.append(_slope(foot, putts, size))
    box = f'viewBox="0 0 {size.width} {foot + _FOOT:.0f}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box}>{"".join(parts)}</svg>'


def _beside(plan: Plan, size: frame.Size) -> tuple[_View, _View]:
    """Return two upright panels side by side."""
    half, near, far = plan.room()
    width = (size.width - _GAP) / 2
    scale = min(TALLEST / (far - near), width / (2 * half))
    ends = (width, (far - near) * scale, near, far, plan.distance_m, scale, True)
    return _View(0.0, _HEAD, *ends), _View(width + _GAP, _HEAD, *ends)


def _under(plan: Plan, size: frame.Size) -> tuple[_View, _View]:
    """Return two lying panels one under the other."""
    half, near, far = plan.room()
    scale = min(size.width / (far - near), TALLEST / (2 * half))
    height = 2 * half * scale
    ends = (size.width, height, near, near + size.width / scale, plan.distance_m, scale, False)
    return _View(0.0, _HEAD, *ends), _View(0.0, 2 * _HEAD + height + _GAP, *ends)


def _panel(view: _View, side: Rolled, name: str, size: frame.Size) -> str:
    seen = [p for p in side.missed if view.holds(p)]
    n = side.holed + len(side.missed)
    away = len(side.missed) - len(seen)
    head = _text(view.left + 2, view.top - 31, name, size, weight="bold")
    off = f", {away} off the picture" if away else ""
    count = _text(view.left + 2, view.top - 13, f"{side.holed} of {n} holed{off}", size)
    return "".join([head, count, _edge(view), *_ways(view, side), *_marks(view, seen)])


def _edge(view: _View) -> str:
    return (
        f'<rect x="{view.left + 0.5:.1f}" y="{view.top:.1f}" width="{view.width - 1:.1f}" '
        f'height="{view.height:.1f}" fill="none" stroke="{frame.LINE}"/>'
    )


def _ways(view: _View, side: Rolled) -> list[str]:
    made = []
    for path, dropped in sorted(side.paths, key=lambda held: held[1]):
        inside = [p for p in thinned(path) if view.holds(p)]
        if len(inside) < 2:
            continue
        places = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(view.at, inside))
        look = (frame.US, 0.55) if dropped else (frame.GREY, 0.3)
        made.append(
            f'<polyline points="{places}" fill="none" stroke="{look[0]}" '
            f'stroke-opacity="{look[1]}" stroke-width="1"/>'
        )
    return made


def _marks(view: _View, missed: Sequence[Point]) -> list[str]:
    strokes = "".join(_cross(*view.at(point)) for point in missed)
    crosses = f'<path d="{strokes}" fill="none" stroke="{frame.INK}" stroke-width="1.1"/>'
    x, y = view.at((0.0, 0.0))
    ball = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{frame.INK}"/>'
    return [crosses if strokes else "", ball, _hole(view)]


def _cross(x: float, y: float) -> str:
    a, b = _CROSS, 2 * _CROSS
    return f"M{x - a:.1f},{y - a:.1f}l{b:.1f},{b:.1f}m0,{-b:.1f}l{-b:.1f},{b:.1f}"


def _hole(view: _View) -> str:
    x, y = view.at((0.0, view.hole_m))
    radius = max(HOLE_M * view.px_m, 4.0)
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="none" '
        f'stroke="{frame.US}" stroke-width="3"/>'
    )


def _bar(left: float, foot: float, px_m: float, *, course: Course, size: frame.Size) -> str:
    feet = course.speed_units == "ft"
    length = (2 * 12 * INCH_M if feet else 0.5) * px_m
    line = (
        f'<path d="M{left + 2:.1f},{foot + 10:.1f}v8m0,-4h{length:.1f}m0,-4v8" fill="none" '
        f'stroke="{frame.INK}"/>'
    )
    return line + _text(left + length + 10, foot + 19, "2 ft" if feet else "0.5 m", size)


def _slope(foot: float, putts: Mapping[str, Any], size: frame.Size) -> str:
    if putts.get("heights") or not putts["slope"]:
        return ""
    text = f"falls {_percent(putts)} % to the {_way(putts)}"
    return _text(size.width - 2, foot + 19, text, size, anchor="end")


def _percent(putts: Mapping[str, Any]) -> str:
    return formats.plain(abs(100 * putts["slope"]), 1)


def _way(putts: Mapping[str, Any]) -> str:
    return "left" if putts["slope"] > 0 else "right"


def _text(
    x: float,
    y: float,
    text: str,
    size: frame.Size,
    *,
    weight: str = "normal",
    anchor: str = "start",
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{size.font}px" '
        f'font-weight="{weight}" text-anchor="{anchor}" fill="{frame.INK}">{escape(text)}</text>'
    )
