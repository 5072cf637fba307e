"""The index T in plain words: millimetres sideways for each metre rolled, at today's speed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.base.estimate import Z90, Basis, Estimate
from greenwright.base.evidence import value as number
from greenwright.measure.belief import lognormal_estimate
from greenwright.measure.surface import Surface
from greenwright.roll import STOPPING_LENGTH_M
from greenwright.stats import normal_area

Floats = NDArray[np.float64]
UNIT = "mm/m"


@dataclass(frozen=True, slots=True)
class Sideways:
    """Sideways sd at rest over the ramp's own roll, per metre [mm/m], green by green.

    Args:
        greens: keys, as in the surface.
        per_green, course: estimates.
        log_mean, log_sd: (G,) of the natural log of per_green; course_log the same two.
    """

    greens: tuple[str, ...]
    per_green: tuple[Estimate, ...]
    course: Estimate
    log_mean: Floats
    log_sd: Floats
    course_log: tuple[float, float]

    def chance(self, low: float | None, high: float | None) -> Floats:
        """Return the chance of each green to lie from low to high [mm/m], None = open."""
        return _inside(self.log_mean, self.log_sd, low, high)

    def course_chance(self, low: float | None, high: float | None) -> float:
        """Return the chance of the course's mean to lie from low to high [mm/m]."""
        mean, sd = self.course_log
        return float(_inside(np.array([mean]), np.array([sd]), low, high)[0])


def sideways(trueness: Surface, speed: Surface | None) -> Sideways:
    """Return how far sideways balls end per metre at the day's green speed.

    1000 sqrt(K / S) = 1000 sqrt(T S) / (2 c), c = 0.2387 m: T log-normal, S near enough so.

    Args:
        trueness: surface of trueness [T in m].
        speed: surface of green_speed of the same day and greens [m]; None = the usual speed,
            widely.
    """
    logs = [_log_speed(e) for e in speed.per_green] if speed else []
    courses = _log_speed(speed.course) if speed else _usual_speed()
    logs = logs if len(logs) == len(trueness.greens) else [courses] * len(trueness.greens)
    middle, spread = np.array(logs).T
    log_mean = 0.5 * (trueness.belief.mean + middle) + _CONSTANT
    log_sd = 0.5 * np.hypot(trueness.belief.sd, spread)
    whole = trueness.belief.average(trueness.playing)
    course = (
        0.5 * (float(whole.mean[0]) + courses[0]) + _CONSTANT,
        0.5 * math.hypot(float(whole.sd[0]), courses[1]),
    )
    return Sideways(
        greens=trueness.greens,
        per_green=tuple(
            _estimate(m, s, e) for m, s, e in zip(log_mean, log_sd, trueness.per_green, strict=True)
        ),
        course=_estimate(*course, trueness.course),
        log_mean=log_mean,
        log_sd=log_sd,
        course_log=course,
    )


def sideways_estimate(trueness: Estimate, speed: Estimate) -> Estimate:
    """Return millimetres sideways per metre of one T and one green speed.

    Args:
        trueness: T, log-normal [m].
        speed: green speed [m].

    Returns: the estimate [mm/m], its basis and n those of T.
    """
    log_t = math.log(trueness.value)
    log_sd = math.log(trueness.high / trueness.low) / (2 * Z90) if trueness.low > 0 else 0.0
    middle, spread = _log_speed(speed)
    mean = 0.5 * (log_t + middle) + _CONSTANT
    return _estimate(mean, 0.5 * math.hypot(log_sd, spread), trueness)


_CONSTANT = math.log(1000 / (2 * STOPPING_LENGTH_M))


def _log_speed(speed: Estimate) -> tuple[float, float]:
    spread = math.log1p((speed.sd / speed.value) ** 2)
    return math.log(speed.value) - spread / 2, math.sqrt(spread)


def _usual_speed() -> tuple[float, float]:
    level, sd = (number(f"measure.green_speed.{name}") for name in ("level", "level_sd"))
    return math.log(level), sd / level


def _estimate(log_mean: float, log_sd: float, like: Estimate) -> Estimate:
    basis: Basis = like.basis
    return lognormal_estimate(float(log_mean), float(log_sd), UNIT, n=like.n, basis=basis)


def _inside(mean: Floats, sd: Floats, low: float | None, high: float | None) -> Floats:
    ends = [
        np.full(len(mean), -np.inf) if low is None else (_log(low) - mean) / np.maximum(sd, 1e-9),
        np.full(len(mean), np.inf) if high is None else (_log(high) - mean) / np.maximum(sd, 1e-9),
    ]
    return normal_area(np.clip(ends[1], -40, 40)) - normal_area(np.clip(ends[0], -40, 40))


def _log(end: float) -> float:
    return math.log(end) if end > 0 else -100.0
