"""The green that a ball rolls on: its shape, speed and roughness, plain or as fields."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.roll.constants import GRAVITY_M_S2, STOPPING_LENGTH_M
from greenwright.roll.grid import HeightGrid

Floats = NDArray[np.float64]
SLOWEST_M, FASTEST_M = 0.3, 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Terrain:
    """A green, in coordinates along the ground [m].

    Args:
        slope_x, slope_y: rise over run towards +x and +y, added to the grid's where there
            is one.
        grid: heights, if they were surveyed.
        green_speed_m: level green speed [m], a number or a field of them (`HeightGrid` whose
            heights are speeds).
        trueness_t: speed-free trueness index T [m]; the heading's walk K = T / (4 rho^2).
        heading_k: K itself [m], in place of T.
        distance_noise_m: c, so that one ball's roll L varies with variance c L [m].
        correlation_m: length below which the surface does not change the heading [m].
        along_slope_rms: rms of the small slopes along the ball's way, whose impacts slow it.
        impact_length_m: length of those bumps [m] (key roll.loss_length).
        rim_spread: relative sd of the hole's catching speed from ball to ball.

    Raises:
        BadInput: a number outside what a green can be, or both T and K given.
    """

    slope_x: float = 0.0
    slope_y: float = 0.0
    grid: HeightGrid | None = None
    green_speed_m: float | HeightGrid = 3.0
    trueness_t: float = 0.0
    heading_k: float = 0.0
    distance_noise_m: float = 0.0
    correlation_m: float = 0.01
    along_slope_rms: float = 0.0
    impact_length_m: float = 0.02
    rim_spread: float = 0.0

    def __post_init__(self) -> None:
        field = self.green_speed_m
        speeds = field.heights_m if isinstance(field, HeightGrid) else np.array([field])
        if not np.all((speeds >= SLOWEST_M) & (speeds <= FASTEST_M)):
            raise BadInput(
                "no green rolls that far",
                where="green speed",
                expected=f"{SLOWEST_M:g} to {FASTEST_M:g} m",
            )
        amounts = (self.trueness_t, self.heading_k, self.distance_noise_m, self.rim_spread)
        lengths = (self.correlation_m, self.impact_length_m)
        given = (self.slope_x, self.slope_y, *amounts, self.along_slope_rms, *lengths)
        if not np.all(np.isfinite(given)):
            raise BadInput("a green is told in finite numbers", where="terrain")
        if min(*amounts, self.along_slope_rms) < 0 or min(lengths) <= 0:
            raise BadInput("roughness cannot be below zero", where="terrain")
        if self.trueness_t and self.heading_k:
            raise BadInput("give the trueness index or the heading walk, not both", where="terrain")

    @property
    def uneven(self) -> bool:
        """Tell whether slope or speed differ from place to place."""
        return self.grid is not None or isinstance(self.green_speed_m, HeightGrid)

    @property
    def impact(self) -> float:
        """Return the resistance that impacts add for each unit of speed squared [s2/m2]."""
        return self.along_slope_rms**2 / (2 * GRAVITY_M_S2 * self.impact_length_m)

    def gradient(self, x_m: ArrayLike, y_m: ArrayLike) -> tuple[Floats, Floats]:
        """Return dz/dx and dz/dy at places [m], any one shape."""
        x, y = np.asarray(x_m, dtype=float), np.asarray(y_m, dtype=float)
        dx, dy = self.grid.gradient(x, y) if self.grid else (np.zeros_like(x), np.zeros_like(y))
        return dx + self.slope_x, dy + self.slope_y

    def resistance(self, x_m: ArrayLike, y_m: ArrayLike) -> Floats:
        """Return the coefficient of rolling resistance at places [m]."""
        x = np.asarray(x_m, dtype=float)
        if isinstance(self.green_speed_m, HeightGrid):
            return STOPPING_LENGTH_M / self.green_speed_m.height(x, y_m)
        return np.full(x.shape, STOPPING_LENGTH_M / self.green_speed_m)

    def walk(self, resistance: ArrayLike) -> Floats:
        """Return the heading's random walk K [m] where the resistance is known."""
        rho = np.asarray(resistance, dtype=float)
        return self.trueness_t / (4 * rho**2) + self.heading_k * np.ones_like(rho)
