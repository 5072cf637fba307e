"""Putts with their paths: a few hundred balls in double precision, for pictures and checks."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from greenwright.roll.chance import LAST, keys, nearly_normal
from greenwright.roll.resting import CAUGHT, GOING, comes_to_rest, crawled, drops, last_way
from greenwright.roll.stepping import (
    CHUNK,
    LONGEST_M,
    STEP_M,
    Balls,
    Ground,
    at_start,
    crossing,
    ground_under,
    stepped,
)
from greenwright.roll.stroke import Aim, Launched, launched
from greenwright.roll.terrain import Terrain

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class PuttPaths:
    """Rolled putts, (n,) each: where they ended on the terrain [m] and what became of them.

    Args:
        x, y: resting place, the hole's centre for holed balls [m].
        holed: whether the hole has them.
        rested: False where a ball was still on the move after 60 m.
        paths: (n, points, 2) places on the way, every 78 mm or closer [m]; after the end, nan.
    """

    x: Floats
    y: Floats
    holed: Flags
    rested: Flags
    paths: Floats


def putt_paths(terrain: Terrain, aim: Aim, *, n: int = 200, seed: int = 0) -> PuttPaths:
    """Roll n putts and keep their paths.

    Args:
        terrain, aim: the green and the stroke.
        n: how many; meant for up to a few thousand.
        seed: the same seed rolls the same putts, as in `simulate_putts`.

    Raises:
        BadInput: fewer than one ball.

    A ball that runs over the hole too fast goes straight on; how the rim throws it is not
    modelled. Places are measured along the ground; on a grid of heights that differs from the
    map by the cosine of the slope (0.05 % at 3 %).
    """
    start = launched(terrain, aim, n=n, seed=seed)
    run = _Run(terrain, aim, start, seed)
    while run.rolling.which.size:
        run.chunk()
    return run.result()


class _Run:
    """The balls still rolling, those that are done, and the way all of them came."""

    def __init__(self, terrain: Terrain, aim: Aim, start: Launched, seed: int) -> None:
        self.terrain, self.aim, self.start = terrain, aim, start
        n = len(start.energy)
        self.rolling = at_start(aim, start)
        self.key = keys(seed, np.arange(n), "heading")
        self.kick = nearly_normal(*self.key, LAST)
        self.limit = aim.capture_limit * start.limit
        self.x, self.y = np.full(n, np.nan), np.full(n, np.nan)
        self.holed, self.rested = np.zeros(n, dtype=bool), np.ones(n, dtype=bool)
        self.uneven = terrain.uneven
        self.way: list[Floats] = []
        self.crawled: list[tuple[float, ...]] = []

    def chunk(self) -> None:
        """Roll the balls for one look at the ground."""
        first = len(self.way) * CHUNK
        self._mark()
        ground = ground_under(self.terrain, self.aim, self.rolling, self.start)
        for step in range(first, first + CHUNK):
            ground = self._finish(self.rolling.energy <= ground.stop, ground)
            if not self.rolling.which.size:
                break
            ground = self._advance(ground, step)
        self._rejoin()
        if (first + CHUNK) * STEP_M > LONGEST_M:
            self._lose()

    def _advance(self, ground: Ground, step: int) -> Ground:
        which = self.rolling.which
        turn = nearly_normal(self.key[0][which], self.key[1][which], step)
        after = stepped(self.rolling, ground, turn, correlation_m=self.terrain.correlation_m)
        caught = crossing(self.rolling, after, self.limit[which])
        self.holed[which[caught]] = True
        self.x[which[caught]] = self.y[which[caught]] = 0.0
        self.rolling = _kept(after, ~caught)
        return _kept(ground, ~caught)

    def _finish(self, slow: Flags, ground: Ground) -> Ground:
        if not slow.any():
            return ground
        done, under = _kept(self.rolling, slow), _kept(ground, slow)
        for place, which in enumerate(done.which):
            ball = _row(done, "x y cx cy energy", place)
            plane = _row(under, "dx dy rho walk", place)
            if comes_to_rest(ball[4], plane, self.uneven):
                self._rest(which, ball, plane)
            else:
                self._crawl(which, ball, plane)
        self.rolling = _kept(self.rolling, ~slow)
        return _kept(ground, ~slow)

    def _crawl(self, which: int, ball: tuple, under: tuple) -> None:
        *after, fate = crawled(ball, under, float(self.limit[which]), CHUNK * STEP_M)
        if fate == GOING:
            self.crawled.append((which, *after))
            return
        self.holed[which] = fate == CAUGHT
        self.x[which], self.y[which] = (0.0, 0.0) if fate == CAUGHT else after[:2]

    def _rejoin(self) -> None:
        """Let the balls that crawled roll on with the next chunk."""
        if not self.crawled:
            return
        which, *parts = zip(*self.crawled, strict=True)
        numbers = dict(zip(("x", "y", "cx", "cy", "energy"), map(np.array, parts), strict=True))
        joined = {name: np.append(getattr(self.rolling, name), numbers[name]) for name in numbers}
        self.rolling = Balls(which=np.append(self.rolling.which, which), **joined)
        self.crawled = []

    def _rest(self, which: int, ball: tuple, under: tuple) -> None:
        kick, limit = float(self.kick[which]), float(self.limit[which])
        x, y, _, _, held = last_way(ball, under, kick, self.terrain.correlation_m)
        self.rested[which] = held > 0
        self.holed[which] = held > 0 and drops(ball, x, y, limit)
        self.x[which], self.y[which] = (
            (0.0, 0.0) if self.holed[which] else (ball[0] + x, ball[1] + y)
        )

    def _lose(self) -> None:
        which = self.rolling.which
        self.rested[which] = False
        self.x[which], self.y[which] = self.rolling.x, self.rolling.y
        self.rolling = _kept(self.rolling, np.zeros(which.size, dtype=bool))

    def _mark(self) -> None:
        places = np.full((len(self.x), 2), np.nan)
        places[self.rolling.which, 0], places[self.rolling.which, 1] = (
            self.rolling.x,
            self.rolling.y,
        )
        self.way.append(places)

    def result(self) -> PuttPaths:
        """Return the putts on the terrain's own coordinates."""
        hole = np.array(self.aim.hole)
        ends = np.stack([self.x, self.y], axis=1)
        paths = np.stack([*self.way, np.full_like(ends, np.nan)], axis=1)
        last = np.isfinite(paths[:, :, 0]).sum(axis=1)
        paths[np.arange(len(ends)), last] = ends
        x, y = (ends + hole).T
        return PuttPaths(x, y, self.holed, self.rested, paths + hole)


def _kept(held: Any, keep: Flags) -> Any:
    """Return the same for the balls kept."""
    if keep.all():
        return held
    parts = {f.name: getattr(held, f.name) for f in fields(held)}
    cut = {name: part[keep] for name, part in parts.items() if isinstance(part, np.ndarray)}
    return replace(held, **cut)


def _row(held: Any, names: str, place: int) -> tuple[float, ...]:
    return tuple(float(getattr(held, name)[place]) for name in names.split())
