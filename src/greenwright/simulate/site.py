"""The invented greens themselves: their groups, soils, shade and own levels."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.simulate.world import World

GROUPS = ("A", "B", "C")
STATIONS = ("front", "back")


@dataclass(frozen=True, slots=True)
class Site:
    """What stays the same about the greens all through; arrays by green unless said."""

    world: World
    names: tuple[str, ...]
    group: np.ndarray  # index into GROUPS
    area_m2: np.ndarray
    light: np.ndarray  # share of open light
    field_capacity_pct: np.ndarray
    offsets: Mapping[str, np.ndarray]
    slopes: Mapping[str, np.ndarray]  # practice -> factor on its effects, mean 1
    station_slope: np.ndarray  # greens x stations, rise over run along direction a
    station_offset: np.ndarray  # greens x stations [m]

    def members(self, group: int) -> tuple[int, ...]:
        """Give the greens of a group by index."""
        return tuple(int(i) for i in np.flatnonzero(self.group == group))

    def spell(self, greens: tuple[int, ...]) -> str:
        """Write greens as a cell of the record: all, a group, or keys joined with ;."""
        chosen = set(greens)
        if len(chosen) == len(self.names):
            return "all"
        for group, label in enumerate(GROUPS):
            if chosen == set(self.members(group)):
                return label
        return ";".join(self.names[i] for i in sorted(chosen))

    def parted(self, greens: tuple[int, ...]) -> list[tuple[int, ...]]:
        """Part greens as a crew would write them: all at once, else whole groups, then the rest."""
        if len(set(greens)) == len(self.names):
            return [greens]
        groups = [self.members(g) for g in range(len(GROUPS))]
        whole = [members for members in groups if set(members) <= set(greens)]
        rest = set(greens).difference(*whole)
        return [*whole, tuple(sorted(rest))] if rest else whole


def _groups(n: int) -> np.ndarray:
    orders = list(itertools.permutations(range(len(GROUPS))))
    dealt = [orders[(5 * k + 1) % len(orders)] for k in range(-(-n // len(GROUPS)))]
    return np.array(list(itertools.chain.from_iterable(dealt))[:n])


def _centred(rng: np.random.Generator, n: int, sd: float) -> np.ndarray:
    draws = sd * rng.standard_normal(n)
    return draws - draws.mean()


def draw_site(world: World, rng: np.random.Generator) -> Site:
    """Draw the greens of a world; group C has sand-topped soil, more shade and less speed."""
    n = world.greens
    group = _groups(n)
    soil = group == GROUPS.index("C")
    offsets = {q: _centred(rng, n, sd) for q, sd in world.surface.between_greens_sd.items()}
    offsets["green_speed"] = offsets["green_speed"] - 0.06 * soil
    offsets["firmness"] = offsets["firmness"] - 4.0 * soil
    practices = sorted({r.practice for r in world.responses})
    spread = world.surface.between_slopes_sd
    crew = world.crew
    return Site(
        world=world,
        names=tuple(str(i + 1) for i in range(n)),
        group=group,
        area_m2=np.round(rng.normal(500, 70, n).clip(340, 680), -1),
        light=np.where(soil, rng.uniform(0.6, 0.95, n), rng.uniform(0.85, 1.0, n)),
        field_capacity_pct=np.where(soil, 29.0, 22.0) + rng.normal(0, 1, n),
        offsets=offsets,
        slopes={p: 1 + _centred(rng, n, spread).clip(-0.5, 0.5) for p in practices},
        station_slope=crew.station_slope_sd * rng.standard_normal((n, len(STATIONS))).clip(-2, 2),
        station_offset=_paired(rng, n, crew.station_sd_m),
    )


def _paired(rng: np.random.Generator, n: int, sd: float) -> np.ndarray:
    # The stations of one green cancel, so that their mean is the green's own truth.
    half = sd * rng.standard_normal(n)
    return np.stack([half, -half], axis=1)
