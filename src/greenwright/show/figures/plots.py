"""The plan of a trial as a drawing: greens down, periods or plots across, the way in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from greenwright.base.answer import Answer
from greenwright.show import rows, terms
from greenwright.show.dates import short_date
from greenwright.show.figures import frame
from greenwright.show.page import Figure, Table

HEIGHT, HEAD = 34, 30
TINTS = ((frame.US, 0.16), (frame.OUTSIDE, 0.16), (frame.GREY, 0.18), (frame.US, 0.34))
"""Fill of each way; the way is also written in every plot."""

Row = Mapping[str, Any]


def plan_figure(answer: Answer, *, blind: bool = False) -> Figure | None:
    """Return the plan drawn; blind = with codes in place of the ways, for the field sheet."""
    plan = answer.more.get("plan") or ()
    if not plan:
        return None
    ways = answer.more["trial"]["treatments"]
    return Figure(
        key="plan-blind" if blind else "plan",
        title="Where each code is read" if blind else "What each green gets, and when",
        description="One row for each green, one box for each period or half, from left to right. "
        "Each box says in words what is done there.",
        finding=_finding(answer, plan),
        svg=_svg(plan, ways, frame.WIDE, blind=blind),
        svg_narrow=_svg(plan, ways, frame.NARROW, blind=blind),
        table=plan_table(plan, blind=blind),
    )


def _finding(answer: Answer, plan: Sequence[Row]) -> str:
    trial = answer.more["trial"]
    greens = dict.fromkeys(row["green"] for row in plan)
    return (
        f"{len(plan)} plots on {len(greens)} greens, dealt by lot with seed {trial['seed']}; "
        "the same seed draws the same plan again."
    )


def plan_table(plan: Sequence[Row], *, blind: bool = False) -> Table:
    """Return the plan as a table; the field sheet has codes and room for the reading."""
    what = "Code" if blind else "Gets"
    cells = tuple(
        (
            terms.greens([row["green"]]).capitalize() + (f", half {row['part']}" if row.get("part")
                                                        else ""),
            f"{short_date(rows.day(row['from']))} – {short_date(rows.day(row['until']))}",
            row["code"] if blind else row["treatment"] + _phase(row),
            ("" if blind else ("yes" if row["read"] else "not yet")),
        )
        for row in plan
    )  # fmt: skip
    title = "Field sheet, to be read unseen" if blind else "The plan"
    return Table(title, ("Where", "Days", what, "Reading" if blind else "Read"), cells)


def _phase(row: Row) -> str:
    return " (before it begins: as usual)" if row.get("phase") == "before" else ""


def _columns(plan: Sequence[Row]) -> dict[str, list[Row]]:
    held: dict[str, list[Row]] = {}
    for row in plan:
        held.setdefault(row["green"], []).append(row)
    return held


def _svg(plan: Sequence[Row], ways: Sequence[str], size: frame.Size, *, blind: bool) -> str:
    held = _columns(plan)
    wide = max(len(one) for one in held.values())
    left = 74 if size.width > 500 else 44
    width = (size.width - left - 4) / wide
    parts = [_heads(next(iter(held.values())), left, width, size)]
    for place, (green, mine) in enumerate(held.items()):
        top = HEAD + place * HEIGHT
        name = f"Green {green}" if size.width > 500 else green
        parts.append(_text(0, top + 21, name, size))
        for k, row in enumerate(mine):
            parts.append(_box(row, ways, size, place=(left + k * width, top, width), blind=blind))
    tall = HEAD + len(held) * HEIGHT + 6
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size.width} {tall}">'
        f"{''.join(parts)}</svg>"
    )


def _heads(first: Sequence[Row], left: float, width: float, size: frame.Size) -> str:
    made = []
    for k, row in enumerate(first):
        told = f"half {row['part']}" if row.get("part") else row.get("phase") or short_date(
            rows.day(row["from"])
        )  # fmt: skip
        made.append(
            _text(left + k * width + 4, 18, _fit(told, width, size), size, colour=frame.GREY)
        )
    return "".join(made)


def _box(
    row: Row,
    ways: Sequence[str],
    size: frame.Size,
    *,
    place: tuple[float, float, float],
    blind: bool,
) -> str:  # fmt: skip
    x, y, width = place
    before = row.get("phase") == "before"
    colour, opacity = TINTS[ways.index(row["treatment"]) % len(TINTS)]
    told = row["code"] if blind else ("as usual" if before else row["treatment"])
    fill = "none" if blind or before else colour
    return (
        f'<rect x="{x:.1f}" y="{y}" width="{width - 4:.1f}" height="{HEIGHT - 5}" fill="{fill}" '
        f'fill-opacity="{opacity}" stroke="{frame.LINE}" stroke-width="1"/>'
        + _text(x + 5, y + 20, _fit(told, width - 8, size), size)
    )


def _fit(text: str, width: float, size: frame.Size) -> str:
    room = max(2, int(width / (0.56 * size.font)))
    return text if len(text) <= room else text[: room - 1] + "…"


def _text(x: float, y: float, text: str, size: frame.Size, *, colour: str = frame.INK) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-family="sans-serif" font-size="{size.font}px" '
        f'fill="{colour}">{escape(text)}</text>'
    )
