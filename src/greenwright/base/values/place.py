"""Where the record is kept: the course, its greens and the stations on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from greenwright.base.errors import UnknownKey


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One golf course; latitude and longitude [deg], elevation_m [m]."""

    course: str
    name: str
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    timezone: str = "UTC"
    display_units: str = "metric"
    speed_units: str = "ft"
    currency: str = ""
    jurisdiction: str = ""
    setting: str = "other"
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Green:
    """One green; group = greens worked alike, order = playing order, area_m2 [m2]."""

    green: str
    group: str = ""
    area_m2: float | None = None
    grass: str = "other"
    rootzone: str = "sand"
    in_play: bool = True
    order: int | None = None
    latitude: float | None = None
    longitude: float | None = None
    shade: str = "open"
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A marked spot on a green; slope_pct = 100 x rise over run along the roll line."""

    green: str
    station: str
    slope_pct: float | None = None
    x_m: float | None = None
    y_m: float | None = None
    id: str = ""
    entered_at: datetime | None = None
    note: str = ""
    other: Mapping[str, str] = field(default_factory=dict)


def greens_named(text: str, greens: Sequence[Green]) -> tuple[str, ...]:
    """Return the keys of the greens that a cell names, in playing order.

    Args:
        text: a green key, several joined with ``;``, a group, ``all``, or empty (= all).
        greens: the course's greens in playing order.

    Raises:
        UnknownKey: a part of the text is neither a green nor a group.
    """
    wanted: set[str] = set()
    for part in (p.strip() for p in (text or "all").split(";")):
        named = {g.green for g in greens if part in ("all", g.green)}
        named = named or {g.green for g in greens if part and g.group == part}
        if not named:
            raise UnknownKey(
                f"{part!r} is not a green or a group of this course",
                expected=", ".join(g.green for g in greens),
            )
        wanted |= named
    return tuple(g.green for g in greens if g.green in wanted)
