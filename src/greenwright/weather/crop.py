"""Crop coefficients: what a green uses of the reference evapotranspiration."""

from __future__ import annotations

from dataclasses import dataclass

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up
from greenwright.weather.growth import curve_of


@dataclass(frozen=True, slots=True)
class CropCoefficient:
    """A crop coefficient with its spread; own = the course entered it."""

    value: float
    sd: float
    own: bool
    evidence_keys: tuple[str, ...]


LOWEST, HIGHEST = 0.05, 1.5
"""A coefficient outside these is a slip."""


def crop_coefficient(grass: str, own: float | None = None) -> CropCoefficient:
    """Return the crop coefficient of a grass: the course's own, else the mean of its kind.

    The monthly values are Californian and those of the first day after watering probably hold
    drainage: neither is used.

    Args:
        grass: of the record's vocabulary.
        own: entered by the course; its spread is half of the mean's.

    Raises:
        BadInput: one that no grass has. UnknownKey: no such grass.

    Source keys: crop_coefficient.c3.mean, crop_coefficient.c4.mean.

    >>> crop_coefficient("creeping bentgrass").value, crop_coefficient("bermudagrass").value
    (0.8, 0.6)
    """
    kind = "c4" if curve_of(grass).key.startswith("c4") else "c3"
    key = f"crop_coefficient.{kind}.mean"
    held = look_up(key)
    sd = held.sd or 0.0
    if own is None:
        return CropCoefficient(float(held.value), sd, False, (key,))  # type: ignore[arg-type]
    if not LOWEST <= own <= HIGHEST:
        raise BadInput(
            f"a crop coefficient of {own:g}",
            where="crop_coefficient",
            expected=f"{LOWEST:g} to {HIGHEST:g}",
        )
    return CropCoefficient(own, sd / 2, True, (key,))
