"""The deterministic limits by green and day: what is entered, else the cautious defaults."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright.base.evidence import value
from greenwright.base.values import Green, Limit, Snapshot

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Rules:
    """Limits over greens and days; arrays are (greens, days) unless said.

    Args:
        hours: (greens it speaks of, hours by day (days,)), inf where no limit holds.
        rolls_week: passes in any 7 days running, ending on that day.
        min_height_mm: lowest bench height.
        max_step_mm: (greens,) largest change of height.
        step_interval_d: (greens,) least days between changes.
        no_core_days: days before an event without coring.
        no_work: a date on which nothing is done on that green.
        defaults: evidence keys that stand in for limits that were not entered.
    """

    hours: tuple[tuple[frozenset[str], NDArray[np.float64]], ...]
    rolls_week: NDArray[np.float64]
    min_height_mm: NDArray[np.float64]
    max_step_mm: NDArray[np.float64]
    step_interval_d: NDArray[np.float64]
    no_core_days: float
    no_work: NDArray[np.bool_]
    defaults: tuple[str, ...]


def rules(snapshot: Snapshot, greens: Sequence[str], days: Sequence[date]) -> Rules:
    """Return the limits that hold for these greens on these days; the strictest of several.

    Args:
        snapshot: the record with its limits.
        greens: keys along the first axis.
        days: dates along the second axis.
    """
    used: list[str] = []
    named = {g.green: g for g in snapshot.greens}
    kept = [named[g] for g in greens]

    def grid(limit: str, *, strict: str) -> NDArray[np.float64]:
        return _grid(snapshot, limit, greens, days, strict=strict)

    step = grid("max_height_step_mm", strict="min").min(axis=1)
    interval = grid("min_step_interval_d", strict="max").max(axis=1)
    core = grid("no_core_days_before_event", strict="max").max(initial=-np.inf)
    return Rules(
        hours=_hours(snapshot, greens, days),
        rolls_week=_or_default(grid("rolls_week", strict="min"), kept, _rolls_key, used),
        min_height_mm=_or_default(grid("min_height_mm", strict="max"), kept, _height_key, used),
        max_step_mm=_or_one(step, "limits.default.max_height_step_mm", used),
        step_interval_d=_or_one(interval, "limits.default.min_step_interval_d", used),
        no_core_days=float(
            _or_one(np.array([core]), "limits.default.no_core_days_before_event", used)[0]
        ),
        no_work=_no_work(snapshot, greens, days),
        defaults=tuple(dict.fromkeys(used)),
    )


def holds(limit: Limit, when: date) -> bool:
    """Return whether a limit speaks of a date."""
    return (
        (not limit.weekday or limit.weekday == WEEKDAYS[when.weekday()])
        and (limit.from_ is None or limit.from_ <= when)
        and (limit.until is None or when <= limit.until)
    )


def _grid(
    snapshot: Snapshot, limit: str, greens: Sequence[str], days: Sequence[date], *, strict: str
) -> NDArray[np.float64]:
    """Return the strictest entered value by green and day; inf or -inf where there is none."""
    out = np.full((len(greens), len(days)), np.inf if strict == "min" else -np.inf)
    pick = np.minimum if strict == "min" else np.maximum
    for row in snapshot.limits:
        if row.limit != limit or row.value is None:
            continue
        scope = np.isin(greens, snapshot.greens_of(row.green))
        when = np.array([holds(row, d) for d in days], dtype=bool)
        here = scope[:, None] & when[None, :]
        out = np.where(here, pick(out, row.value), out)
    return out


def _hours(
    snapshot: Snapshot, greens: Sequence[str], days: Sequence[date]
) -> tuple[tuple[frozenset[str], NDArray[np.float64]], ...]:
    kept: dict[frozenset[str], NDArray[np.float64]] = {}
    for row in snapshot.limits:
        if row.limit != "labour_h_day" or row.value is None:
            continue
        scope = frozenset(snapshot.greens_of(row.green)) & frozenset(greens)
        now = kept.setdefault(scope, np.full(len(days), np.inf))
        when = np.array([holds(row, d) for d in days], dtype=bool)
        kept[scope] = np.where(when, np.minimum(now, row.value), now)
    return tuple((scope, hours) for scope, hours in kept.items() if scope)


def _no_work(snapshot: Snapshot, greens: Sequence[str], days: Sequence[date]) -> NDArray[np.bool_]:
    out = np.zeros((len(greens), len(days)), dtype=bool)
    for row in snapshot.limits:
        if row.limit == "no_work":
            scope = np.isin(greens, snapshot.greens_of(row.green))
            when = np.array([holds(row, d) for d in days], dtype=bool)
            out |= scope[:, None] & when[None, :]
    return out


def _or_default(
    grid: NDArray[np.float64], greens: Iterable[Green], key_of: object, used: list[str]
) -> NDArray[np.float64]:
    out = grid.copy()
    for i, green in enumerate(greens):
        missing = ~np.isfinite(out[i])
        if missing.any():
            key = key_of(green)  # type: ignore[operator]
            used.append(key)
            out[i, missing] = value(key)
    return out


def _or_one(values: NDArray[np.float64], key: str, used: list[str]) -> NDArray[np.float64]:
    missing = ~np.isfinite(values)
    if missing.any():
        used.append(key)
    return np.where(missing, value(key), values)


def _rolls_key(green: Green) -> str:
    rootzone = green.rootzone.replace("-", "_").replace(" ", "_")
    return f"limits.default.rolls_week.{rootzone or 'sand'}"


def _height_key(green: Green) -> str:
    grass = green.grass.replace("-", "_").replace(" ", "_")
    return f"limits.default.min_height_mm.{grass or 'other'}"
