"""The invented players: how many come, what they say, and what they hole."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

import numpy as np

from greenwright.simulate.events import Event
from greenwright.simulate.weather import WeatherDay

Row = dict[str, str]
REMARKS_PER_ROUND = 1 / 200  # on an ordinary day at a roll score of 8; invented
TOPICS = ("bumpy", "untrue", "uneven", "scarred", "other")
# chance of a middling player on a level putt by distance [m]; invented
HOLED = {"1.5": 0.50, "3": 0.21, "6": 0.07}


def draw_rounds(
    weather: tuple[WeatherDay, ...], events: tuple[Event, ...], rng: np.random.Generator
) -> tuple[int, ...]:
    """Draw the rounds played on each day: more at weekends, in summer, in the dry."""
    fixed = {event.start: event.rounds for event in events}
    busy = rng.gamma(20, 1 / 20, len(weather))
    return tuple(
        fixed.get(day.date, round(_usual_rounds(day) * float(luck)))
        for day, luck in zip(weather, busy, strict=True)
    )


def _usual_rounds(day: WeatherDay) -> float:
    weekend = 95 if day.date.weekday() >= 5 else 55
    summer = 0.65 - 0.35 * math.cos(2 * math.pi * (day.date.timetuple().tm_yday - 10) / 365)
    dry = 1 / (1 + day.rain_mm / 8)
    frozen = 0.2 if day.t_min_c < 0 else 1.0
    return weekend * summer * dry * frozen


def remarks(
    seen: Mapping[str, np.ndarray], day: date, rounds: int, rng: np.random.Generator
) -> list[Row]:
    """Give what players say of a day: volunteered remarks, and a survey once a month."""
    smooth, true = float(seen["smoothness"].mean()), float(seen["trueness_score"].mean())
    speed, spread = float(seen["green_speed"].mean()), float(seen["green_speed"].std())
    rate = rounds * REMARKS_PER_ROUND * 2 ** (8 - (smooth + true) / 2)
    lean = np.array([9.0 - smooth, 0.6 * (9.0 - true), 4 * spread, 0.15, 0.2]).clip(0.05, None)
    counts = dict(zip(TOPICS, rng.poisson(rate * lean / lean.sum()), strict=True))
    counts["slow"] = rng.poisson(0.004 * rounds * math.exp((2.7 - speed) / 0.15))
    counts["fast"] = rng.poisson(0.002 * rounds * math.exp((speed - 3.1) / 0.15))
    counts["praise"] = rng.poisson(0.003 * rounds * math.exp((smooth - 8.3) / 0.5))
    rows = [_remark(day, topic, count) for topic, count in counts.items() if count]
    # A Sunday without a word on bumps is entered as such: a count of none is a count.
    if day.weekday() == 6 and not counts["bumpy"]:
        rows.append(_remark(day, "bumpy", 0))
    return rows + _survey(day, smooth, rounds, rng)


def _remark(day: date, topic: str, count: int) -> Row:
    return {"date": day.isoformat(), "topic": topic, "count": str(count), "asked": "no"}


def _survey(day: date, smooth: float, rounds: int, rng: np.random.Generator) -> list[Row]:
    bumpy = rng.binomial(20, 1 / (1 + math.exp((smooth - 6.5) / 0.6)))
    if day.weekday() != 5 or not 8 <= day.day <= 14 or rounds < 20:
        return []
    row = {"date": day.isoformat(), "topic": "bumpy", "count": str(bumpy)}
    return [row | {"asked": "yes", "n_asked": "20"}]


def putts(
    seen: Mapping[str, np.ndarray], day: date, names: tuple[str, ...], rng: np.random.Generator
) -> list[Row]:
    """Give a monthly test on three greens: middling players, tried and made by distance."""
    if day.weekday() != 5 or day.day > 7 or day.month not in range(4, 11):
        return []
    rows = []
    for green in sorted(int(g) for g in rng.permutation(len(names))[:3]):
        rough = 0.02 * (8 - float(seen["trueness_score"][green]))
        for distance, chance in HOLED.items():
            made = rng.binomial(30, min(max(chance * (1 - rough), 0.0), 1.0))
            rows.append({"date": day.isoformat(), "green": names[green], "distance_m": distance,
                         "player": "90", "tried": "30", "made": str(made)})  # fmt: skip
    return rows
