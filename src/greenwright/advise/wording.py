"""Numbers and reasons in plain words, in the units the course speaks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from greenwright.base.estimate import Estimate
from greenwright.base.lengths import feet_inches, inches
from greenwright.base.tables import quantities
from greenwright.base.values import Course

NAMES = {"topdress": "light topdressing", "verticut": "vertical mowing", "brush": "brushing"}


@dataclass(frozen=True, slots=True)
class Standing:
    """Where some greens stand in one quantity.

    Args:
        quantity: what; today: mean of the greens [unit]; planned: expected that morning.
        low, high: the band of that day [unit], infinite where open.
    """

    quantity: str
    today: float
    planned: float
    low: float
    high: float


def level_text(quantity: str, value: float, course: Course) -> str:
    """Return a level in words: a speed in the course's units, a score with one decimal."""
    if quantity == "green_speed":
        return feet_inches(value) if course.speed_units == "ft" else f"{value:.2f} m"
    unit = quantities()[quantity].unit
    return f"{value:.1f}" if unit in ("score", "rating", "own") else f"{value:.3g} {unit}"


def change_text(quantity: str, value: float, course: Course) -> str:
    """Return a signed change in words."""
    size = level_text(quantity, abs(value), course)
    if quantity == "green_speed":
        size = inches(abs(value)) if course.speed_units == "ft" else f"{abs(value):.2f} m"
    nothing = not any(digit in size for digit in "123456789")
    return size if nothing else f"{'+' if value > 0 else '-'}{size}"


def band_text(stand: Standing, course: Course) -> str:
    """Return the band of a day in words."""
    low, high = np.isfinite(stand.low), np.isfinite(stand.high)
    if low and high:
        ends = [level_text(stand.quantity, x, course) for x in (stand.low, stand.high)]
        return f"{ends[0]} to {ends[1]}"
    if low:
        return f"{level_text(stand.quantity, stand.low, course)} or more"
    return f"{level_text(stand.quantity, stand.high, course)} or less"


def standing_text(stand: Standing, group: str, when: date, course: Course) -> str:
    """Return one sentence on where some greens stand and what is wanted."""
    label = quantities()[stand.quantity].label
    return (
        f"{label} in {group} is {level_text(stand.quantity, stand.today, course)} today; "
        f"{band_text(stand, course)} is wanted on {when.day} {when:%B}, and with this plan "
        f"{level_text(stand.quantity, stand.planned, course)} is expected then."
    )


def effect_text(quantity: str, horizon: int, estimate: Estimate, course: Course) -> str:
    """Return one effect with its interval in words."""
    label = quantities()[quantity].label.lower()
    when = "the same day" if horizon == 0 else f"after {horizon} day{'s' * (horizon > 1)}"
    ends = [change_text(quantity, x, course) for x in (estimate.low, estimate.high)]
    middle = change_text(quantity, estimate.value, course)
    return f"{middle} {label} {when} (between {ends[0]} and {ends[1]})"


def act_text(
    practice: str, *, amount: float | None, passes: float, unit: str, step_mm: float = 0.0
) -> str:
    """Return what is done, as the head of a sentence."""
    if practice == "mow":
        cut = {1: "One cut", 2: "A double cut"}.get(round(passes), f"{passes:g} cuts")
        at = "" if amount is None else f" at {amount:.2f} mm"
        if abs(step_mm) > 1e-9:
            at += f", {abs(step_mm):.2f} mm {'lower' if step_mm < 0 else 'higher'} than before,"
        return f"{cut}{at}"
    if practice == "roll":
        return {1: "One rolling pass", 2: "Two rolling passes"}.get(round(passes), "Rolling")
    name = NAMES.get(practice, practice.replace("_", " ")).capitalize()
    return name if amount is None else f"{name} with {amount:g} {unit}"
