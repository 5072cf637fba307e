"""The parameters of an invented world, as frozen values; every number here is invented.

They have the order of magnitude that the trade reports, and are read from no table of
evidence, so that what is learned from the record can be held against an independent truth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from greenwright.simulate.practices import RESPONSES, Response

SUMMER = (4, 5, 6, 7, 8, 9, 10)


@dataclass(frozen=True, slots=True)
class Place:
    """What an invented course is called, and where it is said to lie."""

    key: str = "larkmoss"
    name: str = "Larkmoss Hollow"
    longitude: str = "-1.1"
    elevation_m: str = "84"
    timezone: str = "Europe/London"
    currency: str = "GBP"
    grass: str = "creeping bentgrass"


@dataclass(frozen=True, slots=True)
class Jump:
    """Something that changes once and stays: from which day of the record on, by how much [m].

    ``greens`` are those concerned (indices); none named = all.
    """

    day: int
    size_m: float
    greens: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Climate:
    """A place's weather: the mean year and how days wander about it."""

    latitude_deg: float = 52.1
    t_mean_c: float = 10.4
    t_swing_c: float = 6.6
    hottest_day: int = 201
    t_spread_c: float = 2.6
    t_memory: float = 0.75
    t_range_c: float = 9.0
    cloud_memory: float = 0.55
    dry_above: float = 0.42
    rain_mean_mm: float = 4.2
    rh_mean_pct: float = 77.0
    wind_m_s: float = 2.6
    forecast_days: int = 10
    forecast_issues: int = 1  # mornings, today the last, whose forecasts are kept
    forecast_skill_days: float = 9.0


@dataclass(frozen=True, slots=True)
class Surface:
    """How grass, water and traffic make the surface, before any practice's own effect.

    ``base`` holds the level of each quantity at the reference state: height 3.6 mm, moisture
    20 %, no growth, ordinary wear. Slopes are per unit of what their name says.
    """

    base: Mapping[str, float] = field(
        default_factory=lambda: {
            "green_speed": 2.84,
            "smoothness": 7.3,
            "trueness_score": 7.4,
            "firmness": 96.0,
            "quality": 6.9,
            "moisture": 0.0,
            "growth": 0.0,
        }
    )
    between_greens_sd: Mapping[str, float] = field(
        default_factory=lambda: {
            "green_speed": 0.08,
            "smoothness": 0.25,
            "trueness_score": 0.25,
            "firmness": 4.0,
            "quality": 0.2,
            "moisture": 1.0,
            "growth": 0.12,
        }
    )
    between_slopes_sd: float = 0.12
    leaf_above_bench_mm: float = 0.12
    full_growth_mm_d: float = 0.55
    growth_best_c: float = 20.0
    growth_width_c: float = 6.0
    clippings_ml_m2_mm: float = 50.0
    speed_per_height_mm: float = -0.30
    speed_per_growth_mm_d: float = -0.20
    speed_per_moisture_pct: float = -0.006
    speed_per_round: float = -0.0004
    score_per_height_mm: float = -0.5
    score_per_growth_mm_d: float = -0.6
    score_per_wear: float = -0.35
    quality_per_height_mm: float = 0.5
    quality_per_wear: float = -0.25
    firmness_per_moisture_pct: float = -1.4
    wear_half_life_d: float = 4.0
    ordinary_rounds: float = 55.0
    trueness_index_m: float = 2.0e-6
    water_pct_per_mm: float = 0.6
    draining_share: float = 0.7
    # Worlds that no simple model fits: water works otherwise in the shade, and all is new one day.
    shade_speed_per_moisture_pct: float = 0.0  # more, on greens with less light than shade_below
    shade_below: float = 0.85
    jump: Jump | None = None  # of green speed, e.g. a new mower or new turf


@dataclass(frozen=True, slots=True)
class Noise:
    """Wandering of one quantity that nobody caused: a shared and a green's own AR(1)."""

    quantity: str
    course_sd: float
    green_sd: float
    course_memory: float = 0.7
    green_memory: float = 0.5


NOISE = (
    Noise("green_speed", 0.07, 0.06),
    Noise("smoothness", 0.22, 0.22),
    Noise("trueness_score", 0.2, 0.2),
    Noise("firmness", 1.5, 2.0),
    Noise("growth", 0.12, 0.08),
    Noise("quality", 0.08, 0.1, 0.95, 0.9),
)


@dataclass(frozen=True, slots=True)
class Routine:
    """Work done every so often on a weekday (0 = Monday), shifted by a day per group."""

    practice: str
    every_days: int
    weekday: int
    months: tuple[int, ...]
    time: str
    amount: float | None = None
    material: str = ""
    depth_mm: float | None = None
    quiet_days: int = 5  # not within these days before an event
    needs_dry: bool = True
    detail: str = ""
    one_day: bool = False  # all groups on the same day


ROUTINES = (
    Routine("core", 300, 1, (3,), "08:00", 5.0, "sand", 50.0, 21, detail="holes filled"),
    Routine("needle_tine", 300, 1, (10,), "08:00", 3.0, "", 150.0, 21),
    Routine("topdress", 14, 0, SUMMER, "09:00", 0.45, "sand"),
    Routine("verticut", 28, 1, (5, 6, 7, 8, 9), "08:30", 2.0, "", None, 7),
    Routine("brush", 14, 3, (4, 5, 6, 7, 8, 9), "05:20", 1.0, "", None, 2, False),
    Routine("feed", 14, 3, SUMMER, "10:00", 1.2, "urea", None, 3, one_day=True),
    Routine("wetting_agent", 28, 2, (5, 6, 7, 8, 9), "10:00", 1.5, "wetting agent", None, 2,
            False, one_day=True),
    Routine("hole_change", 1, 0, tuple(range(1, 13)), "06:30", None, "", None, 0, False,
            one_day=True),
    Routine("hole_change", 1, 4, tuple(range(1, 13)), "06:30", None, "", None, 0, False,
            one_day=True),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Manager:
    """How the invented manager decides; ``need`` is the dial from coin-flip to need-driven.

    The chance of a roll has the log-odds ``lean + usual_push + event_push + winter_push +
    need * (wanted - impression) / 0.1 m``, the impression being the surface of that morning
    before any work, seen with an error of ``impression_sd`` [m] that lasts from day to day by
    ``impression_memory``; no reading in the record holds it. What is ``left_open`` is not
    written ahead: the week's plan decides it.

    A ``sham`` is a practice that does nothing, done green by green with the log-odds
    ``sham_lean + sham_need * (wanted - impression) / 0.1 m``.
    """

    lean: float = -1.6
    usual_push: float = 2.6
    usual_days: tuple[int, ...] = (1, 4)
    need: float = 1.0
    event_push: float = 3.0
    winter_push: float = -2.5
    wanted_speed_m: float = 2.9
    impression_sd: float = 0.08
    impression_memory: float = 0.0
    spot_rolls: bool = True
    by_green: bool = False
    rolls_week: tuple[int, ...] = (4, 4, 3)
    double_cut_share: float = 0.06
    month_height_mm: tuple[float, ...] = (
        4.0, 4.0, 4.0, 3.8, 3.6, 3.6, 3.6, 3.6, 3.6, 3.8, 4.0, 4.0,
    )  # fmt: skip
    event_height_mm: float = 3.3
    group_height_mm: tuple[float, ...] = (0.0, 0.0, 0.1)
    height_step_mm: float = 0.1
    step_days: int = 3
    slip: float = 0.1
    routines: tuple[Routine, ...] = ROUTINES
    regulator_heat: float = 200.0
    dry_pct: tuple[float, ...] = (14.0, 14.0, 17.0)
    planned_days: int = 7
    left_open: tuple[str, ...] = ("mow", "roll", "topdress", "verticut", "brush")
    sham: str = ""
    sham_lean: float = -1.5
    sham_need: float = 0.0

    @classmethod
    def coin_flip(cls) -> Manager:
        """A manager who rolls by the toss of a coin, green by green, and never by need."""
        return cls(lean=-0.6, usual_push=0.0, need=0.0, event_push=0.0, winter_push=0.0,
                   spot_rolls=False, by_green=True, rolls_week=(7, 7, 7))  # fmt: skip

    def driven(self, need: float) -> Manager:
        """The same manager with another dial (0 = need plays no part)."""
        return replace(self, need=need)

    @classmethod
    def by_feel(cls, need: float = 2.5) -> Manager:
        """A manager who rolls green by green, strongly, by an impression nobody writes down.

        What misleads him lasts: half of the error of a morning is still there two mornings on.
        """
        return replace(cls.coin_flip().driven(need), impression_memory=0.7)


@dataclass(frozen=True, slots=True)
class Observer:
    """One who reads: his leniency on scores, his length bias [m], how he writes a length."""

    name: str
    leniency: float
    length_bias_m: float
    writes: str  # "cm" in metres to the cm, "ft" as 9'6", "in" as whole inches
    score_step: float
    score_sd: float = 0.45
    leniency_per_year: float = 0.0
    length_drift_m_year: float = 0.0
    length_step_m: float = 0.0  # lengths are rounded to whole steps; 0 = as finely as he writes


@dataclass(frozen=True, slots=True)
class Crew:
    """Who reads, with what, how often, and how much the single readings scatter; who writes.

    ``odd_pull`` makes reading informative: instead of on fixed days, a morning is read the
    likelier the further it lies from the last two weeks' [log-odds per 0.1 m], and then the
    oddest greens first. Shares of ``unwritten`` and ``misdated`` work hold for the practices in
    ``careless_with`` (none named = all).
    """

    observers: tuple[Observer, ...] = (
        Observer("Ida", 0.0, 0.0, "cm", 0.5),
        Observer("Bram", 0.5, 0.02, "ft", 1.0),
        Observer("Suki", -0.4, -0.01, "in", 0.5),
    )
    ramps: Mapping[str, float] = field(
        default_factory=lambda: {"ramp-1": 0.0, "ramp-2": 0.03}  # added length [m]
    )
    read_days: tuple[int, ...] = (0, 2, 4)
    winter_days: tuple[int, ...] = (2,)
    fewest_greens: int = 6
    most_greens: int = 9
    roll_sd_m: float = 0.05
    set_sd_m: float = 0.03
    station_sd_m: float = 0.05
    station_slope_sd: float = 0.003
    moisture_sd_pct: float = 1.5
    firmness_sd_g: float = 5.0
    clippings_sd: float = 0.12  # of the logarithm
    hours_drift_m: float = -0.008  # change of green speed per hour after 07:00
    set_tails: float = 0.0  # degrees of freedom of a set's error; 0 = normal
    odd_pull: float = 0.0
    odd_lean: float = -0.3  # log-odds of reading on a morning that is 0.1 m from usual
    jump: Jump | None = None  # of all lengths, e.g. another release or another tape
    unwritten: float = 0.0
    unwritten_whole: bool = False  # forget whole rows, not single greens
    misdated: float = 0.0
    misdated_days: tuple[int, ...] = (-2, -1, 1, 2)
    careless_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class World:
    """All of an invented course; make it small with ``greens`` and ``days`` for a quick one.

    ``days`` is the length of the record up to and with today; None starts it on 1 March of
    the year before.
    """

    greens: int = 18
    days: int | None = None
    climate: Climate = field(default_factory=Climate)
    surface: Surface = field(default_factory=Surface)
    responses: tuple[Response, ...] = RESPONSES
    noise: tuple[Noise, ...] = NOISE
    manager: Manager = field(default_factory=Manager)
    crew: Crew = field(default_factory=Crew)
    place: Place = field(default_factory=Place)

    def __post_init__(self) -> None:
        """Refuse a course too small to have its three groups, or a record of no days."""
        if self.greens < 3:
            raise ValueError(f"greens: {self.greens} is too few; a course needs at least 3")
        if self.days is not None and self.days < 2:
            raise ValueError(f"days: {self.days} is too few; a record needs at least 2")
        for name in ("unwritten", "misdated"):
            share = getattr(self.crew, name)
            if not 0 <= share < 1:
                raise ValueError(f"{name}: {share} is no share; give 0 or more and less than 1")
