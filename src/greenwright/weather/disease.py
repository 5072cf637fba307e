"""Disease models: an index of the weather, and whether it makes a risk day. Never a product."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import look_up, value

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DiseaseModel:
    """One model.

    Args:
        name: key, as in ``risk:NAME``.
        label: what it is called.
        host: the grass that it was built on.
        days: days averaged.
        needs: fields of a weather day that it reads.
        threshold: from there on a day counts as a risk day.
        unit: of its index.
        index: needs, in their order and averaged -> index; NaN outside what it holds for.
        evidence_keys: what it rests on.
    """

    name: str
    label: str
    host: str
    days: int
    needs: tuple[str, ...]
    threshold: float
    unit: str
    index: Callable[..., Array]
    evidence_keys: tuple[str, ...] = field(default=())


def dollar_spot(rh_mean_pct: ArrayLike, t_mean_c: ArrayLike) -> Array:
    """Return the chance of dollar spot from five-day means; NaN outside 10 to 35 degC.

    logit p = -11.4041 + 0.0894 RH + 0.1932 T.

    Args:
        rh_mean_pct: mean of the daily mean relative humidity over five days [%].
        t_mean_c: mean of the daily mean temperature over the same days [degC].

    Built on creeping bentgrass. Source keys: disease.dollar_spot.*

    >>> round(float(dollar_spot(75.0, 20.0)), 4)
    0.3026
    """
    rh, t = _humidity(rh_mean_pct), np.asarray(t_mean_c, dtype=float)
    logit = (
        value("disease.dollar_spot.intercept")
        + value("disease.dollar_spot.humidity") * rh
        + value("disease.dollar_spot.temperature") * t
    )
    ends = _table("disease.dollar_spot.temperature_range")
    return np.where((t >= ends["low"]) & (t <= ends["high"]), 1 / (1 + np.exp(-logit)), np.nan)


def brown_patch(rh_mean_pct: ArrayLike, t_min_c: ArrayLike) -> Array:
    """Return the brown patch index of days; NaN outside the temperatures it is shown for.

    E = -21.5 + 0.15 RH + 1.4 T - 0.033 T^2.

    Args:
        rh_mean_pct: daily mean relative humidity [%].
        t_min_c: daily lowest temperature [degC].

    Built on ryegrass. Source keys: disease.brown_patch.*

    >>> round(float(brown_patch(90.0, 20.0)), 2)
    6.8
    """
    rh, t = _humidity(rh_mean_pct), np.asarray(t_min_c, dtype=float)
    c = _table("disease.brown_patch.coefficients")
    index = c["constant"] + c["humidity"] * rh + c["temperature"] * t
    ends = _table("disease.brown_patch.ranges")
    inside = (t >= ends["temperature_low"]) & (t <= ends["temperature_high"])
    return np.where(inside, index + c["temperature_squared"] * t**2, np.nan)


def anthracnose(wet_hours: ArrayLike, t_mean_c: ArrayLike) -> Array:
    """Return the anthracnose index from three-day means; NaN outside what it is shown for.

    4.0233 - 0.2283 L - 0.5308 T - 0.0013 L^2 + 0.0197 T^2 + 0.0155 L T, shown as 6 at most.

    Args:
        wet_hours: leaf wetness, hours a day, measured or modelled; never guessed.
        t_mean_c: mean temperature [degC].

    Built on annual bluegrass. Source keys: disease.anthracnose.*

    >>> round(float(anthracnose(15.0, 22.0)), 2)
    3.28
    """
    wet, t = np.asarray(wet_hours, dtype=float), np.asarray(t_mean_c, dtype=float)
    if np.any((wet < 0) | (wet > 24)):
        raise BadInput("a day has no such wet hours", where="wet_hours", expected="0 to 24 h")
    c, ends = _table("disease.anthracnose.coefficients"), _table("disease.anthracnose.ranges")
    index = c["constant"] + c["wet"] * wet + c["temperature"] * t
    index = index + c["wet_squared"] * wet**2 + c["temperature_squared"] * t**2
    index = np.minimum(index + c["wet_temperature"] * wet * t, value("disease.anthracnose.cap"))
    inside = (wet >= ends["wet_low"]) & (wet <= ends["wet_high"])
    inside &= (t >= ends["temperature_low"]) & (t <= ends["temperature_high"])
    return np.where(inside, index, np.nan)


def pythium(t_max_c: ArrayLike, humid_hours: ArrayLike, t_min_c: ArrayLike) -> Array:
    """Return 1 where the pythium blight rule or its alternative holds for a day, else 0.

    A highest temperature over 30 degC and 14 hours over 90 % with a lowest over 20 degC; or over
    27.8 degC and 9 hours.

    Args:
        t_max_c, t_min_c: ends of the day's temperature [degC].
        humid_hours: hours of the day at or over 90 % relative humidity.

    Source keys: disease.pythium.rule, disease.pythium.rule_alternative.

    >>> pythium([31.0, 29.0, 31.0], [14.0, 9.0, 8.0], [21.0, 21.0, 21.0]).tolist()
    [1.0, 1.0, 0.0]
    """
    high, low = np.asarray(t_max_c, dtype=float), np.asarray(t_min_c, dtype=float)
    humid = np.asarray(humid_hours, dtype=float)
    held = np.zeros(np.broadcast_shapes(high.shape, low.shape, humid.shape), dtype=bool)
    for key in ("disease.pythium.rule", "disease.pythium.rule_alternative"):
        rule = _table(key)
        hot = (high > rule["t_max_c"]) & (low > rule["t_min_c"])
        held |= hot & (humid >= rule["humid_hours"])
    unknown = np.isnan(high) | np.isnan(low) | np.isnan(humid)
    return np.where(unknown, np.nan, held.astype(float))


def disease_models(thresholds: dict[str, float] | None = None) -> tuple[DiseaseModel, ...]:
    """Return every model with its threshold: the course's own where one is given.

    Args:
        thresholds: name of a model -> threshold in place of the published one.

    Raises:
        UnknownKey: no such model. BadInput: a threshold that its index never has.
    """
    own = thresholds or {}
    for name, number in own.items():
        if name not in _ENDS:
            raise UnknownKey(f"no disease model {name!r}", expected=", ".join(_ENDS))
        low, high = _ENDS[name]
        if not low < number <= high:
            raise BadInput(
                f"a threshold of {number:g} for {name}",
                where=name,
                expected=f"over {low:g}, to {high:g}",
            )
    return tuple(_model(name, own.get(name)) for name in _ENDS)


_ENDS = {
    "dollar_spot": (0.0, 1.0),
    "brown_patch": (0.0, 10.0),
    "anthracnose": (0.0, 6.0),
    "pythium": (0.0, 1.0),
}
_INDEX = {
    "dollar_spot": (dollar_spot, ("rh_mean_pct", "t_mean_c"), "1"),
    "brown_patch": (brown_patch, ("rh_mean_pct", "t_min_c"), "index"),
    "anthracnose": (anthracnose, ("leaf_wet_h", "t_mean_c"), "index"),
    "pythium": (pythium, ("t_max_c", "rh90_h", "t_min_c"), "rule"),
}
_KEYS = {
    "dollar_spot": ("intercept", "humidity", "temperature", "temperature_range", "threshold"),
    "brown_patch": ("coefficients", "ranges", "threshold"),
    "anthracnose": ("coefficients", "ranges", "threshold", "cap"),
    "pythium": ("rule", "rule_alternative"),
}


def _model(name: str, threshold: float | None) -> DiseaseModel:
    index, needs, unit = _INDEX[name]
    averaged = {"dollar_spot": 5, "anthracnose": 3}
    days = int(value(f"disease.{name}.days")) if name in averaged else 1
    published = 1.0 if name == "pythium" else value(f"disease.{name}.threshold")
    return DiseaseModel(
        name,
        name.replace("_", " ").capitalize(),
        str(_table(f"disease.{name}.host")["host"]),
        days,
        needs,
        published if threshold is None else threshold,
        unit,
        index,
        tuple(f"disease.{name}.{part}" for part in (*_KEYS[name], "host")),
    )


def _humidity(rh_pct: ArrayLike) -> Array:
    rh = np.asarray(rh_pct, dtype=float)
    if np.any((rh < 0) | (rh > 100)):
        raise BadInput("a relative humidity outside 0 to 100 %", where="rh_mean")
    return rh


def _table(key: str) -> dict[str, float]:
    return look_up(key).value  # type: ignore[return-value]
