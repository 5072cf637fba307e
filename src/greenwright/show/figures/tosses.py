"""Who gets it on which morning of a comparison, and who goes without."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from greenwright.show import terms
from greenwright.show.dates import short_date, week_date
from greenwright.show.figures import frame
from greenwright.show.learned import Detail
from greenwright.show.page import Figure, Table

ROW = 22
LEFT = 58
GIVEN = "gets it"
WITHOUT = "goes without"


def tosses_figure(detail: Detail) -> Figure | None:
    """Return the list of a comparison as a picture, or nothing where there is none.

    Args:
        detail: the effect, with the comparison that would settle it.
    """
    held = detail.told.get("trial") or {}
    mornings = held.get("mornings") or ()
    if not mornings:
        return None
    greens = [str(g) for g in held["greens"]]
    label = terms.quantity(detail.outcome).lower()
    return Figure(
        key=f"tosses-{detail.row['practice']}-{detail.outcome}".replace("_", "-"),
        title=f"Who gets it when: {detail.act.lower()}, {label}",
        description=(
            "Mornings run to the right, greens down in playing order. A full dot: the green gets "
            "it; an empty ring: it goes without."
        ),
        finding=_finding(detail, mornings, greens),
        svg=_svg(mornings, greens, frame.WIDE),
        svg_narrow=_svg(mornings, greens, frame.NARROW),
        table=_table(detail, mornings),
    )


def day_of(held: Mapping[str, Any]) -> date:
    """Return the day of a morning, written or not."""
    when = held["date"]
    return when if isinstance(when, date) else date.fromisoformat(str(when))


def _finding(detail: Detail, mornings: Sequence[Mapping[str, Any]], greens: Sequence[str]) -> str:
    days = [day_of(m) for m in mornings]
    half = " or ".join(str(n) for n in sorted({len(m["given"]) for m in mornings}))
    if len(days) == 1:
        return f"{detail.act}: {half} of {len(greens)} greens get it on {week_date(days[0])}."
    first = terms.greens([str(g) for g in mornings[0]["given"]])
    if len(days) == 2:
        told = f"{first[:1].upper()}{first[1:]} get it on {week_date(days[0])}"
        return f"{told}, the others on {week_date(days[1])}."
    return (
        f"{detail.act}: {half} of {len(greens)} greens get it on {len(days)} mornings from "
        f"{week_date(days[0])} to {week_date(days[-1])}, first {first}."
    )


def _table(detail: Detail, mornings: Sequence[Mapping[str, Any]]) -> Table:
    cells = tuple(
        (
            week_date(day_of(m)),
            terms.greens([str(g) for g in m["given"]]) if m["given"] else "none",
            terms.greens([str(g) for g in m["left"]]) if m["left"] else "none",
        )
        for m in mornings
    )
    title = f"{detail.act}: the list to keep to"
    return Table(title, ("Morning", "Gets it", "Goes without"), cells, stacked=True)


def _svg(mornings: Sequence[Mapping[str, Any]], greens: Sequence[str], size: frame.Size) -> str:
    import altair as alt

    days = [short_date(day_of(m)) for m in mornings]
    values = [
        {"day": day, "green": green, "gets": GIVEN if green in given else WITHOUT}
        for day, m in zip(days, mornings, strict=True)
        for given in [{str(g) for g in m["given"]}]
        for green in greens
    ]
    plain = {"ticks": False, "domain": False}
    across = alt.Axis(orient="top", labelAngle=0, grid=False, labelOverlap="parity", **plain)
    down = alt.Axis(grid=True, minExtent=LEFT - 30, **plain)
    x = alt.X("day:O", sort=days, title=None, axis=across)
    y = alt.Y("green:O", sort=list(greens), title="Green", axis=down)
    base = alt.Chart(alt.Data(values=values)).encode(x=x, y=y)
    chart = alt.layer(
        base.transform_filter(f"datum.gets == '{GIVEN}'").mark_point(
            filled=True, size=110, opacity=1, color=frame.US
        ),
        base.transform_filter(f"datum.gets == '{WITHOUT}'").mark_point(
            filled=False, size=80, opacity=1, color=frame.GREY, strokeWidth=1.5
        ),
    )
    fitted = chart.properties(width=size.width - LEFT - 12, height=ROW * len(greens))
    return frame.draw(frame.dressed(fitted, size))
