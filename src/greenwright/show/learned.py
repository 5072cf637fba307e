"""Reading what an answer of `effects` says of how it learned, one effect at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import rows, terms

SURE = ("yes", "partly")


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
    def share(self) -> float:
        """Return the share learned here, 0..1."""
        return float(self.row.get("share_local") or 0.0)

    def number(self, key: str) -> Estimate | None:
        """Return an estimate that the answer adds, or nothing."""
        return rows.estimate(self.told.get(key))


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
        return [Point(p["day"], rows.estimate(p["prior"]), rows.estimate(p["here"])) for p in told]
    row = detail.row
    keys = ("green", "practice", "outcome", "method", "dose")
    mine = [r for r in answer.findings if all(r.get(k) == row.get(k) for k in keys)]
    made = [
        Point(r["horizon_days"], rows.estimate(r["prior"]), rows.estimate(r["here"])) for r in mine
    ]
    return sorted(made, key=lambda point: point.day)


def by_green(answer: Answer, detail: Detail) -> list[rows.Row]:
    """Return the rows of single greens at the same time, in playing order."""
    row = detail.row
    keys = ("practice", "outcome", "method", "dose", "horizon_days")
    return [
        r
        for r in answer.findings
        if str(r["green"]) not in rows.WHOLE and all(r.get(k) == row.get(k) for k in keys)
    ]


def weight(detail: Detail) -> tuple[int, float]:
    """Return what sorts details: what the record can tell first, then the largest."""
    order = {"yes": 0, "partly": 1}
    return order.get(detail.row["separable"], 2), -abs(detail.here.value)
