"""What to do: a plan within the crew's hours and the grass's limits, with its reasons."""

from greenwright.advise.feasible import Breach, breaches
from greenwright.advise.plan import plan_week, settle
from greenwright.advise.result import DayResult, LineEffect, PlanLine, PlanResult, WeekPlan

__all__ = [
    "Breach",
    "DayResult",
    "LineEffect",
    "PlanLine",
    "PlanResult",
    "WeekPlan",
    "breaches",
    "plan_week",
    "settle",
]
