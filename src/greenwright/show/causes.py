"""Reading the rows of `why`: parts of a change, in order, for one green and quantity."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import rows, terms

WORK = "work:"
UNEXPLAINED = "unexplained"
SMALL = "small"
"""Stands for small parts of work drawn as one."""
FEW = 6
"""Parts of work that a picture has room for."""
LEAST = 0.04
"""Work under this share of the largest part is drawn with the other small ones."""
TOTAL = "total"
_ORDER = ("weather", "growth", "green", UNEXPLAINED)
_NAMES = {
    "weather": "Weather",
    "growth": "Growth and season",
    "green": "The green itself",
    UNEXPLAINED: "Unexplained",
}


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a change and what it is called."""

    key: str
    name: str
    held: Estimate


@dataclass(frozen=True, slots=True)
class Split:
    """One change, split.

    Args:
        green, quantity, method: of what.
        frm, until: the two days.
        against: the green that it is compared with, where two greens are compared.
        parts: in the order in which they are told; they add up to the total.
        total: the whole change.
        then, now: levels at both ends, where the answer gives them.
    """

    green: str
    quantity: str
    method: str
    frm: date
    until: date
    against: str
    parts: tuple[Part, ...]
    total: Estimate
    then: Estimate | None
    now: Estimate | None

    def drawn(self) -> list[Part]:
        """Return the parts with small ones of work as one; their ranges are not added up."""
        work = [part for part in self.parts if part.key.startswith(WORK)]
        rest = [part for part in self.parts if not part.key.startswith(WORK)]
        top = max((abs(part.held.value) for part in self.parts), default=0.0)
        kept = [part for part in work if abs(part.held.value) >= LEAST * top][:FEW]
        small = [part for part in work if part not in kept]
        if len(small) == 1:
            return [*work, *rest]
        total = sum(part.held.value for part in small)
        alone = Estimate(total, self.total.unit, 0.0, total, total)
        joint = [Part(SMALL, f"{len(small)} more kinds of work", alone)] if small else []
        return [*kept, *joint, *rest]

    def largest(self) -> list[Part]:
        """Return the parts but for the unexplained one, the largest first."""
        known = [part for part in self.parts if part.key != UNEXPLAINED]
        return sorted(known, key=lambda part: -abs(part.held.value))


def splits(answer: Answer) -> tuple[Split, ...]:
    """Return every change that the answer splits, speed and smoothness first."""
    found: dict[tuple[str, str, str], list[rows.Row]] = {}
    for row in answer.findings:
        key = (row["quantity"], row.get("method") or "", str(row["green"]))
        found.setdefault(key, []).append(row)
    made = [_split(answer, held) for held in found.values()]
    kept = [one for one in made if one is not None]
    return tuple(sorted(kept, key=lambda one: _place(one.quantity)))


def _place(quantity: str) -> int:
    return rows.FIRST.index(quantity) if quantity in rows.FIRST else len(rows.FIRST)


def _split(answer: Answer, held: Sequence[rows.Row]) -> Split | None:
    by_part = {str(row["part"]): row for row in held}
    whole = by_part.get(TOTAL)
    if whole is None:
        return None
    told = [key for key in by_part if key.startswith(WORK)]
    told.sort(key=lambda key: -abs(rows.estimate(by_part[key]["estimate"]).value))
    told += [key for key in _ORDER if key in by_part]
    parts = (Part(key, name_of(key), rows.estimate(by_part[key]["estimate"])) for key in told)
    ends = _ends(answer, whole)
    return Split(
        green=str(whole["green"]),
        quantity=whole["quantity"],
        method=whole.get("method") or "",
        frm=rows.day(whole["from"]),
        until=rows.day(whole["to"]),
        against=str(answer.more.get("against") or ""),
        parts=tuple(part for part in parts if part.held.value or part.held.sd),
        total=rows.estimate(whole["estimate"]),
        then=ends[0],
        now=ends[1],
    )


def name_of(part: str) -> str:
    """Return what a part is called.

    >>> name_of("work:roll"), name_of("weather")
    ('Roll', 'Weather')
    """
    if part.startswith(WORK):
        return terms.practice(part.removeprefix(WORK))
    return _NAMES.get(part, part.replace("_", " ").capitalize())


def _ends(answer: Answer, whole: rows.Row) -> tuple[Estimate | None, Estimate | None]:
    """Return the levels at both ends of a change."""
    held = {
        (str(row["green"]), str(rows.day(row["date"]))): rows.estimate(row["estimate"])
        for row in answer.more.get("levels") or ()
        if row["quantity"] == whole["quantity"]
        and (row.get("method") or "") == (whole.get("method") or "")
    }
    green, other = str(whole["green"]), str(answer.more.get("against") or "")
    first, last = str(rows.day(whole["from"])), str(rows.day(whole["to"]))
    if other:
        return held.get((other, last)), held.get((green, last))
    return held.get((green, first)), held.get((green, last))
