"""How much nearer the forecasts came than four simple rules, by days ahead."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.show import judged, terms
from greenwright.show.dates import after
from greenwright.show.figures import frame
from greenwright.show.formats import MINUS, number
from greenwright.show.page import Figure, Table

ROW = 21
SPACE = 26
LOWEST = -60.0
"""Skill under this is drawn at the edge: how bad a rule beat us is in the table [of 100]."""


def skill_figure(answer: Answer, quantity: str) -> Figure | None:
    """Return the picture of one quantity's skill, or nothing while nothing was judged."""
    held = judged.skills(answer, quantity)
    if not held:
        return None
    label, shown = terms.quantity(quantity), _single(held)
    return Figure(
        key=f"skill-{quantity}".replace("_", "-"),
        title=f"{label}: better than a simple rule?",
        description=(
            "One block for each number of days ahead, one row for each simple rule. The dot is by "
            "how much our miss was smaller than the rule's [%]. Right of the "
            "upright line: we were nearer; left of it (a triangle): the rule was."
        ),
        finding=finding(held),
        svg=_svg(shown, frame.WIDE),
        svg_narrow=_svg(shown, frame.NARROW),
        table=_table(shown, label),
    )


def skill_table(answer: Answer, quantity: str) -> Table | None:
    """Return one quantity's skill as a table, or nothing while nothing was judged."""
    held = judged.skills(answer, quantity)
    return _table(_single(held), terms.quantity(quantity)) if held else None


def _single(held: Sequence[judged.Skill]) -> list[judged.Skill]:
    """Return the rules one by one; the best of them only where it stands alone."""
    named = {one.days for one in held if one.against != judged.BEST}
    return [one for one in held if one.against != judged.BEST or one.days not in named]


def finding(held: Sequence[judged.Skill]) -> str:
    """Return how far ahead the forecasts beat every simple rule."""
    hardest = judged.worst_rule(held)
    told = [days for days, one in hardest.items() if one.value > 0]
    lost = [days for days, one in hardest.items() if one.value <= 0]
    if not told:
        return "So far the best of the simple rules did as well as our forecasts or better."
    best = max(told, key=lambda days: hardest[days].value)
    share = round(100 * hardest[best].value)
    text = f"Against the best of the simple rules our miss was {share} % smaller {_ahead(best)}"
    if not lost:
        return f"{text}, and smaller at every distance judged."
    return f"{text}; not so {terms.listed([_ahead(days) for days in lost])}."


def _ahead(days: int) -> str:
    return "a day ahead" if days == 1 else f"{days} days ahead"


def _name(one: judged.Skill) -> str:
    return judged.REFERENCES.get(one.against, "the best of them")


def _table(held: Sequence[judged.Skill], label: str) -> Table:
    cells = tuple(
        (
            after(one.days),
            _name(one),
            f"{number(100 * one.value, 0, signed=True)} %",
            f"{one.n:,}",
        )
        for one in held
    )
    head = ("Seen", "Simple rule", "Miss smaller by", "Readings")
    return Table(f"{label}: better than a simple rule?", head, cells, frozenset({2, 3}))


def _svg(held: Sequence[judged.Skill], size: frame.Size) -> str:
    import altair as alt

    days = list(dict.fromkeys(one.days for one in held))
    columns = 2 if size.width > 500 and len(days) > 1 else 1
    left = int(7.0 * max(len(_name(one)) for one in held)) + 14
    width = (size.width - columns * (left + 14)) // columns - 6
    panels = []
    for place, day in enumerate(days):
        mine = [one for one in held if one.days == day]
        title = alt.TitleParams(
            after(day).capitalize(), anchor="start", fontSize=size.font, color=frame.INK
        )
        last = place >= len(days) - columns
        chart = _panel(mine, left, shown=last)
        panels.append(chart.properties(width=width, height=ROW * len(mine) + 8, title=title))
    joined = alt.concat(*panels, columns=columns, spacing=SPACE - 12)
    return frame.draw(frame.dressed(joined, size))


def _panel(mine: Sequence[judged.Skill], left: int, *, shown: bool) -> Any:
    import altair as alt

    values = [
        {
            "rule": _name(one),
            "zero": 0,
            "skill": min(max(100 * one.value, LOWEST), 100.0),
            "side": "nearer" if one.value > 0 else "further",
        }
        for one in mine
    ]
    text = f"replace(datum.label, '-', '{MINUS}')" if shown else "''"
    axis_x = alt.Axis(values=[-50, 0, 50, 100], labelExpr=text, labelFlush=False)
    domain = alt.Scale(domain=[LOWEST - 4, 104], nice=False)
    x = {"scale": domain, "axis": axis_x, "title": None}
    axis = alt.Axis(title=None, ticks=False, domain=False, minExtent=left - 8, labelLimit=left)
    sides = ["nearer", "further"]
    colour = alt.Color(
        "side:N", legend=None, scale=alt.Scale(domain=sides, range=[frame.US, frame.OUTSIDE])
    )
    shapes = alt.Scale(domain=sides, range=["circle", "triangle-left"])
    base = alt.Chart(alt.Data(values=values)).encode(y=alt.Y("rule:N", sort=None, axis=axis))
    return alt.layer(
        base.mark_rule(strokeWidth=5, opacity=0.35).encode(
            x=alt.X("zero:Q", **x), x2="skill:Q", color=colour
        ),
        alt.Chart(alt.Data(values=[{"zero": 0}]))
        .mark_rule(color=frame.INK)
        .encode(x=alt.X("zero:Q", **x)),
        base.mark_point(filled=True, size=60, opacity=1).encode(
            x=alt.X("skill:Q", **x),
            color=colour,
            shape=alt.Shape("side:N", scale=shapes, legend=None),
        ),
    )
