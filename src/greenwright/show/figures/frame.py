"""What all pictures share: colours, type, sizes, axes and the drawing itself."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import ceil, floor
from typing import Any

from greenwright.show.dates import short_date
from greenwright.show.formats import Scale

INK = "#1a1a1a"
GREY = "#6b6b6b"
LINE = "#c9c9c4"
US = "#0072b2"
OUTSIDE = "#d55e00"
THEME = {
    INK: "var(--ink)",
    GREY: "var(--grey)",
    LINE: "var(--line)",
    US: "var(--us)",
    OUTSIDE: "var(--outside)",
}
"""Colours of the drawings and the page variables that take their place on the web."""

_NOISE = re.compile(r' (?:role|aria-roledescription|aria-label|aria-hidden|class)="[^"]*"')
_EMPTY = re.compile(r'<path d="(?:M0,0h0v0h0Z)?"[^>]*/>')
FEET_LABEL = "floor(datum.value / 12) + \"'\" + (datum.value % 12) + '\"'"


@dataclass(frozen=True, slots=True)
class Size:
    """A drawing's room: total width [px], columns of panels, font size [px]."""

    width: int
    columns: int
    font: int


WIDE = Size(740, 6, 14)
NARROW = Size(326, 3, 13)


def draw(chart: Any, *, hatched: str = "") -> str:
    """Return an Altair chart as a bare SVG without fixed size, ready to stand in a page.

    Args:
        chart: the drawing.
        hatched: name of the hatching that marks are filled with, see `hatching`.
    """
    import vl_convert

    svg = tidy(vl_convert.vegalite_to_svg(chart.to_dict(), vl_version=_version()))
    return svg.replace("><", f">{_pattern(hatched)}<", 1) if hatched else svg


def hatching(name: str) -> str:
    """Return the fill that stands for a hatching of that name, unique on a page."""
    return f"url(#{name})"


def _pattern(name: str) -> str:
    return (
        f'<defs><pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<path d="M-1,7L7,-1M-1,1L1,-1M5,7L7,5" fill="none" stroke="{US}" stroke-width="1"/>'
        "</pattern></defs>"
    )


@lru_cache(maxsize=1)
def _version() -> str:
    """Return the newest grammar version that both libraries speak."""
    import altair
    import vl_convert

    wanted = altair.SCHEMA_VERSION.removeprefix("v").rsplit(".", 1)[0]
    spoken = vl_convert.get_vegalite_versions()
    return wanted if wanted in spoken else spoken[-1]


def tidy(svg: str) -> str:
    """Return the SVG with its inner roles removed: the page names the picture as one image."""
    body = _EMPTY.sub("", _NOISE.sub("", svg))
    box = re.search(r'viewBox="[^"]*"', body)
    inner = body[body.index(">") + 1 : body.rindex("</svg>")]
    inner = re.sub(r'<rect [^>]*fill="transparent"/>', "", inner)
    return f'<svg xmlns="http://www.w3.org/2000/svg" {box[0] if box else ""}>{inner}</svg>'


def themed(svg: str) -> str:
    """Return the SVG with its colours handed to the page, so that they follow light and dark."""
    for colour, name in THEME.items():
        svg = re.sub(f'"{colour}"', f'"{name}"', svg, flags=re.IGNORECASE)
    return svg


def dressed(chart: Any, size: Size) -> Any:
    """Return the chart with the house's type and lines."""
    return (
        chart.configure(background="transparent", font="sans-serif", padding=4)
        .configure_view(stroke=None)
        .configure_axis(
            labelFontSize=size.font,
            labelColor=INK,
            titleColor=INK,
            titleFontSize=size.font,
            titleFontWeight="normal",
            gridColor=LINE,
            domainColor=GREY,
            tickColor=GREY,
        )
        .configure_header(labelFontSize=size.font, labelColor=INK, titleColor=INK)
    )


def step_for(span: float, scale: Scale, *, wanted: int = 4) -> float:
    """Return a round distance between ticks for a span [printed unit].

    Feet step by whole inches that divide a foot; other units by 1, 2 or 5 times a power of ten.
    """
    steps = (1, 2, 3, 6, 12, 24, 36) if scale.feet else _round_steps(span)
    return next((s for s in steps if span / s <= wanted), steps[-1])


def _round_steps(span: float) -> list[float]:
    power = floor(len(f"{int(span)}")) if span >= 1 else 0
    return [m * 10.0**e for e in range(-3, power + 1) for m in (1, 2, 5)]


def axis_values(low: float, high: float, step: float) -> list[float]:
    """Return the ticks that hold low and high between them."""
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return [round(k * step, 6) for k in range(first, max(last, first + 1) + 1)]


def room(low: float, high: float, step: float) -> tuple[list[float], list[float]]:
    """Return a domain a little wider than the data and the ticks that fall inside it.

    >>> room(1.0, 3.0, 1.0)
    ([0.8, 3.2], [1.0, 2.0, 3.0])
    """
    margin = 0.1 * (high - low) or step / 2
    domain = [round(low - margin, 6), round(high + margin, 6)]
    ticks = axis_values(domain[0], domain[1], step)
    return domain, [t for t in ticks if domain[0] <= t <= domain[1]]


def changes_axis(values: Sequence[float], scale: Scale, *, wanted: int = 5) -> dict[str, Any]:
    """Return an axis for changes that holds no change, each tick with its sign and unit."""
    import altair as alt

    low, high = min([0.0, *values]), max([0.0, *values])
    plain = Scale(scale.unit, scale.factor)
    step = step_for(high - low or 1.0, plain, wanted=wanted)
    domain, ticks = room(low, high, step)
    unit = " in" if scale.feet else ""
    shown = f"(datum.value > 0 ? '+' : '') + {label_expression(plain)} + '{unit}'"
    axis = alt.Axis(values=ticks, labelExpr=shown, labelOverlap=True)
    return {"axis": axis, "scale": alt.Scale(domain=domain, nice=False), "title": None}


def label_expression(scale: Scale) -> str:
    """Return how an axis prints its ticks."""
    return FEET_LABEL if scale.feet else "replace(format(datum.value, '~g'), '-', '−')"


def unit_words(scale: Scale) -> str:
    """Return the printed unit in words, for an axis title or a sentence."""
    if scale.feet:
        return "feet and inches"
    return f"of {scale.of}" if scale.of else scale.unit


def about_today(on: date, first: int, last: int, *, every: int, margin: float) -> dict[str, Any]:
    """Return an axis of days about today, ticks on every so many-th with its date.

    Args:
        on: today.
        first, last: days from today, past ones under nought.
        every: days between two ticks.
        margin: room left at either end [d].
    """
    import altair as alt

    ticks = [d for d in range(-70, last + 1) if not d % every and d >= first]
    named = {d: short_date(on + timedelta(days=d)) if d else "today" for d in ticks}
    pairs = ",".join(f'"{d}":"{text}"' for d, text in named.items())
    axis = alt.Axis(values=ticks, labelExpr=f"({{{pairs}}})[datum.value]", grid=False)
    domain = [first - margin, last + margin]
    return {"axis": axis, "scale": alt.Scale(domain=domain, nice=False), "title": None}
