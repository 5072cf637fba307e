"""Play an invented course day by day: the record its people would write, beside the truth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np

from greenwright.simulate import golf, tables
from greenwright.simulate.clerk import dated, written
from greenwright.simulate.events import Event, days_to_event, draw_calendar
from greenwright.simulate.manager import Diary, View, decide, new_diary, usual_week
from greenwright.simulate.practices import Act, curve
from greenwright.simulate.readings import read_morning
from greenwright.simulate.site import Site, draw_site
from greenwright.simulate.surface import (
    QUANTITIES,
    Conditions,
    State,
    begin,
    finish,
    labour,
    step,
    wake,
)
from greenwright.simulate.weather import WeatherDay, draw_forecast, draw_weather
from greenwright.simulate.world import World

Acts = tuple[Act, ...]
HORIZONS = np.arange(29)
# One stream of chance for each part, so that a change in one leaves the others alone.
SITE, SKY, SURFACE, MANAGER, CREW, GOLF, FORECAST, LAB, BEGIN, CLERK = range(10)
LATELY = 14
"""Days whose mean is what the crew takes for a green's usual speed."""


@dataclass(frozen=True, slots=True)
class Stage:
    """All that a play needs and no play changes: greens, weather, rounds, events, seed.

    ``weather[0]`` is the eve of the record; ``weather[i + 1]`` belongs to day i, and the
    list runs past today by the days ahead.
    """

    seed: int
    first: date
    today: date
    site: Site
    weather: tuple[WeatherDay, ...]
    rounds: tuple[int, ...]
    events: tuple[Event, ...]

    @property
    def days(self) -> int:
        """Number of days of the record, today the last."""
        return (self.today - self.first).days + 1

    def chance(self, stream: int, index: int = 0) -> np.random.Generator:
        """Give the generator of one stream on one day."""
        return np.random.default_rng([self.seed, stream, index])

    def conditions(self, index: int) -> Conditions:
        """Give what the surface lived through before the morning of a day."""
        day = self.first + timedelta(days=index)
        return Conditions(day, self.weather[index], self.rounds[index], index)

    def view(self, index: int, state: State) -> View:
        """Give what the manager goes by on the morning of a day."""
        day = self.first + timedelta(days=index)
        ahead = days_to_event(self.events, day)
        return View(index, day, self.weather[index + 1], self.weather[index], ahead, state)


@dataclass(frozen=True, slots=True)
class Truth:
    """What really was: arrays days x greens by quantity, and what made them.

    Units: green_speed [m], smoothness and trueness_score [0 to 10 and beyond: latent],
    trueness [index T in m], firmness [g], moisture [%], clippings [mL/m2, nan where unmown],
    height_of_cut and growth [mm, mm/d], quality [1 to 9]. ``unworked_speed`` is the morning
    before any work; ``impression`` is what the manager took that for, and wrote nowhere.
    ``effects[practice, quantity]`` is the effect of one dose at 0 to 28 days.
    """

    days: tuple[date, ...]
    greens: tuple[str, ...]
    quantities: Mapping[str, np.ndarray]
    unworked_speed: np.ndarray
    impression: np.ndarray
    rolled: np.ndarray
    effects: Mapping[tuple[str, str], np.ndarray]
    slopes: Mapping[str, np.ndarray]
    offsets: Mapping[str, np.ndarray]


@dataclass(frozen=True, slots=True)
class Simulated:
    """An invented course: the tables of its record, the truth behind, and the stage."""

    tables: Mapping[str, tuple[Mapping[str, str], ...]]
    truth: Truth
    stage: Stage
    acts: tuple[Acts, ...]
    end: State
    diary: Diary

    @property
    def columns(self) -> Mapping[str, tuple[str, ...]]:
        """Column order by table."""
        return tables.COLUMNS


def course(seed: int, *, today: date = date(2026, 6, 12), world: World | None = None) -> Simulated:
    """Make an invented course, the same for the same seed, day and world.

    The record ends on the morning of ``today``; weather is forecast and the usual work
    planned for the days after. Raises ValueError for a negative seed.

    >>> small = course(1, world=World(greens=3, days=10))
    >>> len(small.truth.days), small.truth.quantities["green_speed"].shape
    (10, (10, 3))
    """
    if seed < 0:
        raise ValueError(f"seed: {seed} is negative; give a whole number from 0 on")
    stage = set_stage(seed, today, world or World())
    played = _Played(new_diary(stage.site))
    state = begin(stage.site, stage.chance(BEGIN))
    for index in range(stage.days):
        state = _live(stage, played, state, index)
    return Simulated(
        tables=MappingProxyType(_tables(stage, played, state)),
        truth=_truth(stage, played),
        stage=stage,
        acts=tuple(played.acts),
        end=state,
        diary=played.diary,
    )


def set_stage(seed: int, today: date, world: World) -> Stage:
    """Draw the greens, the weather, the events and the rounds of a world."""
    first = date(today.year - 1, 3, 1)
    if world.days is not None:
        first = today - timedelta(days=world.days - 1)
    eve, climate = first - timedelta(days=1), world.climate
    span = (today - eve).days + 1 + climate.forecast_days
    weather = draw_weather(climate, eve, span, np.random.default_rng([seed, SKY]))
    events = draw_calendar(first, today)
    rounds = golf.draw_rounds(weather, events, np.random.default_rng([seed, GOLF]))
    site = draw_site(world, np.random.default_rng([seed, SITE]))
    return Stage(seed, first, today, site, weather, rounds, events)


class _Played:
    """What piles up while a course is played."""

    def __init__(self, diary: Diary) -> None:
        self.diary = diary
        self.acts: list[Acts] = []
        self.seen: list[Mapping[str, np.ndarray]] = []
        self.unworked: list[np.ndarray] = []
        self.felt: list[np.ndarray] = []
        self.rows: dict[str, list[tables.Row]] = {
            "readings": [], "work": [], "feedback": [], "putts": []
        }  # fmt: skip


def _live(stage: Stage, played: _Played, state: State, index: int) -> State:
    site, conditions = stage.site, stage.conditions(index)
    woken = wake(site, state, conditions, stage.chance(SURFACE, index))
    view = stage.view(index, woken)
    acts, played.diary = decide(site, played.diary, view, stage.chance(MANAGER, index))
    worked = labour(site, woken, acts)
    played.acts.append(acts)
    played.seen.append(worked.seen)
    played.unworked.append(worked.unworked["green_speed"])
    played.felt.append(played.diary.felt)
    _write_day(stage, played, worked, index)
    return finish(site, worked, acts)


def _write_day(stage: Stage, played: _Played, worked: State, index: int) -> None:
    site, rows, conditions = stage.site, played.rows, stage.conditions(index)
    last = conditions.date == stage.today
    # This morning's record holds as done what is done by now; the later work is still a plan.
    done = tuple(act for act in played.acts[-1] if act.early or not last)
    rest = tuple(act for act in played.acts[-1] if not act.early and last)
    chance = stage.chance(CLERK, index)
    noted = tables.work_rows(site, conditions.date, written(site, done, chance), "done")
    rows["work"] += dated(site, noted, chance, span=(stage.first, stage.today))
    rows["work"] += tables.work_rows(site, conditions.date, rest, "planned")
    rows["readings"] += read_morning(
        site, worked, conditions, index=index, rng=stage.chance(CREW, index), away_m=_away(played)
    )
    if not last:
        chance = stage.chance(GOLF, index + 1)
        rounds = stage.rounds[index + 1]
        rows["feedback"] += golf.remarks(worked.seen, conditions.date, rounds, chance)
        rows["putts"] += golf.putts(worked.seen, conditions.date, site.names, chance)


def _away(played: _Played) -> np.ndarray:
    """Give how far each green lies from its mean of the days before [m]."""
    before = [seen["green_speed"] for seen in played.seen[-LATELY - 1 : -1]]
    now = played.seen[-1]["green_speed"]
    return now - np.mean(before, axis=0) if before else np.zeros(len(now))


def _tables(stage: Stage, played: _Played, state: State) -> dict[str, tuple[tables.Row, ...]]:
    site, today = stage.site, stage.today
    view = stage.view(stage.days - 1, state)
    for day, acts in usual_week(site, played.diary, view, stage.events):
        played.rows["work"] += tables.work_rows(site, day, acts, "planned")
    years = range(stage.first.year, today.year + 1)
    tested = [y for y in years if stage.first <= date(y, 2, 10) <= today]
    made = {
        "course": [tables.course_row(site.world)],
        "greens": tables.green_rows(site),
        "stations": tables.station_rows(site),
        "weather": _weather_rows(stage),
        "lab": tables.lab_rows(site, tested, stage.chance(LAB)),
        "materials": tables.material_rows(),
        "rounds": _round_rows(stage),
        "calendar": tables.calendar_rows(stage.events, _cored(stage, played)),
        "targets": tables.target_rows(today),
        "crew": tables.crew_rows(),
        "limits": tables.limit_rows(site),
        **played.rows,
    }
    return {name: tuple(made[name]) for name in tables.COLUMNS}


def _weather_rows(stage: Stage) -> list[tables.Row]:
    rows = tables.weather_rows(stage.weather[1 : stage.days], "observed")
    climate = stage.site.world.climate
    for index in range(max(0, stage.days - climate.forecast_issues), stage.days):
        # A morning's forecast covers that day and the days ahead of it.
        coming = stage.weather[index + 1 : index + 2 + climate.forecast_days]
        guess = draw_forecast(climate, coming, stage.chance(FORECAST, index))
        rows += tables.weather_rows(guess, "forecast", coming[0].date)
    return rows


def _round_rows(stage: Stage) -> list[tables.Row]:
    played = stage.rounds[1 : stage.days]
    return [
        {"date": (stage.first + timedelta(days=i)).isoformat(), "rounds": str(n)}
        for i, n in enumerate(played)
    ]


def _cored(stage: Stage, played: _Played) -> list[date]:
    cored = [any(act.practice == "core" for act in acts) for acts in played.acts]
    return [stage.first + timedelta(days=i) for i, yes in enumerate(cored) if yes]


def _truth(stage: Stage, played: _Played) -> Truth:
    site = stage.site
    quantities = {q: _frozen(np.array([seen[q] for seen in played.seen])) for q in QUANTITIES}
    return Truth(
        days=tuple(stage.first + timedelta(days=i) for i in range(stage.days)),
        greens=site.names,
        quantities=MappingProxyType(quantities),
        unworked_speed=_frozen(np.array(played.unworked)),
        impression=_frozen(np.array(played.felt)),
        rolled=_frozen(_rolled(site, played.acts)),
        effects=MappingProxyType(true_effects(site.world)),
        slopes=MappingProxyType(dict(site.slopes)),
        offsets=MappingProxyType(dict(site.offsets)),
    )


def _frozen(values: np.ndarray) -> np.ndarray:
    values.setflags(write=False)
    return values


def _rolled(site: Site, acts: list[Acts]) -> np.ndarray:
    passes = np.zeros((len(acts), len(site.names)), dtype=int)
    for index, day in enumerate(acts):
        for act in day:
            if act.practice == "roll":
                passes[index, list(act.greens)] += act.passes
    return passes


def true_effects(world: World) -> dict[tuple[str, str], np.ndarray]:
    """Give the effect of one dose at 0 to 28 days, for what fades by days.

    ("height", quantity) is that of a bench height 0.25 mm lower, held. What works through
    growth or fades by heat has no fixed curve: ask `difference`.
    """
    pairs = {(r.practice, r.quantity) for r in world.responses}
    heated = {(r.practice, r.quantity) for r in world.responses if r.clock == "heat"}
    effects = {
        (p, q): curve(world.responses, practice=p, quantity=q, horizons=HORIZONS)
        for p, q in sorted(pairs - heated)
    }
    surface, held = world.surface, np.full(len(HORIZONS), -0.25)
    effects["height", "green_speed"] = held * surface.speed_per_height_mm
    effects["height", "smoothness"] = held * surface.score_per_height_mm
    return effects


def replay(made: Simulated, change: Callable[[int, Acts], Acts]) -> Mapping[str, np.ndarray]:
    """Play the same world again, chance and all, with each day's acts changed as said.

    Gives the quantities as arrays days x greens. The manager does not react.
    """
    stage = made.stage
    state = begin(stage.site, stage.chance(BEGIN))
    seen = []
    for index, acts in enumerate(made.acts):
        rng = stage.chance(SURFACE, index)
        acts = change(index, acts)
        state = step(stage.site, state, acts, conditions=stage.conditions(index), rng=rng)
        seen.append(state.seen)
    return {q: np.array([s[q] for s in seen]) for q in QUANTITIES}


def difference(made: Simulated, index: int, act: Act) -> Mapping[str, np.ndarray]:
    """Give what one act more on day ``index`` changes: the world with it minus without."""
    if not 0 <= index < len(made.acts):
        raise ValueError(f"index: day {index} is outside the record's {len(made.acts)} days")
    more = replay(made, lambda day, acts: (*acts, act) if day == index else acts)
    return {q: more[q] - made.truth.quantities[q] for q in QUANTITIES}


def ahead(made: Simulated, plan: Mapping[date, Acts]) -> Mapping[str, np.ndarray]:
    """Play the days after today with the work of a plan, under the weather that really comes.

    Gives the quantities as arrays days ahead x greens, as many days as are forecast.
    """
    stage, state, seen = made.stage, made.end, []
    for index in range(stage.days, len(stage.weather) - 1):
        conditions = stage.conditions(index)
        acts, rng = plan.get(conditions.date, ()), stage.chance(SURFACE, index)
        state = step(stage.site, state, acts, conditions=conditions, rng=rng)
        seen.append(state.seen)
    return {q: np.array([s[q] for s in seen]) for q in QUANTITIES}
