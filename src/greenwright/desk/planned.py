"""A plan as rows of an answer: its lines, its totals, its days."""

from __future__ import annotations

from greenwright.advise import PlanLine, PlanResult
from greenwright.desk.answering import Row

_PLANNED = "it stands in the record as planned work"
_NOTHING = "nothing but a change of the record's own plan"


def choice_row(line: PlanLine) -> Row:
    """Return one line of the advised plan with its reason and expected effects."""
    return {
        **work_row(line),
        "reason": line.reason or _PLANNED,
        "effects": [
            {
                "quantity": effect.quantity,
                "horizon_days": effect.horizon_days,
                "estimate": effect.estimate,
            }
            for effect in line.effects
        ],
        "confidence": line.confidence,
        "changes_mind": line.changes_mind or _NOTHING,
        "stops": list(line.stops),
    }


def work_row(line: PlanLine) -> Row:
    """Return what one line of any plan does, when and where."""
    return {
        "date": line.date,
        "greens": list(line.greens),
        "group": line.group,
        "practice": line.practice,
        "amount": line.amount,
        "unit": line.unit,
        "passes": line.passes,
        "material": line.material,
        "labour_h": line.labour_h,
        "cost": line.cost,
        "fixed": line.fixed,
    }


def plan_row(result: PlanResult) -> Row:
    """Return what a plan comes to, in all, by day, and by day and quantity."""
    return {
        "in_target": result.in_target,
        "complaints": result.complaints,
        "labour_h": result.labour_h,
        "cost": result.cost,
        "loss": result.loss,
        "lines": [work_row(line) for line in result.lines],
        "days": [
            {
                "date": day.date,
                "in_target": day.in_target,
                "complaints": day.complaints,
                "labour_h": day.labour_h,
                "cost": day.cost,
                "loss": day.loss,
            }
            for day in result.by_day
        ],
        "by_day": [
            {"date": day.date, "quantity": quantity, "estimate": estimate}
            for day in result.by_day
            for quantity, estimate in day.course.items()
        ],
    }
