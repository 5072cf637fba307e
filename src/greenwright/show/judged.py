"""Reading the rows of `track`: what was promised, what came, against which simple rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from greenwright.base.answer import Answer
from greenwright.show import rows

REFERENCES = {
    "persistence": "as today",
    "climatology": "usual for the season",
    "seasonal-naive": "same day last year",
    "last-reading-plus-trend": "last reading and trend",
}
"""The simple rules that a forecast must beat."""
RULES = {
    "persistence": "nothing changes from the last reading",
    "climatology": "the usual level of this season",
    "seasonal-naive": "what was read about this day last year",
    "last-reading-plus-trend": "the last reading, carried on by its trend",
}
BEST = "best"
EVERY = "every"
"""Stands for all quantities together."""


@dataclass(frozen=True, slots=True)
class Held:
    """How often ranges of one promise held: share promised, share held, of how many."""

    quantity: str
    promised: float
    held: float
    n: int


@dataclass(frozen=True, slots=True)
class Skill:
    """How much smaller the miss was than a simple rule's: 0 = no better, 1 = no miss at all."""

    quantity: str
    days: int
    against: str
    value: float
    n: int


def quantities_of(answer: Answer) -> list[str]:
    """Return the quantities that were judged, speed and smoothness first."""
    told = dict.fromkeys(str(row["quantity"]) for row in answer.findings if row.get("quantity"))
    return [*(q for q in rows.FIRST if q in told), *(q for q in told if q not in rows.FIRST)]


def coverage(answer: Answer, quantity: str = "") -> list[Held]:
    """Return how often each promise held, over all days ahead, smallest promise first.

    Args:
        answer: of track.
        quantity: one of them; all together when nothing is said.
    """
    found: dict[float, list[rows.Row]] = {}
    for row in _what(answer, "coverage", quantity):
        if row.get("level") is not None and row.get("n"):
            found.setdefault(float(row["level"]), []).append(row)
    return [_together(quantity or EVERY, level, found[level]) for level in sorted(found)]


def _together(quantity: str, level: float, held: Sequence[rows.Row]) -> Held:
    """Return rows of one promise as one: the row over all days where there is one."""
    whole = [row for row in held if row.get("horizon_days") is None]
    used = whole or held
    n = sum(int(row["n"]) for row in used)
    share = sum(row["value"] * row["n"] for row in used) / n
    return Held(quantity, level, share, n)


def skills(answer: Answer, quantity: str) -> list[Skill]:
    """Return the skill over each simple rule, nearest day first."""
    made = [
        Skill(
            quantity,
            int(row["horizon_days"] or 0),
            str(row.get("against") or BEST).replace("_", "-"),
            float(row["value"]),
            int(row.get("n") or 0),
        )
        for row in _what(answer, "skill", quantity)
        if row.get("value") is not None
    ]
    order = [BEST, *REFERENCES]
    return sorted(made, key=lambda s: (s.days, order.index(s.against) if s.against in order else 9))


def worst_rule(among: Sequence[Skill]) -> dict[int, Skill]:
    """Return for each number of days the skill over the best of the simple rules."""
    found: dict[int, Skill] = {}
    for one in among:
        held = found.get(one.days)
        if held is None or (held.against != BEST and one.value < held.value):
            found[one.days] = one
    return found


def errors(answer: Answer, quantity: str) -> list[rows.Row]:
    """Return the rows of the mean error, nearest day first."""
    held = [r for r in _what(answer, "mean_error", quantity) if r.get("value") is not None]
    return sorted(held, key=lambda row: row.get("horizon_days") or 0)


def gain(answer: Answer) -> rows.Row | None:
    """Return the row of what came of what was predicted, where there is one."""
    return next((r for r in _what(answer, "gain_slope") if r.get("value") is not None), None)


def _what(answer: Answer, what: str, quantity: str = "") -> list[rows.Row]:
    return [
        row
        for row in answer.findings
        if row["what"] == what and (not quantity or row.get("quantity") == quantity)
    ]
