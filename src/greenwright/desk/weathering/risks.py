"""Disease-risk days as an answer tells them; a risk day is never an instruction to spray."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from greenwright.base.values import Snapshot
from greenwright.desk.answering import Row
from greenwright.desk.weathering.told import row
from greenwright.weather.daily import RiskDays, risk_days
from greenwright.weather.disease import DiseaseModel
from greenwright.weather.given import GivenDay

BACK_D = 30
_HOSTS = {
    "creeping bentgrass": ("bentgrass",),
    "annual bluegrass": ("bluegrass",),
    "ryegrass": ("ryegrass",),
    "cool-season turf": ("bentgrass", "bluegrass", "fescue", "ryegrass"),
}
"""Host of a model -> words in the grasses of greens that are that host."""


def risks_of(days: Sequence[GivenDay], models: Sequence[DiseaseModel]) -> list[RiskDays]:
    """Return every model over the days."""
    return [risk_days(days, model) for model in models]


def risk_rows(found: Sequence[RiskDays], days: Sequence[GivenDay], first: date) -> list[Row]:
    """Return one finding for each model and day that has an answer, from a first day on."""
    return [
        row(
            day, f"risk:{one.model.name}", float(index), one.model.unit, above_threshold=bool(risky)
        )
        for one in found
        for day, index, risky in zip(days, one.index, one.risky, strict=True)
        if np.isfinite(index) and day.weather.date >= first
    ]


def told_risks(
    snapshot: Snapshot,
    found: Sequence[RiskDays],
    days: Sequence[GivenDay],
    own: Sequence[str],
) -> list[Row]:
    """Return what is said of each model: its host, its threshold, and how many risk days.

    Args:
        snapshot: whose greens say whether the host grows here.
        found: the models over the days.
        days: the same days.
        own: models whose threshold the course set.
    """
    on = snapshot.as_of
    back = [on - timedelta(days=BACK_D) < d.weather.date <= on for d in days]
    ahead = [d.weather.date > on for d in days]
    return [
        {
            "name": one.model.name,
            "label": one.model.label,
            "host": one.model.host,
            "host_here": host_here(snapshot, one.model.host),
            "threshold": one.model.threshold,
            "own_threshold": one.model.name in own,
            "unit": one.model.unit,
            "needs": list(one.model.needs),
            "missing": _missing(one, days, on),
            "back": _counted(one, back),
            "ahead": _counted(one, ahead),
        }
        for one in found
    ]


def host_here(snapshot: Snapshot, host: str) -> bool:
    """Return whether a model's host is among the grasses of the greens in play."""
    words = _HOSTS.get(host, (host,))
    grasses = {green.grass for green in snapshot.greens if green.in_play}
    return any(word in grass for word in words for grass in grasses)


def evidence_of(models: Sequence[DiseaseModel]) -> frozenset[str]:
    """Return the evidence keys behind the models."""
    return frozenset(key for model in models for key in model.evidence_keys)


def _missing(one: RiskDays, days: Sequence[GivenDay], on: date) -> list[str]:
    """Return the fields that no observed day of the last month had."""
    near = [d for d in days if on - timedelta(days=BACK_D) < d.weather.date <= on]
    return [
        name
        for name in one.model.needs
        if not any(getattr(d.weather, name) is not None and name not in d.filled for d in near)
    ]


def _counted(one: RiskDays, inside: Sequence[bool]) -> Row:
    place = np.array(inside, dtype=bool)
    known = place & np.isfinite(one.index)
    return {
        "days": int(place.sum()),
        "known": int(known.sum()),
        "risk": int(one.risky[known].sum()),
    }
