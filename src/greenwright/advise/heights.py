"""The ladder of bench heights: every rung within one allowed step of the next."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

import numpy as np
from numpy.typing import NDArray

RUNGS_DOWN, RUNGS_UP = 5, 3
FINEST_MM = 0.01
"""Bench heights are set to a hundredth of a millimetre; a smaller last step is not worth one."""


def height_choices(
    now: float, step_mm: float, *, lowest: float, anchors: Sequence[float] = ()
) -> tuple[NDArray[np.float64], int, int]:
    """Return the heights that may be set, the place of today's, and places in one step.

    Args:
        now: height in force [mm], nan when not known.
        step_mm: largest change [mm].
        lowest: lowest height allowed [mm].
        anchors: planned heights that must be among them [mm].

    >>> height_choices(4.0, 0.13, lowest=3.8)[0].tolist()
    [3.8, 3.87, 4.0, 4.13, 4.26, 4.39]
    """
    if isnan(now):
        return np.array([np.nan]), 0, 0
    found = {now, *(float(a) for a in anchors)}
    for anchor in sorted(found):
        found |= set(_rungs(anchor, -step_mm, RUNGS_DOWN, lowest))
        found |= set(_rungs(anchor, step_mm, RUNGS_UP, lowest))
    heights = np.array(sorted(found))
    return heights, int(np.argmin(np.abs(heights - now))), _reach(heights, step_mm)


def _rungs(start: float, step: float, count: int, lowest: float) -> list[float]:
    out, now = [], start
    for _ in range(count):
        then = _one_step(now, step)
        if step < 0:
            then = max(then, lowest)
        if abs(then - now) < FINEST_MM or then == now or (then < lowest and step < 0):
            break
        out.append(then)
        now = then
    return out


def _one_step(now: float, step: float) -> float:
    """Return a height one step on, rounded, and never a hair more than the step away."""
    then = round(now + step, 2)
    while abs(then - now) > abs(step):
        then = round(then - FINEST_MM * (1 if step > 0 else -1), 2)
    return then


def _reach(heights: NDArray[np.float64], step_mm: float) -> int:
    near = np.abs(heights[:, None] - heights[None, :]) <= step_mm + 1e-9
    return max(int(row.sum()) for row in np.triu(near)) - 1
