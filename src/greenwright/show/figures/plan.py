"""Where putts lie on a green, turned so that the ball is below and the hole above."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from statistics import median
from typing import Any

HOLE_M = 0.054
"""Radius of the hole [m]."""
_MARGIN = 0.25
_INSIDE = 0.97
"""Share of the balls that the picture must hold; a stray one would make all others small."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Rolled:
    """Putts on one surface: across [m, right positive] and along [m] from the ball.

    Args:
        missed: where those ended that did not drop.
        holed: how many dropped.
        paths: a sample of the ways that balls took, with whether they dropped.
    """

    missed: tuple[Point, ...]
    holed: int
    paths: tuple[tuple[tuple[Point, ...], bool], ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The green from above: now and perfectly true, ball at (0, 0), hole at (0, distance)."""

    distance_m: float
    now: Rolled
    perfect: Rolled

    def room(self) -> tuple[float, float, float]:
        """Return half the width, the lowest and the highest place that must be seen [m]."""
        every = [*self.now.missed, *self.perfect.missed]
        across = sorted(abs(x) for x, _ in every) or [0.0]
        along = sorted([y for _, y in every] or [self.distance_m])
        held = int(_INSIDE * (len(across) - 1))
        top = max(along[int(_INSIDE * (len(along) - 1))], self.distance_m)
        bottom = min(along[0], 0.0)
        return max(across[held], 0.3) + _MARGIN, bottom - _MARGIN, top + _MARGIN


def plan_of(putts: Mapping[str, Any]) -> Plan:
    """Return the plan of an answer's putts, turned and moved."""
    start, hole = putts["start"], putts["hole"]
    right, up = hole[0] - start[0], hole[1] - start[1]
    length = hypot(right, up) or 1.0
    turn = _Turn(start[0], start[1], right / length, up / length)
    now = _rolled(turn, putts.get("ends") or (), putts.get("paths") or ())
    perfect = _rolled(turn, putts.get("perfect_ends") or (), putts.get("perfect_paths") or ())
    return Plan(length, now, perfect)


@dataclass(frozen=True, slots=True)
class _Turn:
    """Where the ball lies, and the direction of the hole."""

    x: float
    y: float
    right: float
    up: float

    def of(self, point: Sequence[float]) -> Point:
        """Return a place as seen from the ball, the hole straight ahead."""
        right, up = point[0] - self.x, point[1] - self.y
        return right * self.up - up * self.right, right * self.right + up * self.up


def _rolled(
    turn: _Turn, ends: Sequence[Sequence[Any]], paths: Sequence[Sequence[Sequence[float]]]
) -> Rolled:
    dropped = [bool(end[2]) for end in ends]
    missed = tuple(turn.of(end) for end, held in zip(ends, dropped, strict=True) if not held)
    ways = (tuple(turn.of(point) for point in path) for path in paths)
    return Rolled(missed, sum(dropped), tuple(zip(ways, dropped, strict=False)))


def left_over(rolled: Rolled, distance_m: float) -> float | None:
    """Return the distance that half of the missed putts leave [m], or nothing if all dropped.

    >>> left_over(Rolled(((0.0, 3.5), (0.3, 3.0), (0.0, 2.9)), 0), 3.0)
    0.3
    """
    if not rolled.missed:
        return None
    return round(median(hypot(x, y - distance_m) for x, y in rolled.missed), 3)


def short_of(rolled: Rolled, distance_m: float) -> int:
    """Return how many missed putts stopped before they were as far as the hole."""
    return sum(y < distance_m for _, y in rolled.missed)


def thinned(path: Sequence[Point], every: int = 4) -> tuple[Point, ...]:
    """Return each fourth point of a path, and its last."""
    kept = path[::every]
    return tuple(kept) if not path or kept[-1] == path[-1] else (*kept, path[-1])
