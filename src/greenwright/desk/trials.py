"""A trial on the course: its plan with dates, what was read for it, and the spread to plan by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.evidence import value
from greenwright.base.tables import kinds
from greenwright.base.values import Reading, Snapshot
from greenwright.desk.looking import day_of
from greenwright.verify.designing import Plan, blind_codes, lay_out

SPEED = ("roll_distance", "green_speed")
HERE = ("crossover", "half-greens", "before-after", "completely-randomised", "stepped-wedge")
"""Layouts that are laid out over the greens of a record."""
ENOUGH = 12
"""Green-days of readings from which the course's own spread is told."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A trial as asked for.

    Args:
        name: under which it is kept; empty = a proposal.
        layout, treatments, greens, never, seed, periods: as `lay_out` takes them.
        kind: of the readings; start, days: of the first period, and how long each lasts.
        difference: to be seen, in the unit of the kind; None = the planning value.
        sd: of one green-period; None = the record's or the planning value.
    """

    name: str
    layout: str
    treatments: tuple[str, ...]
    greens: tuple[str, ...]
    never: tuple[str, ...]
    seed: int
    periods: int
    kind: str
    start: date
    days: int
    difference: float | None
    sd: float | None


def wanted(record: Snapshot, options: dict[str, Any]) -> Wanted:
    """Return the trial that the options ask for, the rest filled in.

    Raises:
        BadInput: a layout, kind, green or number that cannot be.
    """
    held = {name: one for name, one in options.items() if one not in (None, "")}
    layout = str(held.get("layout", "crossover"))
    if layout not in HERE:
        raise BadInput(f"{layout!r} is not laid out over greens", where="layout",
                       expected=", ".join(HERE))  # fmt: skip
    kind = str(held.get("kind", "roll_distance"))
    if kind not in kinds():
        raise BadInput(f"{kind!r} is no kind of reading", where="kind",
                       expected=", ".join(kinds()))  # fmt: skip
    playing = tuple(g.green for g in record.greens if g.in_play)
    greens = _names(held.get("greens")) or playing[:6]
    for one in greens:
        if one not in playing:
            raise BadInput(f"there is no green {one!r} in play", where="greens",
                           expected=", ".join(playing))  # fmt: skip
    return Wanted(
        str(held.get("name", "")).strip(),
        layout,
        _names(held.get("treatments")) or ("as usual", "new way"),
        greens,
        _names(held.get("never")),
        _whole(held, "seed", record.as_of.toordinal() % 100_000, low=1),
        _whole(held, "periods", 4 if layout in ("crossover", "stepped-wedge") else 2, low=1),
        kind,
        day_of("from", held.get("from", record.as_of + timedelta(days=1))),
        _whole(held, "days", 5, low=1),
        _number(held, "difference"),
        _number(held, "sd"),
    )


def _names(text: object) -> tuple[str, ...]:
    return tuple(part.strip() for part in str(text or "").split(",") if part.strip())


def _whole(held: dict[str, Any], name: str, default: int, *, low: int) -> int:
    made = int(held.get(name, default))
    if not low <= made <= 1_000_000:
        raise BadInput(f"{made} cannot be", where=name, expected=f"a number from {low}")
    return made


def _number(held: dict[str, Any], name: str) -> float | None:
    if name not in held:
        return None
    made = float(held[name])
    if not (made > 0 and np.isfinite(made)):
        raise BadInput(f"{made:g} cannot be", where=name, expected="a number above zero")
    return made


def plan_of(one: Wanted) -> Plan:
    """Return the plan drawn by lot."""
    if one.layout == "half-greens" and len(one.treatments) != 2:
        raise BadInput("half-greens compare two ways", where="treatments")
    return lay_out(
        one.layout,
        factors={"treatment": one.treatments},
        units=one.greens,
        seed=one.seed,
        periods=one.periods,
        never=one.never,
    )


def dated(plan: Plan, one: Wanted) -> list[dict[str, Any]]:
    """Return the plan's rows with their first and last day and their blind codes."""
    codes = blind_codes(plan)
    rows = []
    for row in plan.rows:
        first, last = span_of(row, one)
        rows.append({**row, "code": codes[row["plot"]], "from": first, "until": last})
    return rows


def span_of(row: dict[str, str], one: Wanted) -> tuple[date, date]:
    """Return the first and last day of a row: its period, or before or after the start."""
    if row.get("phase") == "before":
        return one.start - timedelta(days=one.days), one.start - timedelta(days=1)
    turn = int(row.get("period", 1)) - 1
    first = one.start + timedelta(days=turn * one.days)
    return first, first + timedelta(days=one.days - 1)


def washout(one: Wanted) -> int:
    """Return the first days of a period that are left out after a switch [d]."""
    switched = one.layout in ("crossover", "stepped-wedge")
    return min(int(value("trial.washout_days")), one.days - 1) if switched else 0


def gathered(record: Snapshot, rows: Sequence[dict[str, Any]], one: Wanted) -> list[dict[str, Any]]:
    """Return the rows with how many readings stand behind each and their mean [unit]."""
    kept = [r for r in record.readings if r.kind == one.kind]
    skip = timedelta(days=washout(one))
    made = []
    for row in rows:
        first = day_of("from", row["from"]) + (skip if row.get("period", "1") != "1" else skip * 0)
        mine = [r for r in kept if _belongs(r, row, first)]
        mean = float(np.mean([r.value for r in mine])) if mine else None
        made.append({**row, "read": len(mine), "value": mean})
    return made


def _belongs(reading: Reading, row: dict[str, Any], first: date) -> bool:
    part = row.get("part", "")
    return (
        reading.green == row["green"]
        and (not part or reading.part == part)
        and first <= reading.date <= day_of("until", row["until"])
    )


def spread(record: Snapshot, one: Wanted) -> tuple[dict[str, float], str, str | None]:
    """Return the sds to plan by, where they come from, and the evidence key used if any.

    Raises:
        CannotAnswer: no sd is known for that kind of reading.
    """
    own = own_spread(record, one.kind)
    if one.sd is not None:
        between, within, told, key = one.sd, one.sd, "given", None
    elif own is not None:
        between, within, told, key = *own, "this course's own readings", None
    elif one.kind in SPEED:
        key = "trial.residual_sd"
        between, within, told = 2 * value(key), value(key), "the planning value"
    else:
        raise CannotAnswer(
            f"the spread of {kinds()[one.kind].label} between days is not known here",
            where="sd",
            expected=f"readings on {ENOUGH} green-days, or --sd",
            do="Read a few greens on a few days, or name the sd",
        )
    plots = between if one.layout == "completely-randomised" else within
    sds = {"greens": between, "plots": plots, "phases within greens": within}
    sds |= {"periods within greens": within, "halves of greens": within}
    return {**sds, "readings within phases": 0.0}, told, key


def own_spread(record: Snapshot, kind: str) -> tuple[float, float] | None:
    """Return the sd between greens and of a green-day beside its green and day, or None."""
    held: dict[tuple[str, date], list[float]] = {}
    for r in record.readings:
        if r.kind == kind and not r.part:
            held.setdefault((r.green, r.date), []).append(r.value)
    greens = sorted({g for g, _ in held})
    days = sorted({d for _, d in held})
    free = len(held) - len(greens) - len(days) + 1
    if free < ENOUGH or len(greens) < 3:
        return None
    x = np.zeros((len(held), len(greens) + len(days)))
    for i, (green, day) in enumerate(held):
        x[i, greens.index(green)] = x[i, len(greens) + days.index(day)] = 1.0
    y = np.array([float(np.mean(v)) for v in held.values()])
    beta = np.linalg.lstsq(x, y, rcond=None)[0]
    rest = y - x @ beta
    return float(np.std(beta[: len(greens)], ddof=1)), float(np.sqrt(rest @ rest / free))
