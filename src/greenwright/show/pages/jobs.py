"""The jobs of a plan in words: one by one with their reasons, and as the lines a crew reads."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.page import Job, Line, sentence
from greenwright.show.prose import prose

MAIN = ("green_speed", "smoothness", "trueness_score", "quality")
PLANNED = "Already planned"
IN_RECORD = "Planned in the record"
_SENTENCES = re.compile(r"(?<=[.?]) (?=[A-Z])")


@dataclass(frozen=True, slots=True)
class Named:
    """How greens are called: all of them, their group where it is whole, else each."""

    every: tuple[str, ...]
    groups: Mapping[str, frozenset[str]]

    def words(self, held: Sequence[rows.Row]) -> str:
        """Return the greens of some lines in words."""
        keys = [str(g) for row in held for g in row["greens"]]
        named = terms.greens(list(dict.fromkeys(keys)), self.every)
        groups = list(dict.fromkeys(g for row in held if (g := self.group(row))))
        if named == "all greens" or any(not self.group(row) for row in held):
            return named
        return f"group{'s' if len(groups) > 1 else ''} {terms.listed(groups)}"

    def group(self, row: rows.Row) -> str:
        """Return the name of the group that a line works whole, else nothing."""
        group = str(row.get("group") or "")
        return group if self.groups.get(group) == _keys(row) else ""


def _keys(row: rows.Row) -> frozenset[str]:
    return frozenset(str(g) for g in row["greens"])


def naming(answer: Answer) -> Named:
    """Return how greens are called; a single green worked by itself is no group."""
    found: dict[str, frozenset[str]] = {}
    for row in answer.choices:
        group = str(row.get("group") or "")
        if group and group not in _keys(row):
            found[group] = found.get(group, frozenset()) | _keys(row)
    return Named(rows.greens_of(answer), found)


def worked(held: Sequence[rows.Row]) -> float:
    """Return the crew hours of some lines [h]."""
    return sum(row.get("labour_h") or 0.0 for row in held)


def job(row: rows.Row, named: Named, course: Course) -> Job:
    """Return one line of an answer with all that is said of it."""
    changes = row.get("changes_mind") or ""
    return Job(
        greens=named.words([row]),
        what=what_words(row, course),
        hours=formats.hours(row.get("labour_h") or 0.0),
        reason=prose(sentence([row["reason"]]), course),
        expect=tuple(
            f"{sentence([e.moved(course)]).rstrip('.')} {after(e.horizon)}."
            for e in _largest([row])
        ),
        confidence=_mark(row) or terms.CONFIDENCE[row["confidence"]],
        changes_mind=prose(sentence([changes]), course) if changes else "",
    )


def what_words(row: rows.Row, course: Course) -> str:
    """Return a job in words: practice, passes, amount, material."""
    amount, unit = row.get("amount"), row.get("unit") or ""
    passes = row.get("passes") or 1
    if unit in ("pass", "passes", "count"):
        amount, passes = None, passes * (amount or 1)
    parts = [terms.practice(row["practice"])]
    if passes > 1:
        parts.append("twice" if passes == 2 else f"{passes:g} times")
    if amount is not None:
        at = "at " if row["practice"] == "mow" else ""
        held = "height_of_cut" if row["practice"] == "mow" else ""
        parts.append(at + formats.point(amount, unit, held, course))
    if row.get("material"):
        parts.append(f"of {row['material'].replace('-', ' ')}")
    return " ".join(parts)


@dataclass(frozen=True, slots=True)
class _Effect:
    """What a job should change: a quantity, after how many days, by how much."""

    quantity: str
    horizon: float
    estimate: Estimate

    def moved(self, course: Course) -> str:
        """Return the change in words."""
        label = terms.quantity(self.quantity).lower()
        return f"{label} {formats.change(self.estimate, self.quantity, course)}"


def _largest(held: Sequence[rows.Row]) -> list[_Effect]:
    """Return the largest effect on each quantity, what a ball does first.

    Of several groups that get the same job the range covers all of theirs.
    """
    found: dict[tuple[str, float], list[Estimate]] = {}
    for row in held:
        for told in row.get("effects") or ():
            key = (told["quantity"], told["horizon_days"])
            found.setdefault(key, []).append(rows.estimate(told["estimate"]))
    largest: dict[str, _Effect] = {}
    for (quantity, horizon), several in found.items():
        effect = _Effect(quantity, horizon, _covering(several))
        before = largest.get(quantity)
        if before is None or abs(effect.estimate.value) > abs(before.estimate.value):
            largest[quantity] = effect
    return sorted(largest.values(), key=lambda e: _rank(e.quantity))


def _covering(several: Sequence[Estimate]) -> Estimate:
    first = several[0]
    return Estimate(
        sum(e.value for e in several) / len(several),
        first.unit,
        max(e.sd for e in several),
        min(e.low for e in several),
        max(e.high for e in several),
        basis=first.basis,
    )


def _rank(quantity: str) -> int:
    return MAIN.index(quantity) if quantity in MAIN else len(MAIN)


def lines(held: Sequence[rows.Row], named: Named, course: Course) -> tuple[Line, ...]:
    """Return a day's work as the crew reads it: the same job on several groups is one line."""
    same: dict[tuple[str, str], list[rows.Row]] = {}
    for row in held:
        same.setdefault((what_words(row, course), _mark(row)), []).append(row)
    return tuple(_line(what, got, named, course) for (what, _), got in same.items())


def _mark(row: rows.Row) -> str:
    if row.get("fixed"):
        return PLANNED
    return "" if row["confidence"] == "act" else terms.CONFIDENCE[row["confidence"]]


def _line(what: str, held: list[rows.Row], named: Named, course: Course) -> Line:
    sure = (e for e in _largest(held) if formats.clear(e.estimate))
    reasons = (prose(text, course) for row in held if (text := _stand(row)))
    return Line(
        what,
        named.words(held),
        formats.hours(worked(held)),
        _mark(held[0]),
        ", ".join(e.moved(course) for e in sure),
        tuple(dict.fromkeys(reasons)),
    )


def _stand(row: rows.Row) -> str:
    """Return where the greens of a line stand and what is wanted: the start of its reason."""
    told = (part for part in _SENTENCES.split(row["reason"]) if not part.startswith(IN_RECORD))
    first = next(told, "").split(", and with")[0]
    return sentence([first]) if first else ""
