"""What a laid-out trial can tell, before it begins: smallest p, power, detectable difference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import factorial

import numpy as np
from scipy.special import fdtri

from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.stats.trials.factors import Array
from greenwright.stats.trials.strata import Slot, Splitting, f_values
from greenwright.verify.declared import Declared, Read, read
from greenwright.verify.designing import Plan
from greenwright.verify.lot import UNITS, allotted, orders_of
from greenwright.verify.model import Model, model_of

RESPONSE = "response"
CERTAIN = 1e9
RUNS = 2_000


@dataclass(frozen=True, slots=True)
class Foresight:
    """What a trial promises.

    Args:
        term: that it is for; stratum: whose error it is held against; df, df_error.
        smallest_p: by the lot, or None where the layout's lot is not listed; ways: layouts.
        power: chance to see the difference; error: of the simulation.
        detectable: difference seen 4 times in 5 [unit].
        alpha: two-sided level.
    """

    term: str
    stratum: str
    df: int
    df_error: int
    smallest_p: float | None
    ways: int | None
    power: float
    error: float
    detectable: float
    alpha: float


def foresee(
    plan: Plan,
    *,
    sd: Mapping[str, float],
    difference: float,
    runs: int = RUNS,
    alpha: float = 0.05,
) -> Foresight:
    """Return what the trial can tell, by simulation.

    Args:
        plan: laid out.
        sd: of each stratum's units and of the finest ones, by stratum name [unit].
        difference: between the two furthest levels of the target, the others midway [unit].
        runs: trials simulated.
        alpha: two-sided level.

    Raises:
        CannotAnswer: nothing is left for error. BadInput: an sd that is missing or negative.
    """
    if not difference > 0:
        raise BadInput("a difference above zero is needed", where="difference")
    data, model, term = _unread(plan)
    slot = told_in(model.splitting, term)
    noise = simulated(data, model, sd, rng=np.random.default_rng([plan.seed, 1]), runs=runs)
    edge = critical(slot.df, model.splitting.df_rest(slot.stratum), alpha)
    shape = effect_of(data, plan)
    power = _power(model, term, noise + difference * shape[:, None], edge)
    p, ways = smallest_p(plan)
    return Foresight(
        term, slot.stratum, slot.df, model.splitting.df_rest(slot.stratum), p, ways, power,
        (power * (1 - power) / runs) ** 0.5, _detectable(model, term, noise, shape, edge=edge),
        alpha,
    )  # fmt: skip


def _unread(plan: Plan) -> tuple[Read, Model, str]:
    """Return the data of a plan whose readings are all zero, its model, and its term."""
    table = plan.table() | {RESPONSE: ["0"] * len(plan.rows)}
    data = read(table, Declared(plan.layout, RESPONSE, plan.roles))
    model = model_of(data)
    term = plan.target
    if plan.layout == "before-after":
        term = f"{plan.target}:phase"
    return data, model, term


def told_in(splitting: Splitting, term: str) -> Slot:
    """Return where a term has most degrees of freedom, the finest such stratum.

    Raises:
        CannotAnswer: nothing is left for error there.
    """
    held = [s for s in splitting.slots if s.term == term]
    best = max(reversed(held), key=lambda s: s.df, default=None)
    if best is None or splitting.df_rest(best.stratum) < 1:
        raise CannotAnswer(
            "this plan leaves nothing to judge the treatments by",
            where="design",
            do="Add greens, blocks or periods",
        )
    return best


def critical(df: int, df_error: int, alpha: float) -> float:
    """Return the F above which a term is said to differ."""
    return float(fdtri(df, df_error, 1 - alpha))


def simulated(
    data: Read, model: Model, sd: Mapping[str, float], *, rng: np.random.Generator, runs: int
) -> Array:
    """Return (n, runs) readings in which nothing differs but by chance [unit].

    Raises:
        BadInput: an sd that is missing or negative.
    """
    last = data.layout.last
    wanted = [*(name for name, _ in model.groups), last]
    for name in wanted:
        if not sd.get(name, -1.0) >= 0:
            raise BadInput(f"the sd of {name} is needed", where="sd", expected=", ".join(wanted))
    made = rng.normal(size=(len(data.y), runs)) * sd[last]
    for name, codes in model.groups:
        if name != last:
            made += rng.normal(size=(int(codes.max()) + 1, runs))[codes] * sd[name]
    return made


def effect_of(data: Read, plan: Plan) -> Array:
    """Return (n) the target's effect where its furthest levels differ by one."""
    one = data.factors[plan.target]
    size = np.zeros(len(one.levels))
    size[0], size[-1] = -0.5, 0.5
    made = size[one.codes]
    if plan.layout == "before-after":
        after = np.array([row["phase"] == "after" for row in plan.rows])
        made = made * after
    return made


def _power(model: Model, term: str, y: Array, edge: float) -> float:
    return float(np.mean(f_values(_finest(model.splitting, term), term, y) > edge))


def _finest(splitting: Splitting, term: str) -> Splitting:
    """Return the splitting with a term only where it is told best."""
    best = told_in(splitting, term)
    kept = tuple(s for s in splitting.slots if s.term != term or s is best)
    return replace(splitting, slots=kept)


def _detectable(
    model: Model, term: str, noise: Array, shape: Array, *, edge: float, wanted: float = 0.8
) -> float:
    low, high = 0.0, float(np.std(noise)) or 1.0
    while _power(model, term, noise + high * shape[:, None], edge) < wanted:
        low, high = high, 2 * high
    for _ in range(20):
        middle = (low + high) / 2
        if _power(model, term, noise + middle * shape[:, None], edge) < wanted:
            low = middle
        else:
            high = middle
    return high


def smallest_p(plan: Plan) -> tuple[float | None, int | None]:
    """Return the smallest p that re-running the lot can give, and in how many ways it could fall.

    Found by letting the treatments explain everything and counting the layouts that do as well.
    """
    if plan.layout in ("split-plot", "split-split-plot", "strip", "split-plot-in-time"):
        return _smallest_in_blocks(plan)
    if plan.layout not in UNITS or len(plan.factors) > 1:
        return None, None
    data, model, term = _unread(plan)
    dealt = allotted(data, term)
    if dealt is None:
        return None, None
    orders, listed = orders_of(dealt, np.random.default_rng(plan.seed))
    if not listed:
        return None, None
    y = effect_of(data, plan)
    if len(plan.factors[plan.target]) > 2:
        y = np.array([3.0**c for c in data.factors[plan.target].codes])
    f = f_values(_finest(model.splitting, term), term, y[orders].T)
    return float(np.mean(f > CERTAIN)), len(orders)


def _smallest_in_blocks(plan: Plan) -> tuple[float | None, int | None]:
    """Return the same where the target is dealt anew in each block (or whole plot)."""
    levels = len(plan.factors[plan.target])
    groups = len(plan.rows) // levels
    if plan.layout == "split-plot-in-time":
        groups = len({row["block"] for row in plan.rows})
    if plan.layout == "strip":
        groups = len({row["block"] for row in plan.rows})
    ways = factorial(levels) ** groups
    return factorial(levels) / ways, ways
