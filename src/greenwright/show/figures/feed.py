"""Pictures of feeding: nitrogen through the year, and soils against their thresholds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import feeding, formats, rows
from greenwright.show.dates import MONTHS
from greenwright.show.figures import frame
from greenwright.show.formats import Scale
from greenwright.show.page import Figure, Table

ROW = 22
HIGH = 150
SHORT = 70
LETTER = 7.2


def year_figure(answer: Answer, keys: Sequence[str], course: Course) -> Figure | None:
    """Return growth, need and what was given by month, of groups that are alike."""
    held = feeding.nitrogen(answer, keys[0]) if keys else ()
    if not held:
        return None
    every = len(answer.more.get("groups") or ())
    where = feeding.listed_groups(keys, every)
    scale = formats.scale_for("", "g/m2", course)
    return Figure(
        key=f"nitrogen-{keys[0].removeprefix('group:')}",
        title=f"Nitrogen through the year, {where}",
        description=(
            "Above: growth potential by month, from nought to full. Below: what growth asks for "
            f"in nitrogen [{scale.unit}] as a bar with its range as a line, and what was given "
            "as a diamond. A month without weather in the record is an empty bar from nought to "
            "the ceiling."
        ),
        finding=_finding(held, course),
        svg=_year_svg(held, scale, frame.WIDE),
        svg_narrow=_year_svg(held, scale, frame.NARROW),
        table=_year_table(held, course),
    )


def _finding(held: Sequence[rows.Row], course: Course) -> str:
    known = [r for r in held if r["verdict"] != "test first"]
    if not known:
        return "No month's weather is in the record: nothing can be said of growth yet."
    top = max(known, key=lambda r: rows.estimate(r["need"]).value)
    most = formats.level(rows.estimate(top["need"]), "", course)
    quiet = sum(r["verdict"] == "not needed" for r in known)
    tail = f"; in {quiet} months growth asks for less than a pass brings" if quiet else ""
    return f"Growth asks for most in {feeding.month_name(top['month'])}, {most}{tail}."


def _year_table(held: Sequence[rows.Row], course: Course) -> Table:
    cells = tuple(
        (
            feeding.month_name(r["month"]),
            "not known" if r["growth_potential"] is None else f"{r['growth_potential']:.2f}",
            formats.level(rows.estimate(r["need"]), "", course),
            feeding.rate(r["given"], course) if r["given"] else "–",
            feeding.SHAPES[r["verdict"]],
        )
        for r in held
    )
    head = ("Month", "Growth potential", "Growth asks for", "Given", "Nitrogen")
    return Table("Nitrogen by month", head, cells, frozenset({1, 2, 3}))


def _year_values(held: Sequence[rows.Row], scale: Scale) -> list[dict[str, Any]]:
    made = []
    for r in held:
        need = rows.estimate(r["need"])
        made.append(
            {
                "month": MONTHS[r["month"] - 1][:3],
                "known": r["growth_potential"] is not None,
                "growth": r["growth_potential"] or 0.0,
                "need": scale.shown(need.value),
                "low": scale.shown(need.low),
                "high": scale.shown(need.high),
                "given": scale.shown(r["given"]),
            }
        )
    return made


def _year_svg(held: Sequence[rows.Row], scale: Scale, size: frame.Size) -> str:
    import altair as alt

    values = _year_values(held, scale)
    names = [m[:3] for m in MONTHS]
    width = size.width - 62
    text = "slice(datum.label, 0, 1)" if size.width < 400 else "datum.label"
    months = alt.Axis(title=None, labelAngle=0, labelExpr=text, ticks=False)
    bare = alt.Axis(title=None, labels=False, ticks=False)
    data = alt.Chart(alt.Data(values=values))

    def across(axis: Any) -> Any:
        return alt.X("month:N", sort=names, axis=axis, scale=alt.Scale(domain=names, padding=0.25))

    grown = alt.Axis(values=[0, 0.5, 1], title="Growth", format="~g")
    above = data.mark_bar(color=frame.GREY, opacity=0.45).encode(
        x=across(bare), y=alt.Y("growth:Q", axis=grown, scale=alt.Scale(domain=[0, 1]))
    )
    top = max(max(v["high"], v["given"]) for v in values) * 1.05 or 1.0
    y = {"axis": alt.Axis(title=f"N, {scale.unit}", tickCount=4, format="~g")}
    y["scale"] = alt.Scale(domain=[0, top], nice=False)
    known = data.transform_filter("datum.known")
    unknown = data.transform_filter("!datum.known")
    below = alt.layer(
        known.mark_bar(color=frame.US, opacity=0.4).encode(
            x=across(months), y=alt.Y("need:Q", **y)
        ),
        unknown.mark_bar(fillOpacity=0, stroke=frame.GREY, strokeDash=[3, 3]).encode(
            x=across(months), y=alt.Y("low:Q", **y), y2="high:Q"
        ),
        known.mark_rule(color=frame.US, strokeWidth=2).encode(
            x=across(months), y=alt.Y("low:Q", **y), y2="high:Q"
        ),
        data.transform_filter("datum.given > 0")
        .mark_point(shape="diamond", filled=True, size=70, color=frame.INK, opacity=1)
        .encode(x=across(months), y=alt.Y("given:Q", **y)),
    )
    joined = alt.vconcat(
        above.properties(width=width, height=SHORT),
        below.properties(width=width, height=HIGH),
        spacing=8,
    )
    return frame.draw(frame.dressed(joined, size))


def soil_figure(answer: Answer, course: Course) -> Figure | None:
    """Return the soil contents of each element and group against both sources' thresholds."""
    held = [n for n in feeding.elements(answer) if n.content is not None]
    if not held:
        return None
    return Figure(
        key="soil",
        title="The soil, element by element",
        description=(
            "One block an element, one row a group: the tested content [mg/kg, Mehlich-3] with "
            "its range; a ring where it is borrowed from other greens. The solid upright line is "
            "the minimum guideline, the dashed one where classical sufficiency begins."
        ),
        finding=_soil_finding(held),
        svg=_soil_svg(held, frame.WIDE),
        svg_narrow=_soil_svg(held, frame.NARROW),
        table=_soil_table(held, course),
    )


def _minimum(one: feeding.Need, place: int) -> float:
    return float(one.row["against"][place]["low"])


def _soil_finding(held: Sequence[feeding.Need]) -> str:
    under = [n for n in held if n.content is not None and n.content.value < _minimum(n, 0)]
    if not under:
        return "No content that was tested is under the minimum guideline."
    told = dict.fromkeys(feeding.element_name(n.element).lower() for n in under)
    return f"Under the minimum guideline somewhere: {', '.join(told)}."


def _soil_table(held: Sequence[feeding.Need], course: Course) -> Table:
    cells = tuple(
        (
            feeding.element_name(n.element),
            feeding.group_name(n.group),
            formats.level(n.content, "", course) if n.content else "",
            *(f"{_minimum(n, k):g}" for k in (0, 1)),
            f"{100 * n.row['index']:.0f} of 100" if n.row.get("index") is not None else "",
        )
        for n in held
    )
    head = (
        "Element", "Where", "Test, mg/kg", "Minimum guideline", "Classical sufficiency from",
        "Good soils that hold more",
    )  # fmt: skip
    return Table("Soil tests against their thresholds", head, cells, frozenset({2, 3, 4, 5}))


def _soil_svg(held: Sequence[feeding.Need], size: frame.Size) -> str:
    import altair as alt

    names = list(dict.fromkeys(n.element for n in held))
    columns = min(3 if size.width > 500 else 1, len(names))
    groups = list(dict.fromkeys(feeding.group_name(n.group) for n in held))
    left = int(LETTER * max(len(g) for g in groups)) + 12
    width = (size.width - (left + 22) * columns) // columns
    panels = [
        _panel([n for n in held if n.element == e], groups, left).properties(
            width=width,
            height=ROW * len(groups) + 6,
            title=alt.TitleParams(
                feeding.element_name(e), anchor="start", fontSize=size.font, color=frame.INK
            ),
        )
        for e in names
    ]
    joined = alt.concat(*panels, columns=columns, spacing=12)
    return frame.draw(frame.dressed(joined, size))


def _panel(mine: Sequence[feeding.Need], groups: Sequence[str], left: int) -> Any:
    import altair as alt

    values = [
        {
            "group": feeding.group_name(n.group),
            "low": n.content.low,
            "value": n.content.value,
            "high": n.content.high,
            "borrowed": bool(n.row.get("borrowed")),
        }
        for n in mine
        if n.content is not None
    ]
    ends = [_minimum(mine[0], k) for k in (0, 1)]
    top = 1.08 * max([*(v["high"] for v in values), *ends])
    x = {
        "scale": alt.Scale(domain=[0, top], nice=False),
        "axis": alt.Axis(title=None, tickCount=3, format=".0f", labelOverlap=True),
    }
    axis = alt.Axis(title=None, ticks=False, domain=False, minExtent=left - 8, labelLimit=left)
    base = alt.Chart(alt.Data(values=values)).encode(
        y=alt.Y("group:N", sort=list(groups), axis=axis, scale=alt.Scale(domain=list(groups)))
    )
    marks = [
        base.mark_rule(strokeWidth=6, opacity=0.35, color=frame.US).encode(
            x=alt.X("low:Q", **x), x2="high:Q"
        )
    ]
    for filled in (True, False):
        wanted = "!datum.borrowed" if filled else "datum.borrowed"
        marks.append(
            base.transform_filter(wanted)
            .mark_point(filled=filled, size=60, opacity=1, color=frame.US)
            .encode(x=alt.X("value:Q", **x))
        )
    for place, dash in ((0, [1, 0]), (1, [4, 3])):
        line = alt.Chart(alt.Data(values=[{"at": ends[place]}]))
        marks.append(
            line.mark_rule(color=frame.INK, strokeDash=dash, strokeWidth=1.5).encode(
                x=alt.X("at:Q", **x)
            )
        )
    return alt.layer(*marks)
