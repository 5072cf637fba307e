"""Where the model does not fit a record, in words for whoever keeps the greens."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from greenwright.respond.learning.learned import Misfit
from greenwright.stats.dynamic import DynamicFit, Sign, Surprises, signs, surprises

ALARM = 3.5
"""Score from which a sign is told; right models seldom reach it in any of their dozen signs."""
MOST = 800
"""Last sets that are looked at."""

_SLOPES = {
    "growth": "how they answer to growing weather",
    "leaf": "how much they lose when they are left uncut",
    "wet": "how they take wet and dry days",
    "warm": "how they take warm days",
    "rounds": "how they take play",
    "season_sin": "their course through the year",
    "season_cos": "their course through the year",
}


def misfits(
    fit: DynamicFit, *, first: date, greens: Sequence[str], alarm: float = ALARM
) -> tuple[Misfit, ...]:
    """Return the patterns that a fit to readings alone leaves, the strongest first.

    Args:
        fit: of readings alone.
        first: date of the calendar's day 0.
        greens: names of its units.
        alarm: score from which a sign is told.
    """
    found = surprises(fit, most=MOST)
    told = [
        Misfit(sign.name, sign.score, _words(sign, fit, found, first=first, greens=greens))
        for sign in signs(fit, found)
        if _alarming(sign, alarm)
    ]
    return tuple(sorted(_once(told), key=lambda m: -abs(m.score)))


def _alarming(sign: Sign, alarm: float) -> bool:
    """Return whether a sign is told; tails and slopes alarm on one side only."""
    return sign.score > alarm or (sign.name == "carry-over" and sign.score < -alarm)


def _once(told: Sequence[Misfit]) -> list[Misfit]:
    """Return one sign for each set of words: the strongest."""
    best: dict[str, Misfit] = {}
    for one in told:
        if one.words not in best or abs(one.score) > abs(best[one.words].score):
            best[one.words] = one
    return list(best.values())


def _words(
    sign: Sign, fit: DynamicFit, found: Surprises, *, first: date, greens: Sequence[str]
) -> str:
    if sign.name == "tails":
        where = _farthest(fit, found, first, greens)
        return (
            "Some readings lie far from all that surrounds them, more than chance brings: slips "
            f"of the pen, or something that was not written down. The farthest is {where}."
        )
    if sign.name == "step":
        return (
            f"Around {_day(first, sign.day or 0)} the whole course changed its level and kept it, "
            "more than weather and written work explain: another instrument or way of reading, "
            "another mower, or work that was not written down."
        )
    if sign.name == "unit step":
        return (
            f"Around {_day(first, sign.day or 0)} {_named(sign.units, greens)} changed its level "
            "against the others and kept it: new turf, another treatment, or work that was not "
            "written down."
        )
    if sign.name == "carry-over":
        slower = "longer" if sign.score > 0 else "shorter"
        return f"What moves a single green lasts {slower} here than the model allows for."
    about = _SLOPES.get(sign.name.removeprefix("own slope on "), "how they answer to the weather")
    return f"Greens differ in {about}, more than one effect for all of them allows for."


def _farthest(fit: DynamicFit, found: Surprises, first: date, greens: Sequence[str]) -> str:
    row = int(found.row[int(np.abs(found.value).argmax())])
    rows = fit.layout.rows
    return f"green {greens[int(rows.unit[row])]} on {_day(first, int(rows.day[row]))}"


def _named(units: Sequence[int], greens: Sequence[str]) -> str:
    """Return the green whose step is plainest, and how many went with it."""
    more = len(units) - 1
    beside = "" if not more else f" (and {more} other{'' if more == 1 else 's'} with it)"
    return f"green {greens[units[0]]}{beside}"


def _day(first: date, day: int) -> str:
    when = first + timedelta(days=day)
    return f"{when.day} {when:%B %Y}"
