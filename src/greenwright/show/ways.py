"""Reading the rows of `forecast`: where a quantity was, is and will be, and the work under it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import rows, terms

SILENT = ("hole_change", "mark_repair", "dew_removal", "cover", "other")
"""Work that is not drawn: it is not done for the surface."""
BACK = 21
"""Days drawn before today."""
NOTHING = "no work at all"


@dataclass(frozen=True, slots=True)
class Step:
    """One day of a way.

    Args:
        day: the day.
        held: best guess and range.
        inner: what holds half of the time, where it is known.
        in_target: chance of being in the target, where it is known.
    """

    day: date
    held: Estimate
    inner: tuple[float, float] | None = None
    in_target: float | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """Work on a day, done or planned."""

    day: date
    practice: str
    planned: bool
    greens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """Where one quantity of the course or of a green was believed to be, and where it goes.

    Args:
        green, quantity, method: of what.
        on: the day of asking.
        past, ahead: day by day, dates ascending.
        read: readings of these days.
        band: the target, where there is one.
        work: done and planned.
    """

    green: str
    quantity: str
    method: str
    on: date
    past: tuple[Step, ...]
    ahead: tuple[Step, ...]
    read: tuple[tuple[date, float], ...] = ()
    band: rows.Band | None = None
    work: tuple[Mark, ...] = ()

    def after(self, days: int) -> Step | None:
        """Return the step so many days ahead, or nothing."""
        return next((s for s in self.ahead if (s.day - self.on).days == days), None)


def ways(answer: Answer, green: str = rows.COURSE) -> tuple[Way, ...]:
    """Return the way of every quantity that the answer looks ahead at, speed first.

    Args:
        answer: of forecast.
        green: whose; the course's when nothing is said.
    """
    return ways_of(answer.findings, answer.more, on=answer.as_of, green=green)


def ways_of(
    findings: Sequence[rows.Row], more: Mapping[str, Any], *, on: date, green: str = rows.COURSE
) -> tuple[Way, ...]:
    """Return the same from bare rows, as a stored forecast has them."""
    mine = [row for row in findings if str(row["green"]) == green]
    keys = dict.fromkeys((row["quantity"], row.get("method") or "") for row in mine)
    made = (_way(mine, more, key, (on, green)) for key in keys)
    return tuple(sorted((w for w in made if w.ahead), key=_place))


def _place(way: Way) -> int:
    return rows.FIRST.index(way.quantity) if way.quantity in rows.FIRST else len(rows.FIRST)


def _way(
    mine: Sequence[rows.Row], more: Mapping[str, Any], key: tuple[str, str], of: tuple[date, str]
) -> Way:
    on, green = of

    def held(among: Sequence[rows.Row]) -> list[rows.Row]:
        found = [r for r in among if (r["quantity"], r.get("method") or "") == key]
        return sorted(found, key=lambda r: str(rows.day(r["date"])))

    past = [r for r in held(more.get("past") or ()) if str(r["green"]) == green]
    whole = green in rows.WHOLE
    read = [r for r in held(more.get("read") or ()) if whole or str(r["green"]) == green]
    target = (more.get("targets") or {}).get(key[0])
    return Way(
        green=green,
        quantity=key[0],
        method=key[1],
        on=on,
        past=tuple(Step(rows.day(r["date"]), rows.estimate(r["estimate"])) for r in past),
        ahead=tuple(_step(r) for r in held(mine) if rows.day(r["date"]) > on),
        read=tuple((rows.day(r["date"]), float(r["value"])) for r in read),
        band=rows.band({"target": target}),
        work=_work(more.get("work") or (), green),
    )


def _step(row: rows.Row) -> Step:
    held = rows.estimate(row["estimate"])
    told = row.get("quantiles") or held.quantiles or {}
    shares = {f"{float(key):g}": value for key, value in told.items()}
    inner = (shares["0.25"], shares["0.75"]) if {"0.25", "0.75"} <= set(shares) else None
    return Step(rows.day(row["date"]), held, inner, row.get("in_target"))


def _work(held: Sequence[rows.Row], green: str) -> tuple[Mark, ...]:
    made = []
    for row in held:
        on = tuple(str(g) for g in row.get("greens") or ())
        mine = green in rows.WHOLE or not on or green in on or on == ("all",)
        if row["practice"] in SILENT or not mine:
            continue
        made.append(Mark(rows.day(row["date"]), row["practice"], row["status"] == "planned", on))
    return tuple(sorted(made, key=lambda mark: (mark.day, mark.practice)))


def planned_words(way: Way) -> str:
    """Return the work that the forecast takes as coming, in words.

    >>> planned_words(Way("course", "green_speed", "", date(2026, 6, 5), (), ()))
    'no work at all'
    """
    days: dict[str, set[date]] = {}
    for mark in way.work:
        if mark.planned and mark.day > way.on:
            days.setdefault(mark.practice, set()).add(mark.day)
    told = [f"{terms.practice(key).lower()} {_on_days(len(on))}" for key, on in days.items()]
    return terms.listed(told) or NOTHING


def _on_days(count: int) -> str:
    return "on one day" if count == 1 else f"on {count} days"
