"""The values that a plan is told in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from greenwright.base.estimate import Estimate


@dataclass(frozen=True, slots=True)
class LineEffect:
    """What one line changes: the outcome with it less the outcome without it."""

    quantity: str
    horizon_days: int
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One piece of work of a plan, as the crew reads it.

    Args:
        date, greens, group: where and when.
        practice, amount, unit, passes, material: what, in record units.
        labour_h: crew hours [h]; cost: labour and material [the course's currency].
        reason: why, in plain words with numbers.
        effects: what it changes, with intervals.
        confidence: act | try | read first.
        changes_mind: what would change this advice.
        stops: conditions of the morning under which to leave it.
        fixed: it stands in the record as planned work.
    """

    date: date
    greens: tuple[str, ...]
    group: str
    practice: str
    amount: float | None
    unit: str
    passes: float
    material: str
    labour_h: float
    cost: float
    reason: str = ""
    effects: tuple[LineEffect, ...] = ()
    confidence: str = "try"
    changes_mind: str = ""
    stops: tuple[str, ...] = ()
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class DayResult:
    """One day of a plan: its loss, work, complaints, share in target, and course levels.

    `in_target` is None on a day without a target; `course` holds the mean of greens in play.
    """

    date: date
    loss: float
    labour_h: float
    cost: float
    complaints: float
    in_target: float | None
    course: Mapping[str, Estimate]


@dataclass(frozen=True, slots=True)
class PlanResult:
    """What a plan comes to.

    Args:
        lines: its work on the plan's days.
        in_target: expected share of green-days in target over the plan's days, 0..1, mean over
            quantities; None where no quantity with a target was ever read.
        complaints: expected over the plan's days.
        labour_h, cost: over the plan's days.
        loss: over all days that the plan was optimised on; loss_plan_days: over the plan's days.
        by_day: the plan's days.
    """

    lines: tuple[PlanLine, ...]
    in_target: float | None
    complaints: float
    labour_h: float
    cost: float
    loss: float
    loss_plan_days: float
    by_day: tuple[DayResult, ...]


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The advice for a week beside doing nothing and the usual work, on the same draws.

    Args:
        advised, nothing, usual: the three plans.
        gap: None when the plan is proven the best on its draws, else how far at most the best
            mix of the schedules looked at could lie under it, as a share of its loss.
        proven: no plan within the limits is better on these draws.
        notes: what the user must know: planned rows refused, assumptions.
        missing: (quantity, method) with a target that was never read.
        evidence: keys of outside numbers used; defaults: those of them that stand in for
            something the course could enter.
        no_plan: why the limits leave no work at all, naming those that clash; else empty.
    """

    advised: PlanResult
    nothing: PlanResult
    usual: PlanResult
    gap: float | None
    proven: bool
    notes: tuple[str, ...]
    missing: tuple[tuple[str, str], ...]
    evidence: tuple[str, ...]
    defaults: tuple[str, ...]
    no_plan: str = ""
