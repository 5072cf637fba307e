"""One effect reckoned in several ways: elsewhere, plainly compared, here, and with a doubt."""

from __future__ import annotations

from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.figures import frame
from greenwright.show.figures.ranges import Range, ranges_svg
from greenwright.show.learned import Detail
from greenwright.show.page import Figure, Table

LEAST = 4
"""With fewer ways to reckon an effect the sentences say as much as a picture."""
Way = tuple[tuple[str, ...], str, Estimate]


def doubts_figure(detail: Detail, course: Course) -> Figure | None:
    """Return the picture of one effect's reckonings, or nothing when there is only one."""
    held = reckonings(detail)
    if len(held) < LEAST:
        return None
    scale = formats.scale_for(detail.outcome, detail.here.unit, course)
    label = terms.quantity(detail.outcome).lower()
    ranges = [Range(name, kind, one) for name, kind, one in held]
    return Figure(
        key=f"doubts-{detail.row['practice']}-{detail.outcome}".replace("_", "-"),
        title=f"{detail.act}, {label}: reckoned in several ways",
        description=(
            "Each row is one way to reckon what one act changes on the day it is first felt. Grey "
            "square: elsewhere; cross: a plain comparison; blue dot: what we believe here; blue "
            "diamonds: what it would be had the crew gone by the look of the greens less or more "
            "than it seems. The upright line is no change."
        ),
        finding=_finding(detail, course),
        svg=ranges_svg(ranges, scale, frame.WIDE),
        svg_narrow=ranges_svg(ranges, scale, frame.NARROW),
        table=_table(detail, course),
    )


def reckonings(detail: Detail) -> list[Way]:
    """Return each way to reckon an effect on the day it is first felt: name, kind, estimate."""
    first = detail.first
    made: list[Way] = [(("Known from", "elsewhere"), "elsewhere", first.prior)]
    plain, alone = detail.number("plain"), detail.number("readings_alone")
    if plain:
        made.append((("Days with", "against without"), "misled", plain))
    if alone and supposed(detail):
        made.append((("Readings alone,", "reasons left out"), "misled", alone))
    made.append((("Here, as we", "believe it"), "here", first.here))
    return [*made, *supposed(detail)]


def supposed(detail: Detail) -> list[Way]:
    """Return what the effect would be, had the look of the greens called for it otherwise."""
    return [
        (
            ("Look of greens", share_words(one["strength"])),
            "supposed",
            rows.estimate(one["estimate"]),
        )
        for one in detail.told.get("need") or ()
    ]


def share_words(strength: float) -> str:
    """Return how much the look of the greens counts, against how much it seems to.

    >>> share_words(0.0), share_words(0.5), share_words(2.0)
    ('counts nothing', 'counts half', 'counts twice')
    """
    told = {0.0: "nothing", 0.5: "half", 1.0: "as it seems", 2.0: "twice"}
    return f"counts {told.get(strength, f'{strength:g} times')}"


def _finding(detail: Detail, course: Course) -> str:
    plain = detail.number("plain")
    here = formats.change(detail.first.here, detail.outcome, course)
    if plain is None:
        return f"Here we believe {here}."
    told = formats.change(plain, detail.outcome, course)
    return f"A plain comparison says {told}; with the reasons for the work taken in, {here}."


def _table(detail: Detail, course: Course) -> Table:
    cells = tuple(
        (" ".join(name), formats.change(one, detail.outcome, course))
        for name, _, one in reckonings(detail)
    )
    title = f"{detail.act}, {terms.quantity(detail.outcome).lower()}: several ways"
    return Table(title, ("Way", "One act changes"), cells, frozenset({1}))
