"""What is wanted and allowed: materials, calendar, targets, crew and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date as Date
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material as the label and the supplier describe it; shares in % by mass."""

    material: str
    form: str = ""
    n_pct: float | None = None
    n_urea_pct: float | None = None
    n_ammonium_pct: float | None = None
    n_nitrate_pct: float | None = None
    p2o5_pct: float | None = None
    k2o_pct: float | None = None
    ca_pct: float | None = None
    mg_pct: float | None = None
    s_pct: float | None = None
    fe_pct: float | None = None
    mn_pct: float | None = None
    cl_pct: float | None = None
    na_pct: float | None = None
    density_kg_l: float | None = None
    price: float | None = None
    price_unit: str = ""
    pack: float | None = None
    stock: float | None = None
    caco3_equivalent: float | None = None
    salt_index: float | None = None
    active: str = ""
    half_life_gdd: float | None = None
    max_rate: float | None = None
    max_rate_unit: str = ""
    max_per_year: float | None = None
    min_interval_d: float | None = None
    reentry_h: float | None = None
    registration: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarEntry:
    """Days that differ from others; weight 1 = ordinary, 3 = the day of the year."""

    start: Date
    name: str
    kind: str
    end: Date | None = None
    weight: float | None = None
    rounds: float | None = None
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The band wanted for a quantity, in its canonical unit; from and until inclusive."""

    quantity: str
    from_: Date | None = None
    until: Date | None = None
    green: str = ""
    method: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""
    weight: float | None = None
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewRow:
    """The labour of one pass on one group, or (practice empty) how many of a machine."""

    practice: str = ""
    group: str = ""
    minutes: float | None = None
    people: float | None = None
    machine: str = ""
    count: int | None = None
    cost_per_h: float | None = None
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit that is never broken; where limits overlap the strictest holds."""

    limit: str
    green: str = ""
    weekday: str = ""
    from_: Date | None = None
    until: Date | None = None
    value: float | None = None
    unit: str = ""
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)
