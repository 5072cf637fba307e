"""Reading what an answer of `effects` says of how it learned, one effect at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import rows, terms

RATIO = "1"
"""Unit of an effect that multiplies: with the act to without it."""


@dataclass(frozen=True, slots=True)
class Point:
    """What one act changes some days after it, elsewhere and here."""

    day: float
    prior: Estimate
    here: Estimate


@dataclass(frozen=True, slots=True)
class Detail:
    """How one effect was learned.

    Args:
        row: the finding at the time its effect is largest.
        told: what the answer adds to it; empty when it adds nothing.
    """

    row: rows.Row
    told: Mapping[str, Any]

    @property
    def act(self) -> str:
        """Return what one act is called."""
        return terms.act(self.row["practice"], self.row.get("dose"))

    @property
    def outcome(self) -> str:
        """Return the quantity that is moved."""
        return str(self.row["outcome"])

    @property
    def here(self) -> Estimate:
        """Return what is believed here."""
        return rows.estimate(self.row["here"])

    @property
    def prior(self) -> Estimate:
        """Return what is known elsewhere."""
        return rows.estimate(self.row["prior"])

    @property
    def first(self) -> Point:
        """Return the day on which the act is first felt: the plain comparison speaks of it."""
        told = self.told.get("curve")
        if told:
            return _point(told[0])
        return Point(float(self.row["horizon_days"]), self.prior, self.here)

    @property
    def share(self) -> float:
        """Return the share learned here, 0..1."""
        return float(self.row.get("share_local") or 0.0)

    def number(self, key: str) -> Estimate | None:
        """Return an estimate that the answer adds, or nothing."""
        return rows.estimate(self.told.get(key))


def as_changes(answer: Answer) -> Answer:
    """Return the answer with ratios told as changes: 1.25 times as much is 25 % more."""
    findings = tuple(_both(row) for row in answer.findings)
    told = tuple(_changed(one) for one in answer.more.get("learned") or ())
    return replace(answer, findings=findings, more={**answer.more, "learned": told})


def _both(row: Mapping[str, Any]) -> dict[str, Any]:
    return {**row, "prior": _change(row["prior"]), "here": _change(row["here"])}


def _changed(one: Mapping[str, Any]) -> dict[str, Any]:
    made = dict(one)
    for key in ("plain", "readings_alone"):
        made[key] = _change(one.get(key))
    made["curve"] = [_both(point) for point in one.get("curve") or ()]
    made["need"] = [{**n, "estimate": _change(n["estimate"])} for n in one.get("need") or ()]
    trial = one.get("trial")
    if trial and trial.get("surface_cost"):
        made["trial"] = {**trial, "surface_cost": _change(trial["surface_cost"])}
    return made


def _change(held: Any) -> Estimate | None:
    """Return a ratio as a change in per cent, other estimates as they are."""
    one = rows.estimate(held)
    if one is None or one.unit != RATIO:
        return one
    value, low, high = (100 * (x - 1) for x in (one.value, one.low, one.high))
    return replace(one, value=value, low=low, high=high, sd=100 * one.sd, unit="%", quantiles=None)


def details(answer: Answer, held: Sequence[rows.Row]) -> list[Detail]:
    """Return one detail for each row of effects: what the answer adds beside it."""
    return [Detail(row, _told(answer, row)) for row in held]


def _told(answer: Answer, row: rows.Row) -> Mapping[str, Any]:
    for one in answer.more.get("learned") or ():
        same = all(one.get(k) == row.get(k) for k in ("practice", "outcome"))
        if same and _same_dose(one.get("dose"), row.get("dose")):
            return one
    return {}


def _same_dose(one: Any, other: Any) -> bool:
    return not one or not other or (one.get("value") == other.get("value"))


def curve(answer: Answer, detail: Detail) -> list[Point]:
    """Return what one act changes day by day: as the answer tells it, else at its horizons."""
    told = detail.told.get("curve")
    if told:
        return [_point(one) for one in told]
    row = detail.row
    keys = ("green", "practice", "outcome", "method", "dose")
    mine = [r for r in answer.findings if all(r.get(k) == row.get(k) for k in keys)]
    made = [
        Point(r["horizon_days"], rows.estimate(r["prior"]), rows.estimate(r["here"])) for r in mine
    ]
    return sorted(made, key=lambda point: point.day)


def _point(held: Mapping[str, Any]) -> Point:
    return Point(held["day"], rows.estimate(held["prior"]), rows.estimate(held["here"]))


def by_green(answer: Answer, detail: Detail) -> list[rows.Row]:
    """Return the rows of single greens at the same time, in playing order."""
    row = detail.row
    keys = ("practice", "outcome", "method", "dose", "horizon_days")
    return [
        r
        for r in answer.findings
        if str(r["green"]) not in rows.WHOLE and all(r.get(k) == row.get(k) for k in keys)
    ]


def weight(detail: Detail) -> tuple[bool, bool, float]:
    """Return what sorts details: a clear direction first, then speed, then the largest."""
    held = detail.here
    clear = held.low > 0 or held.high < 0
    return not clear, detail.outcome not in rows.FIRST[:1], -abs(held.value)
