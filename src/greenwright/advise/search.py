"""Walking the days: the good schedules of cuts, heights and rolls of one unit.

The walk goes day by day and keeps schedules apart only while they differ in something that still
matters. Below its width it forgets none, so what it returns is complete.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from greenwright.advise.model import (
    LAGS,
    UnitModel,
    base,
    extras_kinds,
    join,
    recent,
    state_losses,
)
from greenwright.advise.unit import (
    COLUMNS,
    CUTS,
    EXTRAS,
    FREE,
    NEVER,
    ROLLS,
    STEP,
    TOLERANCE,
    Floats,
    Ints,
    Unit,
    allowed,
    cut_fits_leaf,
)


@dataclass(frozen=True, slots=True)
class Walk:
    """What a walk found.

    Args:
        plans: schedules (n, days, 6), best first by the priced loss.
        priced: their loss with the prices of the resources added (n,).
        complete: no schedule that keeps the unit's limits was left out.
    """

    plans: Ints
    priced: Floats
    complete: bool


@dataclass(slots=True)
class _Front:
    """Schedules up to a day, and what of them still matters."""

    plans: Ints
    cost: Floats
    place: Ints
    last: Ints
    changed: Ints
    run: Ints


def walk(
    model: UnitModel,
    prices: Floats,
    *,
    extras: Ints,
    width: int,
    room: Floats | None = None,
    merge: bool = True,
) -> Walk:
    """Return the best schedules around a given set of sandings, verticuts and brushings.

    Args:
        model: the unit on its draws.
        prices: (days, resources) loss of one unit of a resource.
        extras: (days, 3) choices of sand, verticut and brush, kept as they are.
        width: most schedules carried from day to day.
        room: (days, resources) that the unit may take; default all there is.
        merge: of schedules in the same state keep only the best; without it all are kept, and
            a walk that outgrows its width is given up.
    """
    unit = model.unit
    front, complete = _start(unit), True
    room = unit.room if room is None else room
    for day in range(unit.n_days):
        front = _next_day(model, front, day, prices=prices, extras=extras, room=room)
        if merge:
            front = _pick(front, _best_of_state(unit, front, day))
        if len(front.cost) > width:
            complete = False
            if not merge:
                return Walk(front.plans[:0], front.cost[:0], False)
            front = _pick(front, _spread(unit, front, width, day))
    front.plans[:, :, EXTRAS] = extras
    front = _pick(front, np.flatnonzero(allowed(unit, front.plans)))
    order = np.lexsort((*_tie(front.plans), front.cost))
    return Walk(front.plans[order], front.cost[order], complete and not merge)


def _start(unit: Unit) -> _Front:
    def one(v: int) -> Ints:
        return np.array([v])

    plans = np.zeros((1, unit.n_days, COLUMNS), dtype=np.int64)
    places = (one(unit.start), one(-1), one(unit.last_change), one(unit.double_run))
    return _Front(plans, np.zeros(1), *places)


def _moves(unit: Unit, day: int) -> Ints:
    """Return the choices of cuts, step and rolls that a day may have (n, 3)."""
    least, most = unit.least[day], unit.most[day]
    found = []
    for cuts in range(least[CUTS], most[CUTS] + 1):
        steps = range(least[STEP], most[STEP] + 1) if cuts else (0,)
        for step in steps:
            found += [(cuts, step, r) for r in range(least[ROLLS], most[ROLLS] + 1)]
    return np.array(found, dtype=np.int64).reshape(-1, 3)


def _next_day(
    model: UnitModel, front: _Front, day: int, *, prices: Floats, extras: Ints, room: Floats
) -> _Front:
    unit, moves = model.unit, _moves(model.unit, day)
    moves = moves[_affordable(unit, moves, day, extras=extras, room=room)]
    who = np.repeat(np.arange(len(front.cost)), len(moves))
    what = np.tile(moves, (len(front.cost), 1))
    ok = _permitted(unit, front, day, who=who, what=what)
    who, what = who[ok], what[ok]
    cuts, step, rolls = what.T
    plans = front.plans[who]
    plans[:, day, CUTS], plans[:, day, STEP], plans[:, day, ROLLS] = cuts, step, rolls
    grown = _Front(
        plans,
        front.cost[who] + _linear(unit, what, day, prices=prices, extras=extras),
        front.place[who] + step,
        np.where(cuts > 0, day, front.last[who]),
        np.where(step != 0, day, front.changed[who]),
        np.where(cuts > 1, front.run[who] + 1, 0),
    )
    if len(who):
        kind = extras_kinds(model, extras[None, : day + 1])
        grown.cost = grown.cost + state_losses(model, day, _codes(unit, grown, day), kind)
    return grown


def _affordable(
    unit: Unit, moves: Ints, day: int, *, extras: Ints, room: Floats
) -> NDArray[np.bool_]:
    use = unit.use[CUTS][day, moves[:, 0]] + unit.use[ROLLS][day, moves[:, 2]]
    for column, choice in zip(EXTRAS, extras[day].tolist(), strict=True):
        use = use + unit.use[column][day, choice]
    return np.all(use <= room[day] + 1e-6, axis=1)


def _linear(unit: Unit, what: Ints, day: int, *, prices: Floats, extras: Ints) -> Floats:
    out = unit.price[CUTS][day, what[:, 0]] + unit.price[ROLLS][day, what[:, 2]]
    out = out + unit.use[CUTS][day, what[:, 0]] @ prices[day]
    out = out + unit.use[ROLLS][day, what[:, 2]] @ prices[day]
    for column, choice in zip(EXTRAS, extras[day].tolist(), strict=True):
        out = out + unit.price[column][day, choice] + unit.use[column][day, choice] @ prices[day]
    return out


def _permitted(unit: Unit, front: _Front, day: int, *, who: Ints, what: Ints) -> NDArray[np.bool_]:
    cuts, step, rolls = what.T
    place = front.place[who] + step
    ok = (place >= 0) & (place < len(unit.heights))
    place = np.clip(place, 0, len(unit.heights) - 1)
    wanted = unit.height_fixed[day]
    ok &= (cuts == 0) | (unit.height_ok[day, place] & ((wanted == FREE) | (place == wanted)))
    before = unit.heights[front.place[who]]
    ok &= (step == 0) | (np.abs(unit.heights[place] - before) <= unit.step_mm + TOLERANCE)
    ok &= (step == 0) | (day - front.changed[who] >= unit.step_interval_d - TOLERANCE)
    ok &= _rolls_fit(unit, front, day, who=who, rolls=rolls)
    ok &= (cuts < 2) | (front.run[who] < unit.double_limit) | (unit.least[day, CUTS] > 1)
    if unit.least[day, CUTS] == 0:
        fits = cut_fits_leaf(
            unit, front.last[who], day, before_mm=before, after_mm=unit.heights[place]
        )
        ok &= (cuts == 0) | fits
    return ok


def _rolls_fit(unit: Unit, front: _Front, day: int, *, who: Ints, rolls: Ints) -> NDArray[np.bool_]:
    past = front.plans[:, max(day - 6, 0) : day, ROLLS].sum(axis=1)
    return past[who] + rolls <= unit.roll_room[day] + TOLERANCE


def _codes(unit: Unit, front: _Front, day: int) -> Ints:
    first = max(day - LAGS + 1, 0)
    window = front.plans[:, first : day + 1]
    rolled = recent(window[:, :, ROLLS], base(unit, ROLLS))[:, -1]
    doubled = recent(np.maximum(window[:, :, CUTS] - 1, 0), base(unit, CUTS))[:, -1]
    return join(unit, rolled, doubled, last=front.last, place=front.place)


def _best_of_state(unit: Unit, front: _Front, day: int) -> Ints:
    """Return the cheapest of the schedules that the days ahead cannot tell apart."""
    reach = int(np.ceil(unit.step_interval_d))
    rest = np.maximum(front.changed - (day + 1 - reach), 0)
    run = np.minimum(front.run, unit.double_limit)
    state = _number(front.plans[:, max(day - 5, 0) : day + 1, ROLLS], base(unit, ROLLS))
    state = state * 2 ** (LAGS - 1) + _number(
        front.plans[:, max(day - LAGS + 2, 0) : day + 1, CUTS] > 1, 2
    )
    for part, size in (
        (front.place, len(unit.heights)),
        (front.last + 1, unit.n_days + 1),
        (rest, reach + 1),
        (run, unit.double_limit + 1),
    ):
        state = state * size + part
    order = np.lexsort((*_tie(front.plans), front.cost))
    _, first = np.unique(state[order], return_index=True)
    return order[np.sort(first)]


def _number(digits: Ints, n: int) -> Ints:
    """Return rows of digits as numbers to the base n."""
    out = np.zeros(len(digits), dtype=np.int64)
    for column in digits.T:
        out = out * n + column
    return out


def _spread(unit: Unit, front: _Front, width: int, day: int) -> Ints:
    """Return `width` schedules: the best of each kind first, then the next best of each.

    The kind is what a schedule has left to spend: rolls used, height, last cut, last change.
    """
    used = front.plans[:, max(day - 5, 0) : day + 1, ROLLS].sum(axis=1)
    rest = np.maximum(front.changed - (day - 3), 0)
    kind = (used * len(unit.heights) + front.place) * (unit.n_days + 1) + front.last + 1
    kind = kind * (unit.n_days + 1) + rest
    order = np.lexsort((*_tie(front.plans), front.cost, kind))
    starts = np.flatnonzero(np.diff(kind[order], prepend=-1))
    rank = np.arange(len(order)) - np.repeat(starts, np.diff([*starts, len(order)]))
    best = np.lexsort((front.cost[order], rank))[:width]
    return np.sort(order[best])


def _pick(front: _Front, rows: Ints) -> _Front:
    return _Front(
        front.plans[rows],
        front.cost[rows],
        front.place[rows],
        front.last[rows],
        front.changed[rows],
        front.run[rows],
    )


def _tie(plans: Ints) -> tuple[Ints, ...]:
    """Return keys that order equal costs the same way every time."""
    return (plans[:, :, CUTS].sum(axis=1), plans[:, :, ROLLS] @ np.arange(1, plans.shape[1] + 1))


def extras_sets(unit: Unit, *, most: int) -> tuple[Ints, bool]:
    """Return every allowed set of sandings, verticuts and brushings, if there are at most `most`.

    Returns:
        (sets, days, 3) and whether they are all there are; else only the planned ones.
    """
    rest = unit.rest()[0]
    sets = [rest[:, EXTRAS]]
    for day in range(unit.n_days):
        more = []
        for held in sets:
            more += _with_extras(unit, held, day)
            if len(sets) + len(more) > most:
                return rest[None][:, :, EXTRAS], False
        sets += more
    return np.array(sets), True


def _with_extras(unit: Unit, held: Ints, day: int) -> list[Ints]:
    out = []
    for place, column in enumerate(EXTRAS):
        if unit.least[day, column] or held[day].any():
            continue
        done = np.flatnonzero(held[:, place])
        last = max([int(unit.last_extra[column]), *done[done < day].tolist(), NEVER])
        later = done[done > day]
        near = day - last < unit.intervals[column] - TOLERANCE
        if near or (len(later) and later[0] - day < unit.intervals[column] - TOLERANCE):
            continue
        for choice in range(1, unit.most[day, column] + 1):
            new = held.copy()
            new[day, place] = choice
            out.append(new)
    return out


def neighbours(unit: Unit, plan: Ints) -> Ints:
    """Return the allowed schedules one change away: a choice, or an act moved to another day.

    Args:
        plan: (days, 6).
    """
    found = []
    for day in range(unit.n_days):
        for column in range(COLUMNS):
            for choice in range(unit.least[day, column], unit.most[day, column] + 1):
                if choice != plan[day, column]:
                    new = plan.copy()
                    new[day, column] = choice
                    found.append(_tidy(new))
    for column in (CUTS, STEP, ROLLS, *EXTRAS):
        for day in np.flatnonzero(plan[:, column]):
            for other in np.flatnonzero(plan[:, column] != plan[day, column]):
                new = plan.copy()
                new[[day, other], column] = new[[other, day], column]
                found.append(_tidy(new))
    if not found:
        return plan[None][:0]
    plans = np.unique(np.array(found), axis=0)
    return plans[allowed(unit, plans)]


def _tidy(plan: Ints) -> Ints:
    plan[plan[:, CUTS] == 0, STEP] = 0
    return plan
