"""Invented courses whose smoothness is scored, counted and measured: for tests of calibration.

The simulator shares no code with the estimators. Magnitudes are invented, in the range of the
evidence table, and differ from record to record. Each observer has a leniency and a scatter of
his own and writes whole or half points; what lies beyond 10 piles up there. Some days nobody
reads. Each record is read in one of the mixtures below.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from greenwright.base.values import Course, Green, Reading, Snapshot

GREENS, DAYS = 6, 28
FIRST = date(2026, 4, 1)
OBSERVERS = ("ash", "birch", "cedar")
MIXTURES: tuple[tuple[str, ...], ...] = (
    ("smoothness_score",),
    ("smoothness_score", "roll_score"),
    ("smoothness_score", "hops", "clean_rolls"),
    ("roll_score", "clean_rolls"),
    ("smoothness_score", "profile_vertical"),
    ("smoothness_score", "roll_score", "hops", "clean_rolls", "profile_vertical"),
    ("hops",),
)


@dataclass(frozen=True)
class Crew:
    """Leniency, scatter and writing step of each observer."""

    bias: np.ndarray
    scatter: np.ndarray
    step: np.ndarray


@dataclass(frozen=True)
class Links:
    """This course's own links: points at which half the rolls are clean, and so on."""

    half: dict[str, float]
    per_logit: float
    log_at_7: float
    log_per_point: float
    roll_shift: float


@dataclass(frozen=True)
class EyeWorld:
    """True smoothness on each day and green (DAYS, GREENS), and the record of it."""

    truth: np.ndarray
    record: Snapshot
    mixture: tuple[str, ...]
    top_share: float


def wandering(rng: np.random.Generator, width: int, sd: float, memory_d: float) -> np.ndarray:
    keep, path = np.exp(-1 / memory_d), np.empty((DAYS, width))
    path[0] = sd * rng.standard_normal(width)
    for t in range(1, DAYS):
        path[t] = keep * path[t - 1] + sd * np.sqrt(1 - keep**2) * rng.standard_normal(width)
    return path


def true_levels(rng: np.random.Generator, level: float) -> np.ndarray:
    """Return levels free of the scale's ends: course, greens, days, a green's own days."""
    green, day, own = np.array([0.6, 0.5, 0.35]) * np.exp(0.3 * rng.standard_normal(3))
    levels = level + green * rng.standard_normal(GREENS)
    return levels + wandering(rng, 1, day, 4.0) + wandering(rng, GREENS, own, 3.0)


def crew(rng: np.random.Generator) -> Crew:
    leniency, noise = np.array([0.7, 0.75]) * np.exp(0.3 * rng.standard_normal(2))
    steps = np.array([1.0, 0.5, float(rng.choice([0.5, 1.0]))])
    scatter = noise * np.exp(0.35 * rng.standard_normal(3))
    return Crew(leniency * rng.standard_normal(3), scatter, steps)


def links(rng: np.random.Generator) -> Links:
    half = {kind: 5 + rng.standard_normal() for kind in ("hops", "clean_rolls")}
    per_logit = 1.8 * np.exp(0.33 * rng.standard_normal())
    return Links(
        half,
        per_logit,
        log_at_7=rng.standard_normal(),
        log_per_point=-0.25 * np.exp(0.5 * rng.standard_normal()),
        roll_shift=0.5 * rng.standard_normal(),
    )


def written(seen: float, step: float) -> float:
    """Return a score as somebody writes it: on the grid, piled up at 0 and 10."""
    return float(np.clip(np.round(seen / step) * step, 0, 10))


def scored(level: float, who: int, by: Crew, rng: np.random.Generator) -> float:
    seen = level + by.bias[who] + by.scatter[who] * rng.standard_normal()
    return written(seen, by.step[who])


def counted(level: float, half: float, per: float, *, n: int, rng: np.random.Generator) -> int:
    """Return clean rolls of n; the chance itself wanders from set to set."""
    odds = (level + 0.5 * rng.standard_normal() - half) / per
    return int(rng.binomial(n, 1 / (1 + np.exp(-odds))))


def readings_at(
    kind: str, level: float, *, who: int, by: Crew, by_link: Links, rng: np.random.Generator
) -> dict[str, object]:
    """Return value, unit and so on of one reading."""
    if kind == "smoothness_score":
        return {"value": scored(level, who, by, rng), "unit": "score"}
    if kind == "roll_score":
        other = level + by_link.roll_shift + 0.5 * rng.standard_normal()
        return {"value": scored(other, who, by, rng), "unit": "score"}
    if kind == "profile_vertical":
        log = by_link.log_at_7 + by_link.log_per_point * (level - 7)
        value = float(np.exp(log + 0.2 * rng.standard_normal()))
        return {"value": value, "unit": "mm/m", "instrument": "sled-1", "observer": ""}
    n = int(rng.choice([6, 10, 15]))
    clean = counted(level, by_link.half[kind], by_link.per_logit, n=n, rng=rng)
    return {"value": float(clean if kind == "clean_rolls" else n - clean), "unit": "count", "n": n}


def visits(rng: np.random.Generator) -> list[tuple[int, int, int]]:
    """(day, green, observer): some days nobody reads, some greens are passed over."""
    out = rng.random(DAYS) < rng.uniform(0.25, 0.7)
    teams = [rng.choice(3, size=2, replace=False) for _ in range(DAYS)]
    greens = [(t, g) for t in range(DAYS) if out[t] for g in range(GREENS) if rng.random() < 0.8]
    return [(t, g, int(teams[t][rng.integers(2)])) for t, g in greens]


def eye_world(seed: int, *, drift: Callable[[int, int], float] | None = None) -> EyeWorld | None:
    """Return the world of a seed; None where nobody ever read.

    Args:
        drift: (day, observer) -> points added to what the observer gives; None = steady.
    """
    rng = np.random.default_rng([seed, 77])
    mixture = MIXTURES[seed % len(MIXTURES)]
    free = true_levels(rng, 7.6 + 1.2 * rng.standard_normal())
    by, by_link, made, tops = crew(rng), links(rng), [], []
    for t, g, who in visits(rng):
        kinds = [kind for kind in mixture if rng.random() < 0.7] or [mixture[0]]
        for kind in kinds:
            level = free[t, g] + (drift(t, who) if drift else 0.0)
            cells = readings_at(kind, level, who=who, by=by, by_link=by_link, rng=rng)
            at = {"date": FIRST + timedelta(days=t), "green": str(g), "kind": kind}
            made.append(Reading(**(at | {"observer": OBSERVERS[who]} | cells)))
            tops += [cells["value"] == 10] if kind.endswith("score") else []
    if not made:
        return None
    record = Snapshot(
        course=Course(course="invented", name="Invented"),
        as_of=FIRST + timedelta(days=DAYS - 1),
        greens=tuple(Green(green=str(g)) for g in range(GREENS)),
        readings=tuple(made),
    )
    share = float(np.mean(tops)) if tops else 0.0
    return EyeWorld(np.clip(free, 0, 10), record, mixture, share)
