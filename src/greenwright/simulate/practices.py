"""Work as the invented surface feels it: acts, their doses, and how each effect comes and goes.

Every effect is a sum of fading parts, so that a practice may disturb first and help later.
All sizes are invented; they have the order of magnitude the trade reports.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from greenwright.simulate.materials import NITROGEN_PCT

Clock = Literal["days", "heat"]

# Work done before the morning's readings; all other work is felt from the next morning on.
EARLY = frozenset({"mow", "roll", "brush", "groom"})
SECOND_PASS = 0.3  # a second roll pass adds this share of the first; invented

# What counts as one dose, in the unit of the record; practices not named here count acts.
REFERENCE: Mapping[str, tuple[float, str]] = {
    "mow": (1.0, "extra cut"),
    "roll": (1.0, "pass"),
    "topdress": (0.5, "L/m2"),
    "core": (5.0, "%"),
    "feed": (0.5, "g N/m2"),
    "regulator": (0.04, "mL/m2"),
}


@dataclass(frozen=True, slots=True)
class Act:
    """One piece of work on some greens (indices), as the invented crew does it."""

    practice: str
    greens: tuple[int, ...]
    time: str = ""
    amount: float | None = None
    passes: int = 1
    material: str = ""
    depth_mm: float | None = None
    detail: str = ""

    @property
    def early(self) -> bool:
        """Whether the work is done before the morning's readings."""
        return self.practice in EARLY


@dataclass(frozen=True, slots=True)
class Response:
    """One fading part of one practice's true effect on one quantity.

    A dose d adds ``peak * d * 0.5 ** (age / half_life)``; age in days, or in degree days
    [degC d, base 0] when ``clock`` is "heat". Quantity "growth" is on the log scale.
    """

    practice: str
    quantity: str
    peak: float
    half_life: float
    clock: Clock = "days"


RESPONSES: tuple[Response, ...] = (
    Response("roll", "green_speed", 0.16, 0.8),
    Response("roll", "smoothness", 0.5, 0.8),
    Response("roll", "trueness_score", 0.4, 0.8),
    Response("roll", "firmness", 1.0, 2.0),
    Response("roll", "quality", -0.02, 15.0),
    Response("mow", "green_speed", 0.09, 0.9),
    Response("mow", "smoothness", 0.15, 0.8),
    Response("mow", "quality", -0.05, 7.0),
    Response("brush", "green_speed", -0.03, 1.0),
    Response("brush", "smoothness", -0.15, 0.7),
    Response("brush", "smoothness", 0.25, 5.0),
    Response("brush", "trueness_score", 0.3, 4.0),
    Response("topdress", "green_speed", -0.30, 0.8),
    Response("topdress", "green_speed", 0.08, 8.0),
    Response("topdress", "smoothness", -2.0, 1.2),
    Response("topdress", "smoothness", 0.5, 9.0),
    Response("topdress", "trueness_score", -1.2, 1.2),
    Response("topdress", "trueness_score", 0.3, 9.0),
    Response("topdress", "firmness", 0.6, 20.0),
    Response("verticut", "green_speed", -0.10, 1.2),
    Response("verticut", "green_speed", 0.02, 10.0),
    Response("verticut", "smoothness", -1.1, 1.3),
    Response("verticut", "smoothness", 0.4, 12.0),
    Response("verticut", "trueness_score", -0.8, 1.3),
    Response("verticut", "trueness_score", 0.35, 12.0),
    Response("verticut", "quality", -0.3, 4.0),
    Response("core", "green_speed", -0.13, 5.0),
    Response("core", "smoothness", -2.4, 7.0),
    Response("core", "smoothness", 0.4, 45.0),
    Response("core", "trueness_score", -2.0, 7.0),
    Response("core", "firmness", -6.0, 10.0),
    Response("core", "moisture", -1.0, 40.0),
    Response("core", "quality", -1.2, 9.0),
    Response("needle_tine", "green_speed", -0.03, 2.0),
    Response("needle_tine", "smoothness", -0.3, 2.0),
    Response("needle_tine", "firmness", -2.0, 6.0),
    Response("feed", "growth", 0.22, 12.0),
    Response("feed", "growth", -0.22, 2.0),
    Response("feed", "quality", 0.2, 14.0),
    Response("feed", "quality", -0.2, 2.0),
    Response("regulator", "growth", -0.45, 130.0, "heat"),
    Response("regulator", "quality", 0.1, 14.0),
    Response("wetting_agent", "moisture", -0.8, 15.0),
)


def dose(act: Act) -> float:
    """Say how many reference doses an act is.

    Mowing counts cuts beyond the first; rolling counts a second pass at ``SECOND_PASS``;
    feeding counts nitrogen; topdressing, coring and regulators count the amount.

    >>> dose(Act("topdress", (0,), amount=0.25))
    0.5
    >>> dose(Act("mow", (0,), amount=3.6, passes=2))
    1.0
    """
    if act.practice == "mow":
        return float(act.passes - 1)
    if act.practice == "roll":
        return 1.0 + SECOND_PASS * (act.passes - 1) if act.passes else 0.0
    if act.practice not in REFERENCE:
        return 1.0
    amount = act.amount or 0.0
    if act.practice == "feed":
        amount *= NITROGEN_PCT.get(act.material, 0.0) / 100
    return amount / REFERENCE[act.practice][0]


def curve(
    responses: tuple[Response, ...], *, practice: str, quantity: str, horizons: np.ndarray
) -> np.ndarray:
    """Give the true effect of one dose at each whole-day horizon [d] after the work.

    Horizon 0 is the morning of the work's own day, so it is 0 for work done after the
    readings. Only parts that fade by days are given; those that fade by heat have no fixed
    curve in days (ValueError).
    """
    parts = [r for r in responses if (r.practice, r.quantity) == (practice, quantity)]
    if any(part.clock == "heat" for part in parts):
        raise ValueError(f"{practice} on {quantity} fades by heat, not by days: replay it instead")
    total = np.zeros(len(horizons))
    for part in parts:
        total += part.peak * 0.5 ** (horizons / part.half_life)
    return total if practice in EARLY else np.where(horizons > 0, total, 0.0)
