"""The reckoner: envelope calculations, each registered once for command, page and notebook."""

from greenwright.desk.reckon.registry import ReckonResult, calculator, calculators, reckon
from greenwright.desk.reckon.shape import Argument, Calculator, Given, Outcome, WorkedExample

__all__ = [
    "Argument",
    "Calculator",
    "Given",
    "Outcome",
    "ReckonResult",
    "WorkedExample",
    "calculator",
    "calculators",
    "reckon",
]
