"""The search for the plan: schedules by unit, an integer program over them, exact changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from greenwright.advise.model import UnitModel, losses
from greenwright.advise.program import Choice, choose, mix_loss
from greenwright.advise.resources import SLACK
from greenwright.advise.search import extras_sets, neighbours, walk
from greenwright.advise.unit import EXTRAS, Floats, Ints, day_use

Progress = Callable[[str, float], None]

ALL_EXTRAS = 60
"""Sets of sandings and the like up to which each is walked."""
ALL_PLANS = 4000
"""Schedules of a unit up to which none is left out."""
WIDTH = 100
"""Schedules carried from day to day otherwise."""
KEPT = 60
"""Schedules that each walk adds to the pool."""
PRICE_ROUNDS, RESTARTS, BUILDS, SWEEPS = 5, 3, 3, 4
SHAKE = 0.5
"""Spread of the natural log by which later turns shake the prices."""
MIXED, NODES = 80, 60
"""Schedules of a unit, and nodes of the tree, that one integer program may look at."""
PAIRED = 5000
"""Schedules of each of two units that are tried together: no fewer than ALL_PLANS and starts."""
BETTER = 1e-10


@dataclass(slots=True)
class Pool:
    """Schedules of one unit with their exact loss and use; complete = all that are allowed."""

    model: UnitModel
    rough: UnitModel
    plans: Ints
    loss: Floats
    use: Floats
    complete: bool = False
    place: dict[bytes, int] = field(default_factory=dict)

    def add(self, plans: Ints) -> None:
        """Work out and keep the schedules that are not in the pool yet."""
        new = list({p.tobytes(): p for p in plans if p.tobytes() not in self.place}.values())
        if new:
            stack = np.array(new)
            self.place |= {p.tobytes(): len(self.plans) + i for i, p in enumerate(new)}
            self.plans = np.concatenate([self.plans, stack])
            self.loss = np.concatenate([self.loss, losses(self.model, stack)])
            use = day_use(self.model.unit, stack).reshape(len(stack), -1)
            self.use = np.concatenate([self.use, use])


@dataclass(frozen=True, slots=True)
class Found:
    """The plan found.

    Args:
        plans: one schedule a unit (days, 6).
        loss: its expected loss.
        proven: no plan within the limits is better on these draws.
        bound: loss of the best mix if the schedules looked at could be taken in parts.
        n_looked_at: schedules whose exact loss was worked out.
    """

    plans: tuple[Ints, ...]
    loss: float
    proven: bool
    bound: float
    n_looked_at: int


def find_plan(
    models: Sequence[UnitModel],
    room: Floats,
    *,
    rough: Sequence[UnitModel],
    starts: Sequence[Ints],
    progress: Progress | None = None,
    all_plans: int = ALL_PLANS,
) -> Found | None:
    """Return the best plan found; None when no mix of schedules fits the limits.

    Small problems are walked completely, and the answer is then the optimum. In larger ones the
    relaxed program prices hours and machines and each unit is walked at those prices; then units
    are walked again one by one in the room that the others leave, with every change of one choice
    or one day tried, and the integer program mixes what was found, until nothing gets better.

    Args:
        models: the units on all draws.
        room: (days, resources).
        rough: the units on some of the draws, for walking.
        starts: by unit, schedules to begin with (n, days, 6).
        progress: told a text and a share 0..1.
        all_plans: schedules of a unit up to which none is left out.
    """
    tell = progress or (lambda text, share: None)
    pools = [_pool(m, r, s) for m, r, s in zip(models, rough, starts, strict=True)]
    tell("looking for the best week", 0.05)
    for pool in pools:
        _fill(pool, all_plans)
    proven = all(pool.complete for pool in pools)
    choice = _only_planned(pools, room)
    choice = _mix(pools, room, choice) if proven else _priced(pools, room, choice, tell)
    for turn in range(0 if choice is None else 1 if proven else RESTARTS):
        tell("building whole weeks", 0.4 + 0.5 * turn / RESTARTS)
        choice = choice if proven else _built(pools, room, choice, turn)
        choice = _swept(pools, room, choice)
    if proven and len(pools) > 2:
        choice = _mix(pools, room, choice, whole=True)
    if choice is None:
        return None
    plans = tuple(pool.plans[p] for pool, p in zip(pools, choice.picks, strict=True))
    looked = sum(len(pool.plans) for pool in pools)
    return Found(plans, choice.loss, proven, choice.bound, looked)


def _pool(model: UnitModel, rough: UnitModel, starts: Ints) -> Pool:
    unit = model.unit
    empty = np.zeros((0, *starts.shape[1:]), dtype=np.int64)
    pool = Pool(model, rough, empty, np.zeros(0), np.zeros((0, unit.room.size)))
    pool.add(starts)
    return pool


def _fill(pool: Pool, all_plans: int) -> None:
    """Put every allowed schedule in the pool, if there are few enough."""
    unit = pool.model.unit
    sets, whole = extras_sets(unit, most=ALL_EXTRAS)
    prices, found, left = np.zeros_like(unit.room), [], all_plans
    for extras in sets if whole and all_plans else ():
        got = walk(pool.rough, prices, extras=extras, width=max(left, 1), merge=False)
        left -= len(got.plans)
        if not got.complete or left <= 0:
            return
        found.append(got.plans)
    if found:
        pool.add(np.concatenate(found))
        pool.complete = True


def _only_planned(pools: Sequence[Pool], room: Floats) -> Choice | None:
    """Return the mix of nothing but planned rows, where the limits allow it."""
    rests = [pool.model.unit.rest()[0].tobytes() for pool in pools]
    if any(rest not in pool.place for rest, pool in zip(rests, pools, strict=True)):
        return None
    picks = tuple(pool.place[rest] for rest, pool in zip(rests, pools, strict=True))
    used = sum((p.use[i] for p, i in zip(pools, picks, strict=True)), np.zeros(room.size))
    if np.any(used > room.reshape(-1) + SLACK):
        return None
    loss = mix_loss([pool.loss for pool in pools], picks)
    return Choice(picks, loss, -np.inf, np.zeros(room.size))


def _priced(
    pools: Sequence[Pool], room: Floats, choice: Choice | None, tell: Progress
) -> Choice | None:
    """Widen the pools by walks at the prices of the relaxed program, until those settle."""
    before = np.full(room.size, -1.0)
    for number in range(PRICE_ROUNDS):
        tell("pricing hours and machines", 0.1 + 0.3 * number / PRICE_ROUNDS)
        prices = np.zeros(room.size) if choice is None else choice.prices
        if np.allclose(prices, before, atol=1e-6):
            break
        before = prices
        for pool in (p for p in pools if not p.complete):
            priced = pool.loss + pool.use @ prices
            held = pool.plans[int(np.argmin(priced))] if len(priced) else None
            extras = (pool.model.unit.rest()[0] if held is None else held)[:, EXTRAS]
            got = walk(pool.rough, prices.reshape(room.shape), extras=extras, width=WIDTH)
            pool.add(_unlike(pool, got.plans))
            if held is not None and number == 0:
                pool.add(neighbours(pool.model.unit, got.plans[0] if len(got.plans) else held))
        choice = _mix(pools, room, choice) or _mix(pools, room, choice, whole=True)
    return choice


def _built(pools: Sequence[Pool], room: Floats, choice: Choice, turn: int) -> Choice:
    """Build whole plans unit after unit, each at the prices and in the room left before it.

    Later turns shake the prices, so that other mixes of days are met.
    """
    rng, n = np.random.default_rng([turn, 13]), len(pools)
    for number in range(min(BUILDS, n)):
        shaken = choice.prices * np.exp(SHAKE * (turn > 0) * rng.standard_normal(room.size))
        picks, order = list(choice.picks), (np.arange(n) + number + turn) % n
        for later, place in enumerate(order):
            left = _left(pools, room, picks, order[:later])
            prices = shaken * (n - 1 - later) / max(n - 1, 1)
            picks[place] = _walked(pools[place], left, prices, now=picks[place])
        choice = _better(pools, room, choice, picks)
    return choice


def _swept(pools: Sequence[Pool], room: Floats, choice: Choice) -> Choice:
    """Walk the units one by one in the room that the others leave, until nothing gets better."""
    free = np.zeros(room.size)
    for _ in range(SWEEPS):
        picks, before = list(choice.picks), choice.loss
        for place, pool in enumerate(pools):
            left = _left(pools, room, picks, [i for i in range(len(pools)) if i != place])
            if not pool.complete:
                pool.add(neighbours(pool.model.unit, pool.plans[picks[place]]))
            picks[place] = _best_within(pool, left, picks[place])
            picks[place] = _walked(pool, left, free, now=picks[place])
        for first, second in combinations(range(len(pools)), 2):
            _pair(pools, room, picks, (first, second), prices=choice.prices)
        choice = _better(pools, room, choice, picks)
        if choice.loss >= before - BETTER:
            break
    return choice


def _better(pools: Sequence[Pool], room: Floats, choice: Choice, picks: Sequence[int]) -> Choice:
    """Return the best of a choice, other picks that fit, and the mixes of what is in the pools."""
    flat = room.reshape(-1)
    used = sum((p.use[i] for p, i in zip(pools, picks, strict=True)), np.zeros(room.size))
    loss = mix_loss([p.loss for p in pools], picks)
    if np.all(used <= flat + SLACK) and loss < choice.loss:
        choice = Choice(tuple(picks), loss, choice.bound, choice.prices)
    mixed = _mix(pools, room, choice)
    return mixed if mixed is not None and mixed.loss <= choice.loss else choice


def _left(
    pools: Sequence[Pool], room: Floats, picks: Sequence[int], taken: Sequence[int]
) -> Floats:
    """Return the room that some units leave."""
    used = sum((pools[i].use[picks[i]] for i in taken), np.zeros(room.size))
    return room - used.reshape(room.shape)


def _walked(pool: Pool, left: Floats, prices: Floats, *, now: int) -> int:
    """Return the schedule of a unit that pays best at some prices in the room left."""
    if not pool.complete:
        extras = pool.plans[now][:, EXTRAS]
        at = prices.reshape(left.shape)
        got = walk(pool.rough, at, extras=extras, width=WIDTH, room=left)
        pool.add(_unlike(pool, got.plans))
    fits = np.all(pool.use <= left.reshape(-1) + SLACK, axis=1)
    if not fits.any():
        return now
    priced = np.where(fits, pool.loss + pool.use @ prices, np.inf)
    best = int(np.argmin(priced))
    return now if fits[now] and priced[now] <= priced[best] else best


def _pair(
    pools: Sequence[Pool],
    room: Floats,
    picks: list[int],
    pair: tuple[int, int],
    *,
    prices: Floats,
) -> None:
    """Change two units together where the best pair of their schedules that fits is better."""
    others = [i for i in range(len(pools)) if i not in pair]
    left = _left(pools, room, picks, others).reshape(-1)
    rows = [_promising(pools[i], prices) for i in pair]
    (one, two), (first, second) = (pools[i] for i in pair), rows
    best = one.loss[picks[pair[0]]] + two.loss[picks[pair[1]]] - BETTER
    for row in first:
        hopeful = second[one.loss[row] + two.loss[second] < best]
        fits = hopeful[np.all(two.use[hopeful] <= left - one.use[row] + SLACK, axis=1)]
        if len(fits):
            other = int(fits[np.argmin(two.loss[fits])])
            best = one.loss[row] + two.loss[other]
            picks[pair[0]], picks[pair[1]] = int(row), other


def _promising(pool: Pool, prices: Floats) -> Ints:
    priced = pool.loss + pool.use @ prices
    return np.argsort(priced, kind="stable")[:PAIRED]


def _unlike(pool: Pool, plans: Ints) -> Ints:
    """Return the first schedules that differ in what they take of the days."""
    if not len(plans):
        return plans
    use = np.round(day_use(pool.model.unit, plans).reshape(len(plans), -1), 9)
    _, first = np.unique(use, axis=0, return_index=True)
    return plans[np.sort(first)[:KEPT]]


def _best_within(pool: Pool, left: Floats, now: int) -> int:
    fits = np.all(pool.use <= left.reshape(-1) + SLACK, axis=1)
    best = int(np.argmin(np.where(fits, pool.loss, np.inf)))
    return best if fits[best] and pool.loss[best] < pool.loss[now] else now


def _mix(
    pools: Sequence[Pool], room: Floats, held: Choice | None, *, whole: bool = False
) -> Choice | None:
    """Return the best mix of the pools' most promising schedules, or of all (whole)."""
    kept = [_undominated(pool) for pool in pools]
    if held is not None:
        kept = [np.union1d(k, [p]) for k, p in zip(kept, held.picks, strict=True)]
    if any(len(k) == 0 for k in kept):
        return None
    known = None
    if held is not None:
        known = [int(np.searchsorted(k, p)) for k, p in zip(kept, held.picks, strict=True)]
    choice = choose(
        [pool.loss[k] for pool, k in zip(pools, kept, strict=True)],
        [pool.use[k] for pool, k in zip(pools, kept, strict=True)],
        room.reshape(-1),
        nodes=None if whole else NODES,
        most=None if whole else MIXED,
        known=known,
    )
    if choice is None:
        return None
    picks = tuple(int(k[p]) for k, p in zip(kept, choice.picks, strict=True))
    return Choice(picks, choice.loss, choice.bound, choice.prices)


def _undominated(pool: Pool) -> Ints:
    """Return, of schedules that take the same of everything, the one of least loss."""
    order = np.lexsort((np.arange(len(pool.loss)), pool.loss))
    _, first = np.unique(np.round(pool.use[order], 9), axis=0, return_index=True)
    return np.sort(order[first])
