"""What is asked of golfers: levels in place of the estimates, rounds, and the putts to picture."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from types import MappingProxyType

from greenwright.base.errors import BadInput

Ends = tuple[float, float, str]

_RANGES: MappingProxyType[str, Ends] = MappingProxyType(
    {
        "rounds": (0.0, 2000.0, "rounds"),
        "speed_m": (1.0, 5.5, "m"),
        "smoothness": (0.0, 10.0, "points"),
        "trueness_t": (0.0, 1e-3, "m"),
        "sideways_mm_per_m": (0.0, 100.0, "mm/m"),
        "distance_m": (0.3, 20.0, "m"),
    }
)

LEVELS = ("speed_m", "smoothness", "trueness_t")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The options of the question golfers; None and "" are left to the record.

    Args:
        rounds: played on the day, for the complaints.
        speed_m [m], smoothness [0..10], trueness_t [m]: levels of the course in place of the
            estimates; sideways_mm_per_m [mm/m] says trueness_t at the day's speed.
        green, player, distance_m [m]: of the putts to picture.
        heights: file of a height grid to picture them on (ESRI ASCII grid, or CSV).

    Raises:
        BadInput: a number outside what can be, or trueness given twice.
    """

    rounds: float | None = None
    speed_m: float | None = None
    smoothness: float | None = None
    trueness_t: float | None = None
    sideways_mm_per_m: float | None = None
    green: str = ""
    player: str = ""
    distance_m: float | None = None
    heights: Path | None = None

    def __post_init__(self) -> None:
        for name, (low, high, unit) in _RANGES.items():
            number = getattr(self, name)
            if number is not None and not (isfinite(number) and low <= number <= high):
                raise BadInput(
                    f"{number:g} {unit} cannot be",
                    where=name.split("_")[0],
                    expected=f"{low:g} to {high:g} {unit}",
                    do="Check the number and its unit",
                )
        if self.trueness_t is not None and self.sideways_mm_per_m is not None:
            raise BadInput(
                "trueness is given twice",
                where="trueness",
                expected="the index in m, or mm/m at the day's speed",
                do="Leave one out",
            )
