"""The step in which numbers were written down: rounding is noise that no repeat removes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from greenwright.base.evidence import value as number
from greenwright.base.lengths import INCH_M
from greenwright.base.values import Reading

SPEED_STEPS_M: tuple[float, ...] = (
    6 * INCH_M,
    0.1,
    3 * INCH_M,
    0.05,
    INCH_M,
    INCH_M / 2,
    0.01,
)
"""Steps in which green speeds are written [m], coarsest first."""

SCORE_STEPS: tuple[float, ...] = (1.0, 0.5, 0.25, 0.1)
"""Steps in which scores, percentages and heights are written, coarsest first."""

_ENOUGH = 8
_NEAR = 2e-4


def writing_step(values: Iterable[float], steps: Sequence[float], *, usual: float) -> float:
    """Return the coarsest step that all values are multiples of.

    Args:
        values: as read [unit]; with fewer than eight, chance could mimic a coarse step and
            the usual one is taken.
        steps: candidate steps, coarsest first [unit].
        usual: the step where the values do not tell [unit].

    >>> writing_step([7, 8, 6, 7, 8, 8, 9, 7], (1.0, 0.5), usual=0.5)
    1.0
    >>> writing_step([7, 8], (1.0, 0.5), usual=0.5)
    0.5
    """
    seen = list(values)
    if len(seen) < _ENOUGH:
        return usual
    return next((step for step in steps if _all_multiples(seen, step)), steps[-1])


def writing_steps(readings: Iterable[Reading]) -> Mapping[tuple[str, str], float]:
    """Return the step of each writer of scores: (kind, observer or else instrument) -> step."""
    written: dict[tuple[str, str], list[float]] = defaultdict(list)
    for row in readings:
        written[row.kind, row.observer or row.instrument].append(row.value)
    usual = number("measure.score_rounding")
    return {w: writing_step(v, SCORE_STEPS, usual=usual) for w, v in written.items()}


def rounding_variance(step: float) -> float:
    """Return the variance of rounding to a step: step^2 / 12 [unit squared]."""
    return step * step / 12


def _all_multiples(values: Sequence[float], step: float) -> bool:
    return all(abs(v / step - round(v / step)) * step < _NEAR for v in values)
