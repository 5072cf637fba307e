"""The work of a whole record as the morning's readings feel it: doses by green and day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from datetime import time as Time
from math import pi
from statistics import median

import numpy as np
from numpy.typing import NDArray

from greenwright.base.tables import practices
from greenwright.base.values import Material, Snapshot, Work
from greenwright.respond.path import past_work
from greenwright.respond.shapes import ACTS

Floats = NDArray[np.float64]

BEFORE_PLAY = frozenset({"mow", "double_cut", "roll", "brush", "groom", "mark_repair"})
"""Work that is usually done before the morning's readings; all other is felt from the next day."""

COUNTED = frozenset({"roll", "brush", "groom", "verticut", "mark_repair"})
"""Practices of which a pass is one dose."""

BY_TOSS = "by toss"
"""What stands in the detail or note of work, done or declined, that a toss decided."""

USUAL = frozenset({"regulator", "wetting_agent"})
"""Practices of which the record's own usual amount is one dose."""


@dataclass(frozen=True, slots=True)
class Worked:
    """Work on every day of a calendar, each array (greens, days).

    Args:
        first: date of day 0.
        greens: in playing order.
        doses: act -> reference doses felt for the first time on that day's readings.
        bench_mm: height in force [mm], nan where it is not known.
        mown: cut before that day's readings.
        growth: growth potential of the day, 0..1.
        days_done: act -> days on which it was done.
        tossed: act -> that part of the doses that fell by toss or is planned only; of mow 1 on
            days of such a height.
        tosses: act -> green-days, done or declined, on which the toss decided.
    """

    first: date
    greens: tuple[str, ...]
    doses: Mapping[str, Floats]
    bench_mm: Floats
    mown: NDArray[np.bool_]
    growth: Floats
    days_done: Mapping[str, int]
    tossed: Mapping[str, Floats] = field(default_factory=dict)
    tosses: Mapping[str, int] = field(default_factory=dict)

    def grown(self) -> tuple[Floats, Floats]:
        """Return the growth since the last cut, and what had grown when that day was cut or not.

        Both count the growth potential of the days before the morning; the first is 0 where the
        day was cut before its readings.
        """
        left, gathered = np.zeros(self.growth.shape), np.zeros(self.growth.shape)
        fresh = np.concatenate([self.growth[:, :1], self.growth[:, :-1]], axis=1)
        before = np.zeros(len(self.greens))
        for day in range(left.shape[1]):
            before = before + fresh[:, day]
            gathered[:, day] = before
            before = np.where(self.mown[:, day], 0.0, before)
            left[:, day] = before
        return left, gathered


def worked(snapshot: Snapshot, *, first: date, until: date, planned: Sequence[Work] = ()) -> Worked:
    """Return the done work of a record, and work planned after it, on the days first..until.

    Args:
        snapshot: the record; its done work up to as_of counts.
        first, until: the calendar, both included.
        planned: pieces of work after as_of, counted as if done.
    """
    done = [w for w in snapshot.work if w.status == "done" and w.date <= snapshot.as_of]
    coming = [replace(w, status="done") for w in planned if snapshot.as_of < w.date <= until]
    whole = replace(snapshot, as_of=until, work=(*done, *coming))
    path = past_work(whole, since=first)
    keep = [path.greens.index(g) for g in playing(snapshot)]
    greens = tuple(path.greens[i] for i in keep)
    days = path.mown.shape[1]
    doses, days_done = _doses(whole, first=first, days=days, greens=greens)
    drawn = [*[w for w in done if by_toss(w)], *coming]
    fallen, _ = _doses(replace(whole, work=tuple(drawn)), first=first, days=days, greens=greens)
    fallen["mow"] = _heights(snapshot, drawn, first=first, shape=path.mown[keep].shape)
    return Worked(
        first,
        greens,
        doses,
        path.bench_mm[keep],
        path.mown[keep],
        path.growth[keep],
        {act: len({d for d in found if d <= snapshot.as_of}) for act, found in days_done.items()},
        tossed={act: dose for act, dose in fallen.items() if dose.any()} if drawn else {},
        tosses=_tosses(snapshot, first=first),
    )


def by_toss(work: Work) -> bool:
    """Return whether a piece of work was done, or declined, because a toss said so."""
    return BY_TOSS in f"{work.detail} {work.note}".lower()


def _heights(
    snapshot: Snapshot, drawn: Sequence[Work], *, first: date, shape: tuple[int, ...]
) -> Floats:
    """Return 1 on the days of each green whose height of cut was tossed."""
    held, greens = np.zeros(shape), playing(snapshot)
    for work in drawn:
        if work.practice == "mow" and work.passes <= 1 and work.date >= first:
            mine = [greens.index(g) for g in snapshot.greens_of(work.green) if g in greens]
            held[mine, (work.date - first).days] = 1.0
    held[:, (snapshot.as_of - first).days + 1 :] = 1.0
    return held


def _tosses(snapshot: Snapshot, *, first: date) -> dict[str, int]:
    """Return on how many green-days a toss decided, by act."""
    held: dict[str, set[tuple[str, date]]] = defaultdict(set)
    for work in snapshot.work:
        if work.status != "planned" and first <= work.date <= snapshot.as_of and by_toss(work):
            for act in [act for act, _ in pieces(work)] or [work.practice]:
                held[act] |= {(green, work.date) for green in snapshot.greens_of(work.green)}
    return {act: len(days) for act, days in held.items()}


def playing(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the greens in play, in playing order."""
    return tuple(g.green for g in snapshot.greens if g.in_play)


def pieces(work: Work) -> tuple[tuple[str, float], ...]:
    """Return the acts of a piece of work that have a dose of their own, and passes of each."""
    if work.practice == "mow":
        return (("double_cut", work.passes - 1.0),) if work.passes > 1 else ()
    return ((work.practice, work.passes),) if work.practice in ACTS else ()


def amount_of(
    work: Work, *, materials: Mapping[str, Material], usual: Mapping[tuple[str, str], float]
) -> float:
    """Return how many reference doses one pass of a piece of work is; one where not written.

    Args:
        work: one piece.
        materials: by name, for what a product holds.
        usual: (practice, material) -> usual amount.
    """
    reference = practices()[work.practice].reference or 1.0
    if work.practice in COUNTED or work.practice == "mow":
        return 1.0
    if work.practice == "feed":
        return _nitrogen(work, materials) / reference
    if work.practice in USUAL:
        held = usual.get((work.practice, work.material))
        return work.amount / held if work.amount is not None and held else 1.0
    amount = work.amount if work.amount is not None else _holes_pct(work)
    return 1.0 if amount is None else amount / reference


def _nitrogen(work: Work, materials: Mapping[str, Material]) -> float:
    """Return the nitrogen of a feed [g/m2]; one reference dose where the record cannot tell."""
    reference = practices()["feed"].reference or 1.0
    held = materials.get(work.material)
    if work.amount is None:
        return reference
    if "as N" in work.detail:
        return work.amount
    if held is None or held.n_pct is None:
        return 0.0 if held is not None else reference
    heavy = (held.density_kg_l or 1.0) if work.unit.startswith("mL") else 1.0
    return work.amount * heavy * held.n_pct / 100


def _holes_pct(work: Work) -> float | None:
    """Return the share of the surface that holes of a diameter and spacing take [%]."""
    if not work.diameter_mm or not work.spacing_mm:
        return None
    other = work.spacing2_mm or work.spacing_mm
    return 100 * pi / 4 * work.diameter_mm**2 / (work.spacing_mm * other)


def _doses(
    snapshot: Snapshot, *, first: date, days: int, greens: tuple[str, ...]
) -> tuple[dict[str, Floats], dict[str, list[date]]]:
    doses = {act: np.zeros((len(greens), days)) for act in ACTS if act != "mow"}
    done: dict[str, list[date]] = defaultdict(list)
    rows, hours = {g: i for i, g in enumerate(greens)}, _read_hours(snapshot)
    materials, usual = {m.material: m for m in snapshot.materials}, _usual(snapshot.work)
    for work in snapshot.work:
        if work.practice == "mow" and work.date >= first:
            done["mow"].append(work.date)
        for act, passes in pieces(work):
            if not first <= work.date <= snapshot.as_of:
                continue
            done[act].append(work.date)
            dose = passes * amount_of(work, materials=materials, usual=usual)
            for green in snapshot.greens_of(work.green):
                day = (work.date - first).days + _later(work, act, hours.get((green, work.date)))
                if green in rows and day < days:
                    doses[act][rows[green], day] += dose
    return doses, done


def _later(work: Work, act: str, read: Time | None) -> int:
    """Return 1 where work is first felt by the next day's readings, else 0.

    Written times of the work and of that green's readings decide; else the usual order.
    """
    if work.time is not None and read is not None:
        return int(work.time > read)
    return int(act not in BEFORE_PLAY)


def _read_hours(snapshot: Snapshot) -> dict[tuple[str, date], Time]:
    """Return the middle time of the readings of each green and day that have one."""
    times: dict[tuple[str, date], list[Time]] = defaultdict(list)
    for row in snapshot.readings:
        if row.time is not None:
            times[row.green, row.date].append(row.time)
    return {key: sorted(found)[len(found) // 2] for key, found in times.items()}


def _usual(work: Iterable[Work]) -> dict[tuple[str, str], float]:
    amounts: dict[tuple[str, str], list[float]] = defaultdict(list)
    for one in work:
        if one.practice in USUAL and one.amount:
            amounts[one.practice, one.material].append(one.amount)
    return {key: median(found) for key, found in amounts.items()}
