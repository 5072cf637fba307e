"""Climbing to the top of a smooth hill whose slope is known: BFGS, no more steps than it takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Hill = Callable[[Floats], tuple[float, Floats]]

_LONGEST = 2.0
_HALVINGS = 30
_SUFFICIENT = 1e-4


@dataclass(frozen=True, slots=True)
class Top:
    """Where the climb ended: point, height, slope, and evaluations spent."""

    point: Floats
    height: float
    slope: Floats
    evaluations: int


def climb(
    hill: Hill, start: Floats, bend: Floats, *, gain: float = 1e-4, most_steps: int = 100
) -> Top:
    """Return the highest point near the start.

    Ends when a further step promises to gain less than ``gain``, or when none climbs.

    Args:
        hill: point -> (height, slope); coordinates of about one scale, 1 = a long way.
        start: where the climb begins.
        bend: (k, k) first guess of minus the second derivative, positive definite.
        gain: height worth another step.
        most_steps: a limit against hills without a top.

    >>> top = climb(lambda x: (-float(x @ x), -2 * x), np.ones(2), 2 * np.eye(2))
    >>> top.point.round(6).tolist()
    [0.0, 0.0]
    """
    point, inverse = np.asarray(start, dtype=float), np.linalg.inv(bend)
    (height, slope), spent = hill(point), 1
    for _ in range(most_steps):
        step = inverse @ slope
        promised = float(slope @ step)
        if promised <= 2 * gain:
            break
        step *= min(1.0, _LONGEST / float(np.abs(step).max()))
        higher, tried = _higher(hill, point, step, height + _SUFFICIENT * float(slope @ step))
        spent += tried
        if higher is None:
            break
        moved, (height, new_slope) = higher
        inverse = _updated(inverse, moved - point, slope - new_slope)
        point, slope = moved, new_slope
    return Top(point, height, slope, spent)


def _higher(
    hill: Hill, point: Floats, step: Floats, wanted: float
) -> tuple[tuple[Floats, tuple[float, Floats]] | None, int]:
    """Return the first point that is high enough along ever shorter steps, and the tries."""
    for halvings in range(_HALVINGS):
        moved = point + step / 2**halvings
        height, slope = hill(moved)
        if height >= wanted:
            return (moved, (height, slope)), halvings + 1
    return None, _HALVINGS


def _updated(inverse: Floats, moved: Floats, fell: Floats) -> Floats:
    """Return the BFGS update of the inverse bend; left alone where the hill curves upward."""
    along = float(moved @ fell)
    if along <= 1e-10 * float(np.linalg.norm(moved) * np.linalg.norm(fell)):
        return inverse
    left = np.eye(len(moved)) - np.outer(moved, fell) / along
    return left @ inverse @ left.T + np.outer(moved, moved) / along
