"""Growth potential: how fully a grass can grow at an air temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import evidence, look_up, value
from greenwright.base.values import WeatherDay

CURVES: tuple[str, ...] = ("c3", "c4", "annual_bluegrass", "c4_wide", "c4_uncapped")
"""Curves by key; the last two are variants of c4: a wider bell, and one that falls again."""

COLDEST_C, HOTTEST_C = -60.0, 60.0
"""Air outside this window is a slip of the unit, not weather."""


@dataclass(frozen=True, slots=True)
class GrowthCurve:
    """A bell of growth over temperature; at and over cap_c [degC] the potential is 1."""

    key: str
    optimum_c: float
    width_c: float
    cap_c: float | None
    evidence_keys: tuple[str, ...]


def curve_of(grass: str) -> GrowthCurve:
    """Return the growth curve of a grass, or of a curve named by its key.

    Args:
        grass: a grass of the record's vocabulary, or a key of CURVES. A mixture of bentgrass and
            bluegrass takes the curve that the evidence table names for it.

    Raises:
        UnknownKey: neither.

    Source keys: growth.curve.<grass>, growth.<curve>.optimum, growth.<curve>.width, growth.c4.cap.
    """
    key, named = grass.strip().lower().replace(" ", "_").replace("-", "_"), ()
    if key not in CURVES:
        named = (f"growth.curve.{key}",)
        if named[0] not in evidence():
            raise UnknownKey(f"no growth curve for the grass {grass!r}", expected=_grasses())
        key = str(look_up(named[0]).value["curve"])  # type: ignore[index,call-overload]
    used = (f"growth.{key}.optimum", f"growth.{key}.width")
    cap = f"growth.{key}.cap"
    capped = cap in evidence()
    return GrowthCurve(
        key,
        value(used[0]),
        value(used[1]),
        value(cap) if capped else None,
        (*named, *used, *((cap,) if capped else ())),
    )


def growth_potential(t_mean_c: ArrayLike, grass: str) -> NDArray[np.float64] | float:
    """Return the growth potential, 0..1.

    GP = exp(-1/2 ((T - optimum) / width)^2); warm-season grasses keep 1 above their optimum.

    Args:
        t_mean_c: mean air temperature of a day or longer [degC], any shape.
        grass: a grass of the record's vocabulary, or a key of CURVES.

    Valid for: mean temperatures; ignores light, water and humidity, so it is an upper envelope.

    Raises:
        BadInput: a temperature outside -60 to 60 degC or not finite.

    >>> round(growth_potential(10.0, "creeping bentgrass"), 4)
    0.1915
    """
    t = np.asarray(t_mean_c, dtype=float)
    if not np.all((t >= COLDEST_C) & (t <= HOTTEST_C)):
        raise BadInput(
            "a mean air temperature is outside what air can be",
            where="t_mean",
            expected=f"{COLDEST_C:g} to {HOTTEST_C:g} degC",
            do="check the unit: degrees Celsius are wanted here",
        )
    curve = curve_of(grass)
    gp = np.exp(-0.5 * ((t - curve.optimum_c) / curve.width_c) ** 2)
    if curve.cap_c is not None:
        gp = np.where(t >= curve.cap_c, 1.0, gp)
    return float(gp) if gp.ndim == 0 else gp


def mean_temperature(day: WeatherDay) -> float | None:
    """Return the mean air temperature of a day [degC]: as given, else midway min and max.

    >>> from datetime import date
    >>> mean_temperature(WeatherDay(date=date(2026, 6, 1), t_min_c=9.0, t_max_c=18.0))
    13.5
    """
    if day.t_mean_c is not None:
        return day.t_mean_c
    if day.t_min_c is None or day.t_max_c is None:
        return None
    return (day.t_min_c + day.t_max_c) / 2


def _grasses() -> str:
    named = [k.removeprefix("growth.curve.") for k in evidence() if k.startswith("growth.curve.")]
    return ", ".join(name.replace("_", " ") for name in named)
