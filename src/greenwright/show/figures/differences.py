"""The differences that a trial found, each with its interval, about a line of no difference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats
from greenwright.show.figures import frame
from greenwright.show.formats import MINUS
from greenwright.show.page import Figure, Table

Row = Mapping[str, Any]
STEP, HEAD = 46, 34
MOST = 12


def differences_figure(answer: Answer, course: Course) -> Figure | None:
    """Return the differences drawn, or nothing while there are none."""
    held = list(answer.more.get("contrasts") or ())[:MOST]
    if not held:
        return None
    return Figure(
        key="differences",
        title="How much they differ",
        description="One line for each pair: the dot is the difference found, the bar where the "
        "truth should lie, allowing for all pairs at once. The upright line is no difference.",
        finding=finding(held, course),
        svg=_svg(held, frame.WIDE, course),
        svg_narrow=_svg(held, frame.NARROW, course),
        table=_table(held, course),
    )


def finding(held: Sequence[Row], course: Course) -> str:
    """Return how many of the differences are clear."""
    clear = [c for c in held if c["low"] > 0 or c["high"] < 0]
    if not clear:
        return "Every bar crosses no difference: the trial cannot tell them apart."
    best = max(clear, key=lambda c: abs(c["value"]))
    up = best["value"] > 0
    more, less = (best["first"], best["second"]) if up else (best["second"], best["first"])
    size = told(abs(best["value"]), best["unit"], course)
    rest = f", the clearest of {len(clear)}" if len(clear) > 1 else ""
    return f"{more} gave {size} more than {less}{rest}."


def told(value: float, unit: str, course: Course | None = None) -> str:
    """Return a number to three figures with its unit; a length as the course likes it.

    >>> told(-0.12345, "m")
    '−0.123 m'
    """
    if unit == "m" and course is not None:
        size = formats.gap(abs(value), unit, "green_speed", course)
        return f"{MINUS}{size}" if value < 0 else size
    return f"{value:.3g} {unit}".strip().replace("-", MINUS)


def _table(held: Sequence[Row], course: Course) -> Table:
    cells = tuple(
        (
            f"{c['first']} {MINUS} {c['second']}",
            told(c["value"], c["unit"], course),
            f"{told(c['low'], c['unit'], course)} to {told(c['high'], c['unit'], course)}",
            "< 0.001" if c["p_adjusted"] < 0.001 else f"{c['p_adjusted']:.3f}",
        )
        for c in held
    )
    head = ("Difference", "Found", "Where the truth should lie", "p, all pairs")
    return Table("Differences", head, cells, frozenset({1, 2, 3}))


def _svg(held: Sequence[Row], size: frame.Size, course: Course) -> str:
    ends = [0.0, *(c["low"] for c in held), *(c["high"] for c in held)]
    low, high = min(ends), max(ends)
    room = 0.06 * (high - low or 1.0)
    low, high = low - room, high + room

    def x(value: float) -> float:
        return 8 + (size.width - 16) * (value - low) / (high - low)

    tall = HEAD + STEP * len(held)
    parts = [
        f'<line x1="{x(0):.1f}" y1="20" x2="{x(0):.1f}" y2="{tall - 4}" stroke="{frame.INK}"/>',
        _label(x(0), 14, "no difference", size, middle=True),
    ]
    for k, c in enumerate(held):
        y = HEAD + STEP * k
        parts.append(_label(8, y + 10, f"{c['first']} {MINUS} {c['second']}: "
                            f"{told(c['value'], c['unit'], course)}", size))  # fmt: skip
        parts.append(
            f'<line x1="{x(c["low"]):.1f}" y1="{y + 25}" x2="{x(c["high"]):.1f}" y2="{y + 25}" '
            f'stroke="{frame.US}" stroke-width="5" stroke-opacity="0.4"/>'
            f'<circle cx="{x(c["value"]):.1f}" cy="{y + 25}" r="6" fill="{frame.US}"/>'
        )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size.width} {tall}">'
        f"{''.join(parts)}</svg>"
    )


def _label(x: float, y: float, text: str, size: frame.Size, *, middle: bool = False) -> str:
    anchor = ' text-anchor="middle"' if middle else ""
    x = min(max(x, 50), size.width - 50) if middle else x
    return (
        f'<text x="{x:.1f}" y="{y}" font-family="sans-serif" font-size="{size.font}px" '
        f'fill="{frame.INK}"{anchor}>{escape(text)}</text>'
    )
