"""What would settle it? The smallest comparisons for what the record cannot tell apart yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.figures.tosses import tosses_figure
from greenwright.show.learned import Detail
from greenwright.show.page import Section, Table
from greenwright.show.prose import prose

TITLE = "What would settle it?"
_WAYS = {
    "leave": "left out on half of them",
    "give": "done on half of them",
    "turns": "half of them first, half later",
    "weeks": "half of them higher for a week",
}
_NOTE = (
    "What comes of a comparison by toss needs no guess at why the work was done: the toss did it. "
    "The list says who gets it; the look of the greens has no say on these mornings."
)


def settling(held: Sequence[Detail], course: Course, *, pictures: bool) -> Section | None:
    """Return the section that tells which comparisons would settle what is not told apart.

    Args:
        held: effects, the foremost first.
        course: decides the units.
        pictures: with the list of the first comparison as a picture.
    """
    open_ = [one for one in held if one.row["separable"] != "yes" and one.told.get("trial")]
    if not open_:
        return None
    laid = [one for one in open_ if one.told["trial"].get("greens")]
    first = min(laid, key=_clearest, default=None)
    figure = tosses_figure(first) if first is not None and pictures else None
    return Section(
        title=TITLE,
        sentences=tuple(line for line in (_lead(open_, first, course), _none(open_, laid)) if line),
        figure=figure,
        tables=(_table(laid, course),) if laid else (),
        notes=(_NOTE,),
    )


def cost(held: Mapping[str, Any], detail: Detail, course: Course) -> str:
    """Return what a comparison costs in reading and in surface, one sentence."""
    parts = []
    if held.get("readings"):
        parts.append(f"{held['readings']} readings")
    if held.get("minutes"):
        parts.append(f"{formats.hours(held['minutes'] / 60)} of reading")
    surface = surface_words(held, detail, course)
    if surface:
        parts.append(surface)
    return f"It costs {terms.listed(parts)}." if parts else ""


def surface_words(held: Mapping[str, Any], detail: Detail, course: Course) -> str:
    """Return what it changes on the greens that get other work than usual."""
    surface = rows.estimate(held.get("surface_cost"))
    if surface is None:
        return ""
    size = formats.gap(abs(surface.value), surface.unit, detail.outcome, course)
    label = terms.quantity(detail.outcome).lower()
    many, way = held.get("changed"), held.get("way")
    if many is None:
        return f"about {size} of {label} where it is left"
    side = "more" if surface.value > 0 else "less"
    if way == "turns":
        return f"about {size} {side} {label} on the greens that wait, while they wait"
    return f"about {size} {side} {label} on {_green_days(many)}"


def outlook(held: Mapping[str, Any], detail: Detail, course: Course) -> str:
    """Return what would be known afterwards, one sentence; nothing where it was not reckoned."""
    after, chance = held.get("sd_after"), held.get("chance_clear")
    if not after or chance is None:
        return ""
    size = formats.gap(1.645 * _told(after, detail), detail.here.unit, detail.outcome, course)
    return (
        f"After it the effect would be known to about {size} either way by the toss alone, and in "
        f"{formats.chance(chance)} its direction would be sure."
    )


def _told(sd: float, detail: Detail) -> float:
    """Return an sd as the page tells the effect: of a ratio, in per cent."""
    return 100 * sd if detail.here.unit == "%" and detail.outcome in _RATIOS else sd


_RATIOS = ("trueness", "firmness", "clippings")
"""Outcomes whose effects are ratios, told as changes in per cent."""


def _effort(one: Detail) -> tuple[float, float]:
    """Return what sorts comparisons: the work that is changed, then the minutes of reading."""
    held = one.told["trial"]
    return float(held.get("changed") or 0), float(held.get("minutes") or 0)


def _clearest(one: Detail) -> tuple[float, tuple[float, float]]:
    """Return what sorts comparisons by how likely they give a clear direction, in tenths."""
    return -round(10 * float(one.told["trial"].get("chance_clear") or 0)), _effort(one)


def _lead(open_: Sequence[Detail], first: Detail | None, course: Course) -> str:
    named = list(dict.fromkeys(one.act for one in open_))
    what = f"Not settled yet: {terms.listed([n.lower() for n in named])}."
    if first is None:
        return what
    label = terms.quantity(first.outcome).lower()
    text = prose(str(first.told["trial"].get("text") or ""), course)
    return f"{what} The likeliest to give a clear answer is {first.act.lower()}, {label}. {text}"


def _none(open_: Sequence[Detail], laid: Sequence[Detail]) -> str:
    left = [f"{d.act.lower()} and {terms.quantity(d.outcome).lower()}" for d in open_
            if d not in laid]  # fmt: skip
    if not left:
        return ""
    return f"Nothing of up to six weeks would settle {terms.listed(left)}."


def _table(laid: Sequence[Detail], course: Course) -> Table:
    return Table(
        "The smallest comparison for each",
        ("What", "Comparison", "Readings", "Costs", "Then known to", "Direction sure"),
        tuple(_cells(one, course) for one in sorted(laid, key=_effort)),
        frozenset({2}),
        stacked=True,
    )


def _cells(one: Detail, course: Course) -> tuple[str, ...]:
    held = one.told["trial"]
    after, chance = held.get("sd_after"), held.get("chance_clear")
    known = ""
    if after:
        size = formats.gap(1.645 * _told(after, one), one.here.unit, one.outcome, course)
        known = f"{size} either way"
    return (
        f"{one.act}, {terms.quantity(one.outcome).lower()}",
        _comparison(held),
        str(held.get("readings") or ""),
        _costs(held, one, course),
        known,
        "" if chance is None else formats.chance(chance),
    )


def _comparison(held: Mapping[str, Any]) -> str:
    greens = terms.greens([str(g) for g in held["greens"]])
    way, days = _WAYS.get(str(held.get("way")), ""), held.get("days", 1)
    when = (
        "one morning"
        if days == 1
        else f"{days} {'weeks' if held.get('way') == 'weeks' else 'mornings'}"
    )
    return ", ".join(part for part in (greens, way, when) if part)


def _costs(held: Mapping[str, Any], one: Detail, course: Course) -> str:
    surface = rows.estimate(held.get("surface_cost"))
    if surface is None:
        return ""
    told = formats.change(surface, one.outcome, course).split(" (")[0]
    if not held.get("changed"):
        return f"no more work; {told} where it waits"
    return f"{told} on {_green_days(held['changed'])}"


def _green_days(many: int) -> str:
    if not many:
        return "nothing"
    return "one green-day" if many == 1 else f"{many} green-days"
