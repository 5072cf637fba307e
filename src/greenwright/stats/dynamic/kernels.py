"""How a dose comes and goes: columns of the design and their slopes, exact and linear in days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Floats = NDArray[np.float64]
Slopes = dict[str, Floats]


@dataclass(frozen=True, slots=True)
class Pulse:
    """Works at once and halves every ``half_life`` days; doses add to what is left."""

    half_life: str

    @property
    def hypers(self) -> tuple[str, ...]:
        """Return the hyper-parameters' names."""
        return (self.half_life,)


@dataclass(frozen=True, slots=True)
class Window:
    """Works from about ``first`` to about ``last`` days after the dose, with soft edges.

    Args:
        first: hyper-parameter: day it sets in; None = at once.
        last: hyper-parameter: day it ends.
        edge: how soft the edges are [days].
        longest: days after which it is taken as gone.
    """

    first: str | None
    last: str
    edge: float = 0.5
    longest: int = 60

    @property
    def hypers(self) -> tuple[str, ...]:
        """Return the hyper-parameters' names."""
        return (self.last,) if self.first is None else (self.first, self.last)


@dataclass(frozen=True, slots=True)
class Held:
    """Works in proportion to the dose for as long as it is held, and no longer."""

    @property
    def hypers(self) -> tuple[str, ...]:
        """Return no name: there is nothing to learn of its time."""
        return ()


Kernel = Pulse | Window | Held


def responded(kernel: Kernel, dose: Floats, hyper: Mapping[str, float]) -> tuple[Floats, Slopes]:
    """Return what the doses up to each day are worth on it, and slopes by each log hyper.

    Args:
        kernel: the shape.
        dose: (units, days).
        hyper: hyper-parameters by name.

    >>> responded(Pulse("h"), np.array([[1.0, 0.0, 0.0]]), {"h": 1.0})[0].tolist()
    [[1.0, 0.5, 0.25]]
    """
    match kernel:
        case Pulse(half_life):
            return _pulsed(dose, half_life, hyper[half_life])
        case Window():
            return _windowed(kernel, dose, hyper)
        case Held():
            return dose, {}


def at_once(kernel: Kernel, hyper: Mapping[str, float]) -> tuple[float, dict[str, float]]:
    """Return what one dose is worth on its own day, and slopes by each log hyper-parameter."""
    match kernel:
        case Window():
            weights, slopes = _weights(kernel, hyper, days=1)
            return float(weights[0]), {name: float(s[0]) for name, s in slopes.items()}
        case Pulse():
            return 1.0, {}
        case Held():
            return 0.0, {}


def worth(dose: Floats, share: float) -> tuple[Floats, Floats]:
    """Return doses of a day with each one beyond the first worth a share, and the log slope.

    >>> worth(np.array([0.5, 1.0, 3.0]), 0.25)[0].tolist()
    [0.5, 1.0, 1.5]
    """
    more = share * np.maximum(dose - 1.0, 0.0)
    return np.minimum(dose, 1.0) + more, more


def _pulsed(dose: Floats, name: str, half_life: float) -> tuple[Floats, Slopes]:
    keep = 2.0 ** (-1.0 / half_life)
    left = lfilter([1.0], [1.0, -keep], dose, axis=1)
    turn = keep * np.log(2.0) / half_life
    return left, {name: turn * lfilter([0.0, 1.0], [1.0, -keep], left, axis=1)}


def _windowed(kernel: Window, dose: Floats, hyper: Mapping[str, float]) -> tuple[Floats, Slopes]:
    days = min(kernel.longest + 1, dose.shape[1])
    weights, slopes = _weights(kernel, hyper, days=days)
    felt = lfilter(weights, [1.0], dose, axis=1)
    return felt, {name: lfilter(s, [1.0], dose, axis=1) for name, s in slopes.items()}


def _weights(kernel: Window, hyper: Mapping[str, float], *, days: int) -> tuple[Floats, Slopes]:
    """Return the weight of a dose at each age: risen by the first day, not fallen by the last."""
    age = np.arange(days, dtype=float)
    last = hyper[kernel.last]
    stays, stays_slope = _step((last + 0.5 - age) / kernel.edge)
    if kernel.first is None:
        return stays, {kernel.last: stays * 0 + stays_slope * last / kernel.edge}
    first = hyper[kernel.first]
    rises, rises_slope = _step((age - first - 0.5) / kernel.edge)
    return rises * stays, {
        kernel.first: -stays * rises_slope * first / kernel.edge,
        kernel.last: rises * stays_slope * last / kernel.edge,
    }


def _step(x: Floats) -> tuple[Floats, Floats]:
    """Return a smooth step from 0 to 1, and its derivative."""
    half = np.tanh(x / 2)
    return (1 + half) / 2, (1 - half**2) / 4
