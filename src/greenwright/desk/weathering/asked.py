"""What is asked of weather: days ahead, and the course's own settings in place of usual ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from greenwright.base.errors import BadInput
from greenwright.desk.span import days_ahead_of
from greenwright.weather.disease import DiseaseModel, disease_models
from greenwright.weather.zones import Own

LONGEST = 14


@dataclass(frozen=True, slots=True)
class Asked:
    """The options of the question weather.

    Args:
        days: ahead, 1 to 14.
        own: crop coefficient and root depth [m] for every green.
        thresholds: disease model -> threshold in place of the published one.
    """

    days: int = LONGEST
    own: Own = field(default_factory=Own)
    thresholds: Mapping[str, float] = field(default_factory=dict)

    @property
    def models(self) -> tuple[DiseaseModel, ...]:
        """Return the disease models with their thresholds."""
        return disease_models(dict(self.thresholds))


def asked_of(
    *,
    days: float | str = LONGEST,
    threshold: str = "",
    crop_coefficient: float | None = None,
    root_depth_m: float | None = None,
) -> Asked:
    """Return the options as they were meant.

    Args:
        days: a whole number, 1 to 14.
        threshold: as ``dollar_spot=0.3; brown_patch=5``.
        crop_coefficient: of every green, 0.05 to 1.5.
        root_depth_m: of every green [m].

    Raises:
        BadInput: an option that cannot be read or cannot be. UnknownKey: no such disease model.

    >>> asked_of(threshold="dollar_spot=0.3").thresholds
    {'dollar_spot': 0.3}
    """
    for name, number in (("crop_coefficient", crop_coefficient), ("root_depth", root_depth_m)):
        if number is not None and not (isfinite(number) and number > 0):
            raise BadInput(f"{number:g} is no {name.replace('_', ' ')}", where=name)
    ahead, own = days_ahead_of(days, most=LONGEST), Own(crop_coefficient, root_depth_m)
    made = Asked(ahead, own, _thresholds(threshold))
    disease_models(dict(made.thresholds))
    return made


def _thresholds(text: str) -> dict[str, float]:
    made = {}
    for part in (p.strip() for p in text.replace(",", ";").split(";")):
        if not part:
            continue
        name, _, number = (x.strip() for x in part.partition("="))
        try:
            made[name.replace("-", "_")] = float(number)
        except ValueError:
            raise BadInput(
                f"{part!r} is no threshold",
                where="threshold",
                expected="as dollar_spot=0.3; brown_patch=5",
            ) from None
    return made
