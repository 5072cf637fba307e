"""Reference evapotranspiration: what a well-watered reference grass would use in a day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput
from greenwright.base.evidence import look_up, value
from greenwright.weather.sun import extraterrestrial

STEFAN_BOLTZMANN = 4.903e-9
"""Radiation of a black body [MJ/K4/m2/d]."""
EVAPORATES = 0.408
"""Water that a megajoule evaporates [kg/MJ], 1 / 2.45."""

CONSTANTS: tuple[str, ...] = (
    "eto.albedo",
    "eto.angstrom_a",
    "eto.angstrom_b",
    "eto.resistance_constant",
    "eto.wind_constant",
)
STAND_INS = {
    "wind": "eto.default_wind",
    "radiation": "eto.krs_inland",
}
"""What is missing -> the evidence key of what stands in."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the air is: latitude [deg], elevation [m]; on a coast the days are clearer."""

    latitude_deg: float
    elevation_m: float = 0.0
    coast: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The weather of days, each number of any one shape; NaN or None = not read.

    Args:
        t_min, t_max: ends of the day's temperature [degC].
        t_mean: mean of the day [degC]; midway where not given.
        ea: vapour pressure [kPa]; before any humidity.
        rh_min, rh_max, rh_mean: relative humidity [%].
        wind: mean wind [m/s] at wind_height [m] over the ground.
        solar: radiation [MJ/m2/d]; sunshine: hours of it.
        soil_heat: into the ground [MJ/m2/d], 0 for single days.
    """

    t_min: ArrayLike
    t_max: ArrayLike
    t_mean: ArrayLike | None = None
    ea: ArrayLike | None = None
    rh_min: ArrayLike | None = None
    rh_max: ArrayLike | None = None
    rh_mean: ArrayLike | None = None
    wind: ArrayLike | None = None
    wind_height: ArrayLike | None = None
    solar: ArrayLike | None = None
    sunshine: ArrayLike | None = None
    soil_heat: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class Reference:
    """Reference evapotranspiration [mm/d] with every step towards it.

    Args:
        eto: the result [mm/d].
        t_mean [degC], pressure [kPa], delta, gamma [kPa/K], es, ea [kPa], u2 [m/s]: the air.
        ra, daylight, rs, rso, rns, rnl, rn, g: radiation [MJ/m2/d]; daylight [h].
        no_humidity, no_wind, no_radiation: where something stood in for a reading.
    """

    eto: Array
    t_mean: Array
    pressure: float
    delta: Array
    gamma: float
    es: Array
    ea: Array
    u2: Array
    ra: Array
    daylight: Array
    rs: Array
    rso: Array
    rns: Array
    rnl: Array
    rn: Array
    g: Array
    no_humidity: NDArray[np.bool_]
    no_wind: NDArray[np.bool_]
    no_radiation: NDArray[np.bool_]

    @property
    def relative_sd(self) -> Array:
        """Return the relative spread of eto: of complete data, more for what stood in."""
        more = look_up("water.eto_sd_missing").value
        held = np.full(self.eto.shape, value("water.eto_sd") ** 2)
        for name, missing in (
            ("humidity", self.no_humidity),
            ("wind", self.no_wind),
            ("radiation", self.no_radiation),
        ):
            held = held + np.where(missing, more[name] ** 2, 0.0)  # type: ignore[index,call-overload]
        return np.sqrt(held)


def saturation(t_c: ArrayLike) -> Array:
    """Return the vapour pressure of saturated air [kPa]: 0.6108 exp(17.27 T / (T + 237.3)).

    >>> round(float(saturation(24.5)), 3)  # printed table of the paper: 3.075
    3.075
    """
    t = np.asarray(t_c, dtype=float)
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def pressure_at(elevation_m: float) -> float:
    """Return the usual air pressure [kPa] at a height over the sea.

    >>> round(pressure_at(1800.0), 1)  # worked example of the paper: 81.8
    81.8
    """
    return 101.3 * ((293 - 0.0065 * elevation_m) / 293) ** 5.26


def wind_at_2m(wind: ArrayLike, height_m: ArrayLike) -> Array:
    """Return the wind at 2 m [m/s] from one read higher or lower over short grass.

    >>> round(float(wind_at_2m(3.2, 10.0)), 1)  # worked example of the paper: 2.4
    2.4
    """
    height = np.asarray(height_m, dtype=float)
    if not np.all(np.isnan(height) | (height > 0.1)):
        raise BadInput("a wind height is at the ground", expected="over 0.1 m", where="wind_height")
    return np.asarray(wind, dtype=float) * 4.87 / np.log(67.8 * height - 5.42)


def reference_et(air: Air, place: Place, day_of_year: ArrayLike) -> Reference:
    """Return the FAO Penman-Monteith reference evapotranspiration of days, with each step.

    eto = (0.408 delta (Rn - G) + gamma 900 / (T + 273) u2 (es - ea))
    / (delta + gamma (1 + 0.34 u2)).

    What was not read is stood in for as the paper allows: humidity by dew at the night's lowest
    temperature, wind by 2 m/s, radiation by sunshine, else by the span of temperature.

    Args:
        air: the weather of the days.
        place: where.
        day_of_year: 1 to 366, of the same shape.

    Valid for: daily steps; dew at the lowest temperature is too damp for dry places.

    Raises:
        BadInput: a number that no air has, or a highest temperature under the lowest.

    Source keys: eto.*, water.eto_sd_missing.
    """
    t_min, t_max = (np.asarray(t, dtype=float) for t in (air.t_min, air.t_max))
    _refuse(air, t_min, t_max)
    t_mean = _or(air.t_mean, (t_min + t_max) / 2)
    ends = (t_min, t_max)
    es = (saturation(t_max) + saturation(t_min)) / 2
    ea, no_humidity = _vapour(air, ends, es)
    u2, no_wind = _wind(air, t_mean)
    ra, daylight = extraterrestrial(place.latitude_deg, day_of_year)
    rs, no_radiation = _sunlight(air, ra, daylight, span=t_max - t_min, coast=place.coast)
    rso = (0.75 + 2e-5 * place.elevation_m) * ra
    rns = (1 - value("eto.albedo")) * rs
    rnl = _longwave(ends, ea, rs, rso)
    g = np.asarray(air.soil_heat, dtype=float)
    pressure = pressure_at(place.elevation_m)
    gamma = 0.665e-3 * pressure
    delta = 4098 * saturation(t_mean) / (t_mean + 237.3) ** 2
    drying = gamma * value("eto.wind_constant") / (t_mean + 273) * u2 * (es - ea)
    against = delta + gamma * (1 + value("eto.resistance_constant") * u2)
    eto = np.clip((EVAPORATES * delta * (rns - rnl - g) + drying) / against, 0.0, None)
    return Reference(
        eto, t_mean, pressure, delta, gamma, es, ea, u2, ra, daylight, rs, rso, rns, rnl,
        rns - rnl, g, no_humidity, no_wind, no_radiation,
    )  # fmt: skip


def hargreaves(t_min: ArrayLike, t_max: ArrayLike, place: Place, day_of_year: ArrayLike) -> Array:
    """Return reference evapotranspiration from temperature alone [mm/d].

    0.0023 (T + 17.8) sqrt(Tmax - Tmin) Ra, Ra in mm of water a day.

    Valid for: checks, and places without any other reading; check against the full equation.

    Source keys: eto.hargreaves, eto.hargreaves_offset.

    >>> lyon = Place(45.72, 200.0)
    >>> round(float(hargreaves(14.8, 26.6, lyon, 196)), 2)  # worked example 20: 5.03
    5.03
    """
    low, high = (np.asarray(t, dtype=float) for t in (t_min, t_max))
    _refuse(Air(t_min=low, t_max=high), low, high)
    ra, _ = extraterrestrial(place.latitude_deg, day_of_year)
    warmth = (low + high) / 2 + value("eto.hargreaves_offset")
    found = value("eto.hargreaves") * warmth * np.sqrt(high - low) * EVAPORATES * ra
    return np.clip(found, 0.0, None)


def soil_heat_monthly(t_mean: float, t_mean_before: float) -> float:
    """Return the heat that goes into the ground in a month [MJ/m2/d]: 0.14 per kelvin of rise."""
    return 0.14 * (t_mean - t_mean_before)


def _or(given: ArrayLike | None, otherwise: Array) -> Array:
    """Return what was given, and where it was not the other."""
    if given is None:
        return otherwise
    held = np.asarray(given, dtype=float)
    return np.where(np.isnan(held), otherwise, held)


def _filled(held: ArrayLike | None, like: Array) -> Array:
    return _or(held, np.full(like.shape, np.nan))


def _vapour(air: Air, ends: tuple[Array, Array], es: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return the vapour pressure by the best humidity there is, and where there was none."""
    at_min, at_max = saturation(ends[0]), saturation(ends[1])
    low, high, mean = (_filled(rh, es) / 100 for rh in (air.rh_min, air.rh_max, air.rh_mean))
    both = (at_min * high + at_max * low) / 2
    found = _filled(air.ea, es)
    # In the paper's order: both ends, the mean, the highest alone.
    for better in (both, mean * es, at_min * high):
        found = _or(found, better)
    missing = np.isnan(found)
    return np.minimum(np.where(missing, at_min, found), es), missing


def _wind(air: Air, like: Array) -> tuple[Array, NDArray[np.bool_]]:
    read, height = _filled(air.wind, like), _or(air.wind_height, np.full(like.shape, 2.0))
    height = np.broadcast_to(_or(height, np.full(like.shape, 2.0)), like.shape)
    at_2m = np.where(height == 2.0, read, wind_at_2m(read, height))
    missing = np.isnan(at_2m)
    return np.where(missing, value("eto.default_wind"), at_2m), missing


def _sunlight(
    air: Air, ra: Array, daylight: Array, *, span: Array, coast: bool
) -> tuple[Array, NDArray[np.bool_]]:
    share = _filled(air.sunshine, span) / np.where(daylight > 0, daylight, np.nan)
    a, b = value("eto.angstrom_a"), value("eto.angstrom_b")
    read = _or(_filled(air.solar, span), (a + b * np.minimum(share, 1.0)) * ra)
    krs = value("eto.krs_coast" if coast else "eto.krs_inland")
    missing = np.isnan(read)
    # More than falls from the top of the air is a slip of the reading or of its unit.
    return np.minimum(np.where(missing, krs * np.sqrt(span) * ra, read), ra), missing


def _longwave(ends: tuple[Array, Array], ea: Array, rs: Array, rso: Array) -> Array:
    warm = STEFAN_BOLTZMANN * ((ends[0] + 273.16) ** 4 + (ends[1] + 273.16) ** 4) / 2
    # Where the sun does not rise nothing tells the cloud: half covered.
    clear = np.where(rso > 0, rs / np.where(rso > 0, rso, 1.0), 0.65)
    return warm * (0.34 - 0.14 * np.sqrt(ea)) * (1.35 * np.clip(clear, 0.3, 1.0) - 0.35)


def _refuse(air: Air, t_min: Array, t_max: Array) -> None:
    if np.any(t_max < t_min):
        raise BadInput(
            "the highest temperature of a day is under its lowest",
            where="t_max",
            expected="at least t_min",
            do="were they swapped?",
        )
    for name, (low, high, unit) in _POSSIBLE.items():
        held = getattr(air, name)
        if held is None:
            continue
        read = np.asarray(held, dtype=float)
        if np.any((read < low) | (read > high)):
            raise BadInput(
                f"{name} holds a number that no air has",
                where=name,
                expected=f"{low:g} to {high:g} {unit}",
                do="check the unit",
            )


_POSSIBLE = {
    "t_min": (-60.0, 60.0, "degC"),
    "t_max": (-60.0, 60.0, "degC"),
    "t_mean": (-60.0, 60.0, "degC"),
    "ea": (0.0, 10.0, "kPa"),
    "rh_min": (0.0, 100.0, "%"),
    "rh_max": (0.0, 100.0, "%"),
    "rh_mean": (0.0, 100.0, "%"),
    "wind": (0.0, 80.0, "m/s"),
    "solar": (0.0, 45.0, "MJ/m2"),
    "sunshine": (0.0, 24.0, "h"),
}
