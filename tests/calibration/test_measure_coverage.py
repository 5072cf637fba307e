"""Do stated 90 % intervals hold the truth 90 % of the time? Small simulated records.

The simulator below is this test's own and shares no code with the estimators. Magnitudes are
invented, in the range of the evidence table, and differ from record to record. 520 records of
six greens give 3,120 intervals; greens of one record share observers and days, so they count
for about 1,000 independent ones: binomial sd about 1 point, and 86 to 94 % is four sds.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest

from greenwright.base.values import Course, Green, Reading, Snapshot
from greenwright.measure import surface

RECORDS, GREENS, DAYS = 520, 6, 28
FIRST = date(2026, 4, 1)
INCH = 0.0254
OBSERVERS = ("ash", "birch", "cedar")
WINDOW = (0.86, 0.94)


@dataclass(frozen=True)
class Sizes:
    """Sds of one simulated quantity: greens, spots, days, a green's days, observers, noise."""

    level: float
    green: float
    spot: float
    day: float
    green_day: float
    observer: float
    noise: float
    memory_d: float


SPEED = Sizes(2.85, 0.09, 0.09, 0.12, 0.08, 0.04, 0.05, 3.0)
SCORE = Sizes(7.6, 0.6, 0.0, 0.5, 0.35, 0.7, 0.7, 4.0)


def varied(sizes: Sizes, rng: np.random.Generator, level_sd: float) -> Sizes:
    """This record's own sizes: each a third up or down."""
    factor = dict(zip(Sizes.__annotations__, np.exp(0.3 * rng.standard_normal(8)), strict=True))
    own = {name: getattr(sizes, name) * factor[name] for name in Sizes.__annotations__}
    return Sizes(**(own | {"level": sizes.level + level_sd * rng.standard_normal()}))


def wandering(rng: np.random.Generator, width: int, sd: float, memory_d: float) -> np.ndarray:
    keep, path = np.exp(-1 / memory_d), np.empty((DAYS, width))
    path[0] = sd * rng.standard_normal(width)
    for t in range(1, DAYS):
        path[t] = keep * path[t - 1] + sd * np.sqrt(1 - keep**2) * rng.standard_normal(width)
    return path


def true_levels(rng: np.random.Generator, s: Sizes) -> np.ndarray:
    greens = s.green * rng.standard_normal(GREENS)
    together = wandering(rng, 1, s.day, s.memory_d)
    return s.level + greens + together + wandering(rng, GREENS, s.green_day, s.memory_d / 2)


def visits(rng: np.random.Generator) -> list[tuple[int, int, int]]:
    """(day, green, observer): some days nobody reads, some greens are passed over."""
    out = rng.random(DAYS) < rng.uniform(0.25, 0.7)
    crew = [rng.choice(3, size=2, replace=False) for _ in range(DAYS)]
    greens = [(t, g) for t in range(DAYS) if out[t] for g in range(GREENS) if rng.random() < 0.8]
    return [(t, g, int(crew[t][rng.integers(2)])) for t, g in greens]


def written(values: np.ndarray, step: float) -> np.ndarray:
    return np.round(values / step) * step


def speed_readings(rng: np.random.Generator, s: Sizes, truth: np.ndarray) -> list[Reading]:
    """Six balls a set on a sloping spot; observers write in 6 in, 3 in and 1 in."""
    bias, steps = s.observer * rng.standard_normal(3), (6 * INCH, 3 * INCH, INCH)
    spot = s.spot * rng.standard_normal((GREENS, 2))
    slope, made = rng.uniform(-0.15, 0.15, (GREENS, 2)), []
    for t, g, who in visits(rng):
        where = int(rng.integers(2)) if g % 2 else 0
        level = truth[t, g] + spot[g, where] + bias[who] + 0.03 * rng.standard_normal()
        for way, sign in (("a", 1), ("b", -1)):
            mean = level / (1 + sign * slope[g, where])
            balls = written(mean + s.noise * rng.standard_normal(3), steps[who])
            made += [
                Reading(
                    date=FIRST + timedelta(days=t),
                    green=str(g),
                    kind="roll_distance",
                    value=float(ball),
                    unit="m",
                    station=f"S{where}",
                    direction=way,
                    set=f"{t}-{g}",
                    observer=OBSERVERS[who],
                )
                for ball in balls
            ]
    return made


def score_readings(rng: np.random.Generator, s: Sizes, truth: np.ndarray) -> list[Reading]:
    """Eye scores by biased observers who scatter differently; one gives whole points.

    What lies beyond 10 piles up there.
    """
    bias, steps = s.observer * rng.standard_normal(3), (1.0, 0.5, 0.5)
    scatter, made = s.noise * np.exp(0.35 * rng.standard_normal(3)), []
    for t, g, who in visits(rng):
        seen = truth[t, g] + bias[who] + scatter[who] * rng.standard_normal()
        made.append(
            Reading(
                date=FIRST + timedelta(days=t),
                green=str(g),
                kind="smoothness_score",
                value=float(np.clip(written(np.array(seen), steps[who]), 0, 10)),
                unit="score",
                observer=OBSERVERS[who],
            )
        )
    return made


@cache
def judged(quantity: str) -> dict[str, np.ndarray]:
    """Return (low, high, value) less the truth for each green, change, course and spread."""
    kept: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for seed in range(RECORDS):
        rng = np.random.default_rng([seed, len(quantity)])
        if quantity == "green_speed":
            sizes = varied(SPEED, rng, 0.3)
            truth = true_levels(rng, sizes)
            readings = speed_readings(rng, sizes, truth)
        else:
            sizes = varied(SCORE, rng, 1.0)
            free = true_levels(rng, sizes)
            truth = np.clip(free, 0, 10)
            readings = score_readings(rng, sizes, free)
        if not readings:
            continue
        record = Snapshot(
            course=Course(course="invented", name="Invented"),
            as_of=FIRST + timedelta(days=DAYS - 1),
            greens=tuple(Green(green=str(g)) for g in range(GREENS)),
            readings=tuple(readings),
        )
        found = surface(record, quantity)
        assert found is not None
        now, before = truth[-1], truth[-8]
        for name, estimates, true in (
            ("green", found.per_green, now),
            ("change", found.change_7d, now - before),
            ("course", (found.course,), [now.mean()]),
            ("course change", (found.course_change_7d,), [now.mean() - before.mean()]),
            ("spread", (found.between_greens_sd,), [now.std(ddof=1)]),
        ):
            kept[name] += [
                (e.low - t, e.high - t, e.value - t) for e, t in zip(estimates, true, strict=True)
            ]
    return {name: np.array(rows).T for name, rows in kept.items()}


def coverage(quantity: str, what: str = "green", *, shrunk: float = 1.0) -> float:
    """Share of intervals that hold the truth, each shrunk about its estimate by a factor."""
    low, high, error = judged(quantity)[what]
    held = (error + shrunk * (low - error) <= 0) & (error + shrunk * (high - error) >= 0)
    return float(held.mean())


@pytest.mark.slow
@pytest.mark.parametrize("quantity", ["green_speed", "smoothness"])
def test_ninety_per_cent_intervals_hold_the_truth(quantity: str) -> None:
    assert len(judged(quantity)["green"][0]) >= 500 * GREENS
    assert WINDOW[0] <= coverage(quantity) <= WINDOW[1]


@pytest.mark.slow
@pytest.mark.parametrize("quantity", ["green_speed", "smoothness"])
def test_an_estimator_made_too_sure_on_purpose_is_caught(quantity: str) -> None:
    """The same check must refuse intervals of sd x 0.7."""
    assert not WINDOW[0] <= coverage(quantity, shrunk=0.7) <= WINDOW[1]


@pytest.mark.slow
@pytest.mark.parametrize(("quantity", "bias"), [("green_speed", 0.02), ("smoothness", 0.15)])
def test_estimates_are_not_biased(quantity: str, bias: float) -> None:
    """Mean error over 520 records is small beside the sd of one (about 0.09 m, 0.6 points)."""
    assert abs(judged(quantity)["green"][2].mean()) < bias


@pytest.mark.slow
@pytest.mark.parametrize("quantity", ["green_speed", "smoothness"])
@pytest.mark.parametrize("what", ["change", "course", "course change", "spread"])
def test_changes_course_and_spread_hold_the_truth_too(quantity: str, what: str) -> None:
    """One number a record: binomial sd of 520 is 1.3 points, so 85 to 95 % is nearly 4 sds."""
    assert 0.85 <= coverage(quantity, what) <= 0.95
