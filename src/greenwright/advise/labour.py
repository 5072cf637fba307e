"""The crew: hours, machine minutes and cost of one piece of work on some greens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from greenwright.base.evidence import evidence, value
from greenwright.base.values import CrewRow, Snapshot

COST_KEY = "labour.cost_per_h"
PER_GREENS = 18


@dataclass(frozen=True, slots=True)
class Job:
    """Labour of one practice on one set of greens for one day.

    Args:
        hours: crew hours [h].
        cost: of those hours [the course's currency].
        machine: class of the machine, or empty.
        minutes: of that machine [min].
    """

    hours: float
    cost: float
    machine: str = ""
    minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Crew:
    """What the crew can do and what it takes.

    Args:
        entered: crew.csv has rows of labour; otherwise common-practice hours stand in.
        rows: (practice, group) -> row; group is empty for the whole course.
        group_of: green -> group.
        sizes: group -> greens in play; empty group -> all.
        machines: class -> how many.
        cost_per_h: mean wage, the yardstick of the loss [currency/h].
    """

    entered: bool
    rows: Mapping[tuple[str, str], CrewRow]
    group_of: Mapping[str, str]
    sizes: Mapping[str, int]
    machines: Mapping[str, int]
    cost_per_h: float

    def can(self, practice: str, greens: Iterable[str]) -> bool:
        """Return whether the crew does a practice on all of these greens."""
        return not self.entered or all(self._row(practice, g) is not None for g in greens)

    def job(self, practice: str, greens: Sequence[str], passes: float = 1.0) -> Job:
        """Return the labour of `passes` of a practice on some greens.

        From crew.csv: minutes x people x passes / 60 of the group, shared evenly by its greens.
        Otherwise from the evidence table's hours for 18 greens.
        """
        if not self.entered:
            hours = default_hours(practice, passes) * len(greens) / PER_GREENS
            return Job(hours, hours * self.cost_per_h)
        hours = cost = minutes = 0.0
        machine = ""
        for green in greens:
            row = self._row(practice, green)
            if row is None:
                continue
            share = passes * (row.minutes or 0.0) / self.sizes[row.group]
            hours += share * (1.0 if row.people is None else row.people) / 60
            wage = self.cost_per_h if row.cost_per_h is None else row.cost_per_h
            cost += wage * share * (1.0 if row.people is None else row.people) / 60
            minutes += share if row.machine else 0.0
            machine = machine or row.machine
        return Job(hours, cost, machine, minutes)

    def evidence_keys(self, practices: Iterable[str]) -> tuple[str, ...]:
        """Return the evidence keys used for some practices; none where crew.csv says it all."""
        if self.entered:
            return ()
        hours = (f"labour.{p}.hours_per_18" for p in practices)
        return (*(key for key in hours if key in evidence()), COST_KEY)

    def _row(self, practice: str, green: str) -> CrewRow | None:
        own = self.rows.get((practice, self.group_of.get(green, "")))
        return own or self.rows.get((practice, ""))


def crew_of(snapshot: Snapshot) -> Crew:
    """Return the crew as crew.csv describes it, or as common practice does."""
    labour = [r for r in snapshot.crew if r.practice and r.minutes is not None]
    rows = {(r.practice, "" if r.group in ("", "all") else r.group): r for r in labour}
    rows = {key: _scoped(row, key[1]) for key, row in rows.items()}
    groups = snapshot.groups
    wages = [r.cost_per_h for r in labour if r.cost_per_h is not None]
    return Crew(
        entered=bool(labour),
        rows=rows,
        group_of={g: group for group, greens in groups.items() for g in greens},
        sizes={**{k: len(v) for k, v in groups.items()}, "": sum(map(len, groups.values()))},
        machines=_machines(snapshot.crew),
        cost_per_h=fmean(wages) if wages else value(COST_KEY),
    )


def _scoped(row: CrewRow, group: str) -> CrewRow:
    return CrewRow(
        practice=row.practice,
        group=group,
        minutes=row.minutes,
        people=row.people,
        machine=row.machine,
        cost_per_h=row.cost_per_h,
    )


def _machines(rows: Sequence[CrewRow]) -> dict[str, int]:
    """Return how many of each machine there are; one where it is used but not counted.

    A count of 0 is a count: the machine is away.
    """
    used = {r.machine: 1 for r in rows if r.machine}
    counted = {r.machine: r.count for r in rows if r.machine and not r.practice}
    return used | {machine: n for machine, n in counted.items() if n is not None}


def default_hours(practice: str, passes: float) -> float:
    """Return common-practice crew hours for 18 greens [h]."""
    once = value(f"labour.{practice}.hours_per_18")
    if passes <= 1:
        return once * passes
    more = {"mow": "labour.mow_double.hours_per_18", "roll": "labour.second_roll.hours_per_18"}
    if practice == "mow":
        return once + (value(more["mow"]) - once) * (passes - 1)
    return once + (value(more["roll"]) if practice == "roll" else once) * (passes - 1)
