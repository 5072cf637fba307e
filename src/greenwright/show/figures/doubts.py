"""One effect reckoned in several ways: elsewhere, plainly compared, here, and with a doubt."""

from __future__ import annotations

from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures import frame
from greenwright.show.figures.ranges import Range, ranges_svg
from greenwright.show.learned import Detail
from greenwright.show.page import Figure, Table

STRENGTHS = ("a little", "partly", "largely")
"""By how much the crew may have gone by something never written, in the answer's order."""
Way = tuple[tuple[str, ...], str, Estimate]


def doubts_figure(detail: Detail, course: Course) -> Figure | None:
    """Return the picture of one effect's reckonings, or nothing when there is only one."""
    held = reckonings(detail)
    if len(held) < 3:
        return None
    scale = formats.scale_for(detail.outcome, detail.here.unit, course)
    label = terms.quantity(detail.outcome).lower()
    ranges = [Range(name, kind, one) for name, kind, one in held]
    return Figure(
        key=f"doubts-{detail.row['practice']}-{detail.outcome}".replace("_", "-"),
        title=f"{detail.act}, {label}: reckoned in several ways",
        description=(
            f"Each row is one way to reckon what one act changes {_seen(detail)}. Grey square: "
            "elsewhere; cross: a plain comparison of days with and without; blue dot: what we "
            "believe here; blue diamonds: what it would be had the crew also gone by something "
            "they saw and nobody wrote down. The upright line is no change."
        ),
        finding=_finding(detail, course),
        svg=ranges_svg(ranges, scale, frame.WIDE),
        svg_narrow=ranges_svg(ranges, scale, frame.NARROW),
        table=_table(detail, course),
    )


def _seen(detail: Detail) -> str:
    return after(detail.row["horizon_days"])


def reckonings(detail: Detail) -> list[Way]:
    """Return each way to reckon an effect: lines of its name, its kind, the estimate."""
    made: list[Way] = [(("Known from", "elsewhere"), "elsewhere", detail.prior)]
    plain, alone = detail.number("plain"), detail.number("readings_alone")
    if plain:
        made.append((("Days with", "against without"), "misled", plain))
    if alone:
        made.append((("Readings alone,", "no reasons"), "misled", alone))
    made.append((("Here, as we", "believe it"), "here", detail.here))
    return [*made, *supposed(detail)]


def supposed(detail: Detail) -> list[Way]:
    """Return what the effect would be, had the crew gone by something never written."""
    told = detail.told.get("need") or ()
    return [
        (("Unwritten need", f"went in {word}"), "supposed", rows.estimate(one["estimate"]))
        for word, one in zip(STRENGTHS, told, strict=False)
    ]


def _finding(detail: Detail, course: Course) -> str:
    plain = detail.number("plain")
    here = formats.change(detail.here, detail.outcome, course)
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
