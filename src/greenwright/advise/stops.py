"""Weather that stops work: held to a stated chance in the plan, checked again in the morning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp
from statistics import NormalDist

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot, WeatherDay
from greenwright.weather import days as weather_days

CHANCE_KEY = "limits.stop_chance"
STOP_KEYS = (
    CHANCE_KEY,
    "limits.frost_air_c",
    "limits.heat_air_c",
    "limits.saturating_rain_mm",
    "limits.rainy_day_mm",
    "weather.forecast.t_min_sd",
    "weather.typical.t_min_sd",
)
FREEZING_C = 0.0
LIGHTNING = "Thunder heard or lightning seen: everybody off the course until it has passed."
SORRY_GRASS = "Leaf wilted, dull grey or under water: leave it."


@dataclass(frozen=True, slots=True)
class Morning:
    """What the weather allows on one morning.

    Args:
        date: the day.
        known: a forecast stands behind it.
        frost, heat, wet: chance of each, 0..1, or None where the weather is not known.
    """

    date: date
    known: bool
    frost: float | None = None
    cold: float | None = None
    heat: float | None = None
    wet: float | None = None

    @property
    def no_work(self) -> str:
        """Return why no work is planned on the greens that morning, or an empty text."""
        limit = value(CHANCE_KEY)
        if (self.frost or 0.0) > limit:
            return f"a chance of frost of {self.frost:.0%} on {self.date.isoformat()}"
        if (self.wet or 0.0) > limit:
            return f"a chance of saturated greens of {self.wet:.0%} on {self.date.isoformat()}"
        return ""

    @property
    def gentle_only(self) -> bool:
        """Return whether heat leaves only a single cut."""
        return (self.heat or 0.0) > value(CHANCE_KEY)

    def stops(self, practice: str) -> tuple[str, ...]:
        """Return the conditions of the morning under which to leave a piece of work."""
        limit = value(CHANCE_KEY)
        cold = value("limits.frost_air_c")
        told = [LIGHTNING, SORRY_GRASS]
        if self.cold is None or self.cold > limit:
            told.insert(0, f"Air at {cold:g} °C or less: look for frost; never work on it.")
        if self.wet is None or self.wet > limit / 4:
            told.append("Water stands or squelches after rain: wait until it has gone.")
        if self.heat is not None and self.heat > limit / 4:
            told.append("Hot and the leaf goes blue-grey: only what cools it.")
        if practice in ("verticut", "topdress", "brush"):
            told.append("Leaf or sand still wet: wait until both are dry.")
        return tuple(told)


def mornings(snapshot: Snapshot, days: Sequence[date]) -> tuple[Morning, ...]:
    """Return what the weather known today allows on each of these consecutive days.

    Frost is a lowest air temperature of 0 °C or less, normal about the forecast; saturation is
    the rain of the day or the day before over the limit, exponential about the forecast; heat is
    a highest air temperature over the limit. A day without numbers stops nothing by itself: its
    lines say what to look for.
    """
    rows = weather_days(snapshot, days[0] - timedelta(days=1), days[-1])
    return tuple(_morning(rows[i], rows[i + 1]) for i in range(len(days)))


def _morning(before: WeatherDay, day: WeatherDay) -> Morning:
    known = day.kind != "typical"
    sd = value("weather.forecast.t_min_sd" if known else "weather.typical.t_min_sd")
    return Morning(
        date=day.date,
        known=known,
        frost=_below(FREEZING_C, day.t_min_c, sd),
        cold=_below(value("limits.frost_air_c"), day.t_min_c, sd),
        heat=None
        if day.t_max_c is None
        else 1 - NormalDist(day.t_max_c, sd).cdf(value("limits.heat_air_c")),
        wet=_soaked(before.rain_mm, day.rain_mm),
    )


def _below(limit: float, forecast: float | None, sd: float) -> float | None:
    return None if forecast is None else NormalDist(forecast, sd).cdf(limit)


def _soaked(before: float | None, today: float | None) -> float | None:
    known = [r for r in (before, today) if r is not None]
    if not known:
        return None
    rain = max(known)
    return exp(-value("limits.saturating_rain_mm") / rain) if rain > 0 else 0.0
