"""What was seen and done: readings, work, weather, laboratory results, players."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date as Date
from datetime import datetime
from datetime import time as Time


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading; value in the canonical unit of its kind, given as it was written."""

    date: Date
    green: str
    kind: str
    value: float
    unit: str
    time: Time | None = None
    station: str = ""
    part: str = ""
    n: int | None = None
    direction: str = ""
    pass_: str = ""
    set: str = ""
    roll_length_m: float | None = None
    hole_m: float | None = None
    depth_mm: float | None = None
    surface: str = ""
    method: str = ""
    instrument: str = ""
    observer: str = ""
    given: str = ""
    given_unit: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """One piece of work, done, planned or declined; amount in the practice's canonical unit.

    `green` is the text of the record (keys, a group, or all); `greens_named` resolves it.
    """

    date: Date
    green: str
    practice: str
    time: Time | None = None
    status: str = "done"
    part: str = ""
    amount: float | None = None
    unit: str = ""
    passes: float = 1.0
    material: str = ""
    depth_mm: float | None = None
    diameter_mm: float | None = None
    spacing_mm: float | None = None
    spacing2_mm: float | None = None
    carrier_l_ha: float | None = None
    target: str = ""
    machine: str = ""
    operator: str = ""
    licence: str = ""
    labour_h: float | None = None
    cost: float | None = None
    detail: str = ""
    given: str = ""
    given_unit: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherDay:
    """The weather of one day; the unit of each field is in its name."""

    date: Date
    kind: str = "observed"
    issued: Date | None = None
    t_min_c: float | None = None
    t_max_c: float | None = None
    t_mean_c: float | None = None
    rain_mm: float | None = None
    rh_mean_pct: float | None = None
    rh_min_pct: float | None = None
    rh_max_pct: float | None = None
    rh90_h: float | None = None
    leaf_wet_h: float | None = None
    wind_m_s: float | None = None
    wind_height_m: float | None = None
    solar_mj_m2: float | None = None
    sunshine_h: float | None = None
    station: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class LabResult:
    """One analyte of one sample; value in the unit given beside it."""

    date: Date
    medium: str
    analyte: str
    value: float
    green: str = ""
    depth_cm: float | None = None
    extractant: str = ""
    unit: str = ""
    laboratory: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """Rounds played on a day."""

    date: Date
    rounds: float
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Feedback:
    """What players said on a day; asked = a survey, not volunteered."""

    date: Date
    topic: str
    count: int
    green: str = ""
    asked: bool = False
    n_asked: int | None = None
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Putts:
    """Putts tried and made from one distance [m]."""

    date: Date
    distance_m: float
    tried: int
    made: int
    green: str = ""
    player: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)
