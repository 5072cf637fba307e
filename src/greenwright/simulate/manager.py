"""The invented manager: what he sees of a morning, and the work he then has done.

His rule is stated in full, for the trap it sets is the point: he rolls when greens look slow
and before events, so rolled days were slower than the others before anything was done.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from greenwright.simulate.events import Event, days_to_event
from greenwright.simulate.practices import Act
from greenwright.simulate.site import GROUPS, Site
from greenwright.simulate.surface import State
from greenwright.simulate.weather import WeatherDay, typical_day
from greenwright.simulate.world import SUMMER, Manager, Routine

LOWEST_MM, HIGHEST_MM = 3.0, 4.0
RUN_UP_DAYS = 12
WINTER = (11, 12, 1, 2)
NEVER = -10_000


@dataclass(frozen=True, slots=True)
class Diary:
    """What the manager remembers: heights and steps by group, a week of rolls, last dates.

    ``astray`` is how far his eye is off [sds], ``felt`` the speed [m] he took each green for.
    """

    bench: tuple[float, ...]
    stepped: tuple[int, ...]
    rolls: np.ndarray  # the six days before x greens, passes
    astray: np.ndarray
    felt: np.ndarray
    heat: float = 0.0
    last: Mapping[tuple[str, int], int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class View:
    """What he goes by on a morning: the day, its weather, the last day's, the event, the turf."""

    index: int
    date: date
    weather: WeatherDay
    before: WeatherDay
    to_event: int | None
    state: State

    @property
    def stopped(self) -> bool:
        """Frost or soaked ground: nobody mows or rolls."""
        return self.weather.t_min_c < 1.0 or self.before.rain_mm > 15.0

    def event_within(self, days: int) -> bool:
        """Whether an event is today or at most so many days ahead."""
        return self.to_event is not None and self.to_event <= days


def new_diary(site: Site) -> Diary:
    """Give the diary on the eve of the record."""
    return Diary(
        bench=tuple(site.world.manager.month_height_mm[0] for _ in GROUPS),
        stepped=(NEVER,) * len(GROUPS),
        rolls=np.zeros((6, len(site.names))),
        astray=np.zeros(len(site.names)),
        felt=np.full(len(site.names), np.nan),
    )


def decide(
    site: Site, diary: Diary, view: View, rng: np.random.Generator
) -> tuple[tuple[Act, ...], Diary]:
    """Decide the day's work; gives the acts and the diary after them."""
    chance = rng.random(8 + len(site.world.manager.routines) * len(GROUPS))
    noise = rng.standard_normal(len(site.names))
    coins = rng.random((2, len(site.names)))
    diary = _looked(site.world.manager, diary, view, noise)
    ready = _heights(site.world.manager, diary, view)
    mowing = _mowing(site, ready, view, extra=chance[0] < site.world.manager.double_cut_share)
    acts = (
        *mowing,
        *_rolling(site, diary, view, coins),
        *_sham(site, diary, view, rng),
        *_routines(site, diary, view, chance[8:]),
        *_regulating(site, diary, view),
        *_watering(site, view),
    )
    return acts, noted(site, ready if mowing else diary, view, acts)


def noted(site: Site, diary: Diary, view: View, acts: tuple[Act, ...]) -> Diary:
    """Enter the day's acts in the diary."""
    today = np.zeros((1, len(site.names)))
    last = dict(diary.last)
    for act in acts:
        if act.practice == "roll":
            today[0, list(act.greens)] += act.passes
        for group in {int(site.group[i]) for i in act.greens}:
            last[act.practice, group] = view.index
    dosed = any(act.practice == "regulator" for act in acts)
    heat = 0.0 if dosed else diary.heat + max(view.weather.t_mean_c, 0.0)
    return replace(diary, rolls=np.vstack([diary.rolls[1:], today]), heat=heat, last=last)


def wanted_height(manager: Manager, view: View, group: int) -> float:
    """Give the bench height [mm] he wants on a group: by month, lower before an event."""
    height = manager.month_height_mm[view.date.month - 1]
    if view.event_within(RUN_UP_DAYS):
        height = min(height, manager.event_height_mm)
    return min(max(height + manager.group_height_mm[group], LOWEST_MM), HIGHEST_MM)


def _heights(manager: Manager, diary: Diary, view: View) -> Diary:
    bench, stepped = list(diary.bench), list(diary.stepped)
    for group, now in enumerate(diary.bench):
        gap = wanted_height(manager, view, group) - now
        if abs(gap) > 1e-9 and view.index - stepped[group] >= manager.step_days:
            bench[group] = round(now + math.copysign(min(abs(gap), manager.height_step_mm), gap), 2)
            stepped[group] = view.index
    return replace(diary, bench=tuple(bench), stepped=tuple(stepped))


def _mows_today(view: View) -> bool:
    return view.date.month in SUMMER or view.date.weekday() in (0, 2, 4)


def _mowing(site: Site, ready: Diary, view: View, *, extra: bool) -> tuple[Act, ...]:
    if view.stopped or not _mows_today(view):
        return ()
    passes = 2 if view.event_within(2) or (extra and view.date.month in SUMMER) else 1
    return tuple(
        Act("mow", site.members(g), "05:30", ready.bench[g], passes) for g in range(len(GROUPS))
    )


def _looked(manager: Manager, diary: Diary, view: View, noise: np.ndarray) -> Diary:
    """Enter how the greens looked to him; what misleads him may last from day to day."""
    keep = manager.impression_memory
    astray = keep * diary.astray + math.sqrt(1 - keep**2) * noise
    felt = view.state.unworked["green_speed"] + manager.impression_sd * astray
    return replace(diary, astray=astray, felt=felt)


def _odds(manager: Manager, view: View) -> float:
    odds = manager.lean
    odds += manager.usual_push * (view.date.weekday() in manager.usual_days)
    odds += manager.event_push * view.event_within(3)
    return odds + manager.winter_push * (view.date.month in WINTER)


def _rolling(site: Site, diary: Diary, view: View, coins: np.ndarray) -> tuple[Act, ...]:
    if view.stopped:
        return ()
    manager, seen = site.world.manager, diary.felt
    free = _may_roll(site, diary)
    chosen: list[int] = []
    for unit in _units(site):
        lack = manager.wanted_speed_m - float(np.mean(seen[list(unit)]))
        chance = 1 / (1 + math.exp(-_odds(manager, view) - manager.need * lack / 0.1))
        if coins[0, unit[0]] < chance:
            chosen += [i for i in unit if free[i]]
        elif manager.spot_rolls:
            slow = [i for i in unit if seen[i] < manager.wanted_speed_m - 0.3 and free[i]]
            chosen += [i for i in slow if coins[1, i] < 0.4]
    return (Act("roll", tuple(sorted(chosen)), "06:00"),) if chosen else ()


def _sham(site: Site, diary: Diary, view: View, rng: np.random.Generator) -> tuple[Act, ...]:
    manager = site.world.manager
    if not manager.sham or view.stopped:
        return ()
    odds = manager.sham_lean + manager.sham_need * (manager.wanted_speed_m - diary.felt) / 0.1
    chosen = np.flatnonzero(rng.random(len(odds)) < 1 / (1 + np.exp(-odds)))
    return (Act(manager.sham, tuple(int(i) for i in chosen), "05:50"),) if len(chosen) else ()


def _units(site: Site) -> list[tuple[int, ...]]:
    if site.world.manager.by_green:
        return [(i,) for i in range(len(site.names))]
    return [site.members(g) for g in range(len(GROUPS))]


def _may_roll(site: Site, diary: Diary) -> np.ndarray:
    cap = np.array(site.world.manager.rolls_week)[site.group]
    return diary.rolls.sum(axis=0) < cap


def _routines(site: Site, diary: Diary, view: View, chance: np.ndarray) -> tuple[Act, ...]:
    acts = []
    for k, routine in enumerate(site.world.manager.routines):
        for group in range(len(GROUPS)):
            slipped = chance[k * len(GROUPS) + (0 if routine.one_day else group)]
            if _due(routine, diary, view, group) and slipped >= site.world.manager.slip:
                acts.append(_routine_act(routine, site.members(group)))
    return tuple(acts)


def _routine_act(routine: Routine, greens: tuple[int, ...]) -> Act:
    return Act(
        routine.practice, greens, routine.time, routine.amount,
        material=routine.material, depth_mm=routine.depth_mm, detail=routine.detail,
    )  # fmt: skip


def _due(routine: Routine, diary: Diary, view: View, group: int) -> bool:
    shift = 0 if routine.one_day else group
    if view.date.month not in routine.months:
        return False
    if view.date.weekday() != (routine.weekday + shift) % 7:
        return False
    since = view.index - diary.last.get((routine.practice, group), NEVER)
    if since < routine.every_days:
        return False
    # Groups start on different weeks, so that not all greens are disturbed together.
    if since > 10 * routine.every_days and routine.every_days in (14, 28) and not routine.one_day:
        in_turn = (view.date.isocalendar().week + group) % 2 == 0
        return in_turn and _calm(routine, view)
    return _calm(routine, view)


def _calm(routine: Routine, view: View) -> bool:
    if routine.quiet_days and view.event_within(routine.quiet_days):
        return False
    frosty = view.stopped and routine.practice != "hole_change"
    return not frosty and not (routine.needs_dry and view.before.rain_mm > 6.0)


def _regulating(site: Site, diary: Diary, view: View) -> tuple[Act, ...]:
    ripe = diary.heat >= site.world.manager.regulator_heat
    if not ripe or view.date.month not in range(4, 10) or view.weather.rain_mm > 3.0:
        return ()
    greens = tuple(range(len(site.names)))
    return (Act("regulator", greens, "11:00", 0.04, material="growth regulator"),)


def _watering(site: Site, view: View) -> tuple[Act, ...]:
    acts = []
    for group, dry in enumerate(site.world.manager.dry_pct):
        greens = site.members(group)
        water = view.state.water_pct[list(greens)]
        if water.mean() < dry:
            acts.append(Act("irrigate", greens, "21:00", 6.0))
        elif thirsty := tuple(g for g, w in zip(greens, water, strict=True) if w < dry - 1.5):
            acts.append(Act("hand_water", thirsty, "13:00", 4.0))
    return tuple(acts)


def usual_week(
    site: Site, diary: Diary, view: View, events: tuple[Event, ...]
) -> tuple[tuple[date, tuple[Act, ...]], ...]:
    """Write ahead the usual pattern for the days after a view's day: no need, no luck, no slip.

    Mowing at the heights his rule leads to, rolling on the usual weekdays within the weekly
    limit, routine work when due; without the practices that he leaves open.
    """
    ahead, manager, climate = [], site.world.manager, site.world.climate
    for k in range(1, manager.planned_days + 1):
        day = view.date + timedelta(days=k)
        usual, left = typical_day(climate, day), days_to_event(events, day)
        then = View(view.index + k, day, usual, usual, left, view.state)
        diary = _heights(manager, diary, then)
        acts = _usual_day(site, diary, then)
        diary = noted(site, diary, then, acts)
        ahead.append((day, tuple(a for a in acts if a.practice not in manager.left_open)))
    return tuple(ahead)


def _usual_day(site: Site, diary: Diary, view: View) -> tuple[Act, ...]:
    calm = np.ones(len(site.world.manager.routines) * len(GROUPS))
    free = tuple(int(i) for i in np.flatnonzero(_may_roll(site, diary)))
    rolls = view.date.weekday() in site.world.manager.usual_days and free
    return (
        *_mowing(site, diary, view, extra=False),
        *((Act("roll", free, "06:00"),) if rolls else ()),
        *_routines(site, diary, view, calm),
    )
