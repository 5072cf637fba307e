"""Small hand-made records to learn from, with a known truth where one is wanted."""

from __future__ import annotations

from datetime import date, time, timedelta

import numpy as np

from greenwright.base.values import (
    CalendarEntry,
    Course,
    Green,
    Reading,
    Rounds,
    Snapshot,
    Station,
    WeatherDay,
    Work,
)

DAY = date(2026, 6, 30)
FIRST = DAY - timedelta(days=89)
TRUE_ROLL = 0.2
HALF_LIFE = 0.8


def ago(days: int) -> date:
    return DAY - timedelta(days=days)


def work(practice: str, days_ago: int, green: str = "all", **more: object) -> Work:
    return Work(date=ago(days_ago), green=green, practice=practice, **more)  # type: ignore[arg-type]


def reading(kind: str, value: float, days_ago: int, green: str = "1", **more: object) -> Reading:
    units = {"green_speed": "m", "moisture": "%", "clippings": "mL/m2", "firmness": "g"}
    filled = {"unit": units.get(kind, "score")} | more
    return Reading(date=ago(days_ago), green=green, kind=kind, value=value, **filled)  # type: ignore[arg-type]


def weather(days: int = 95, *, after: int = 0, mean_c: float = 18.0) -> tuple[WeatherDay, ...]:
    """Days of one temperature and no rain, the last of them today or some days after."""
    return tuple(
        WeatherDay(
            date=ago(i), kind="observed" if i >= 0 else "forecast",
            issued=None if i >= 0 else DAY, t_min_c=mean_c - 5, t_max_c=mean_c + 5, rain_mm=0.0,
        )
        for i in range(days, -after - 1, -1)
    )  # fmt: skip


def held(
    *pieces: Work,
    readings: tuple[Reading, ...] = (),
    greens: int = 2,
    days: tuple[WeatherDay, ...] | None = None,
    rounds: tuple[Rounds, ...] = (),
    calendar: tuple[CalendarEntry, ...] = (),
    stations: tuple[Station, ...] = (),
    **more: object,
) -> Snapshot:
    """A record of a course of greens of two groups, 1.. in front, the last behind."""
    return Snapshot(
        course=Course(course="lark", name="Lark Mere"),
        as_of=DAY,
        greens=tuple(
            Green(
                green=str(i + 1), grass="creeping bentgrass", group="A" if i < greens - 1 else "B"
            )
            for i in range(greens)
        ),
        work=pieces,
        readings=readings,
        weather=weather() if days is None else days,
        rounds=rounds,
        calendar=calendar,
        stations=stations,
        **more,  # type: ignore[arg-type]
    )


def rolled_course(
    seed: int = 4, *, greens: int = 6, gain: float = TRUE_ROLL, bad_day: int | None = None
) -> Snapshot:
    """A course whose greens are rolled by the toss of a coin and read every other morning.

    Level + greens' own + days' shared AR(1) + what is left of the rolls; three readings of a
    set. Nothing but the roll is done, and mown every day at one height.
    """
    rng = np.random.default_rng(seed)
    days = (DAY - FIRST).days + 1
    rolls = rng.random((greens, days)) < 0.4
    left = np.zeros((greens, days))
    shared = np.zeros(days)
    for day in range(days):
        before = left[:, day - 1] * 0.5 ** (1 / HALF_LIFE) if day else 0.0
        left[:, day] = before + gain * rolls[:, day]
        shared[day] = 0.75 * (shared[day - 1] if day else 0) + 0.05 * rng.standard_normal()
    if bad_day is not None:
        shared[bad_day:] += 0.5
    own = 0.08 * rng.standard_normal(greens)
    level = 2.8 + own[:, None] + shared[None] + left
    rows = [
        Reading(
            date=FIRST + timedelta(days=day), time=time(7, 10), green=str(g + 1),
            kind="green_speed", unit="m", n=6, observer="ana" if (g + day) % 3 else "bo",
            value=float(level[g, day] + 0.04 * rng.standard_normal()),
        )
        for day in range(0, days, 2)
        for g in range(greens)
    ]  # fmt: skip
    pieces = [
        Work(date=FIRST + timedelta(days=int(d)), green=str(g + 1), practice="roll", time=time(6))
        for g, d in zip(*np.nonzero(rolls), strict=True)
    ]
    pieces += [
        Work(date=FIRST + timedelta(days=d), green="all", practice="mow", amount=3.6, time=time(5))
        for d in range(days)
    ]
    return held(*pieces, readings=tuple(rows), greens=greens)
