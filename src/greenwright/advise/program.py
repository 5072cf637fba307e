"""Choosing one schedule for each unit within the day's hours and machines: the integer program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from greenwright.advise.resources import SLACK

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Choice:
    """The best mix.

    Args:
        picks: place of the schedule taken of each unit.
        loss: sum of their losses.
        bound: loss of the best mix if schedules could be taken in parts: no mix of these
            schedules is better.
        prices: (resources,) loss that one unit more of each would save.
    """

    picks: tuple[int, ...]
    loss: float
    bound: float
    prices: Floats


class _Quiet(highspy.Highs):
    """The solver without its banner, which would stand in the middle of a printed answer."""

    def enableCallbacks(self) -> None:
        """Turn the output off before anything can be written."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()


def choose(
    losses: Sequence[Floats],
    uses: Sequence[Floats],
    room: Floats,
    *,
    nodes: int | None = None,
    known: Sequence[int] | None = None,
) -> Choice | None:
    """Return the least-loss mix of one schedule a unit that fits the room; None if none fits.

    Args:
        losses: by unit, (schedules,).
        uses: by unit, (schedules, resources).
        room: (resources,), inf where there is no limit.
        nodes: most nodes of the search tree; None = until the best is proven.
        known: a mix that fits, to start from.
    """
    tight = _tight(uses, room)
    prices = np.zeros(len(room))
    best = tuple(int(np.argmin(loss)) for loss in losses)
    if _fit(uses, best, room):
        least = mix_loss(losses, best)
        return Choice(best, least, least, prices)
    few = [u[:, tight] for u in uses]
    relaxed = _solve(losses, few, room[tight], whole=False)
    if relaxed is None:
        return None
    prices[tight] = relaxed[2]
    solved = _solve(losses, few, room[tight], whole=True, nodes=nodes, known=known)
    picks = (
        None
        if solved is None
        else tuple(int(np.argmax(part)) for part in _split(solved[0], losses))
    )
    if picks is None or not _fit(uses, picks, room):
        picks = None if known is None else tuple(known)
    if picks is None:
        return None
    return Choice(picks, mix_loss(losses, picks), relaxed[1], prices)


def mix_loss(losses: Sequence[Floats], picks: Sequence[int]) -> float:
    """Return the loss of one mix."""
    return float(sum(own[p] for own, p in zip(losses, picks, strict=True)))


def _tight(uses: Sequence[Floats], room: Floats) -> NDArray[np.bool_]:
    """Return the resources that could run short."""
    return sum(u.max(axis=0) for u in uses) > room + SLACK  # type: ignore[return-value]


def _fit(uses: Sequence[Floats], picks: Sequence[int], room: Floats) -> bool:
    return bool(np.all(sum(u[p] for u, p in zip(uses, picks, strict=True)) <= room + SLACK))


def _split(values: Floats, like: Sequence[Floats]) -> list[Floats]:
    return np.split(values, np.cumsum([len(part) for part in like])[:-1])


def _solve(
    losses: Sequence[Floats],
    uses: Sequence[Floats],
    room: Floats,
    *,
    whole: bool,
    nodes: int | None = None,
    known: Sequence[int] | None = None,
) -> tuple[Floats, float, Floats] | None:
    """Return columns' values, the objective, and the prices of the room (relaxed only)."""
    highs = _Quiet()
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", 0)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", 1e-10)
    if nodes is not None:
        highs.setOptionValue("mip_max_nodes", nodes)
    highs.passModel(_model(losses, uses, room, whole=whole))
    if whole and known is not None:
        highs.setSolution(_start(losses, known))
    highs.run()
    info, solution = highs.getInfo(), highs.getSolution()
    if info.primal_solution_status != highspy.kSolutionStatusFeasible:
        return None
    duals = np.array(solution.row_dual)[len(losses) :] if not whole else np.zeros(len(room))
    value = float(info.objective_function_value)
    return np.array(solution.col_value), value, np.maximum(-duals, 0.0)


def _start(losses: Sequence[Floats], known: Sequence[int]) -> highspy.HighsSolution:
    start = highspy.HighsSolution()
    values = [np.zeros(len(own)) for own in losses]
    for own, pick in zip(values, known, strict=True):
        own[pick] = 1.0
    start.col_value = np.concatenate(values).tolist()
    return start


def _model(
    losses: Sequence[Floats], uses: Sequence[Floats], room: Floats, *, whole: bool
) -> highspy.HighsLp:
    cost, use = np.concatenate(losses), np.concatenate(uses)
    unit = np.repeat(np.arange(len(losses)), [len(part) for part in losses])
    n, n_units = len(cost), len(losses)
    dense = np.zeros((n, n_units + len(room)))
    dense[np.arange(n), unit] = 1.0
    dense[:, n_units:] = use
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = n, n_units + len(room)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, np.zeros(n), np.ones(n)
    lp.row_lower_ = np.concatenate([np.ones(n_units), np.full(len(room), -highspy.kHighsInf)])
    lp.row_upper_ = np.concatenate([np.ones(n_units), room])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    filled = dense != 0
    lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(filled.sum(axis=1))]).astype(np.int32)
    lp.a_matrix_.index_ = np.nonzero(filled)[1].astype(np.int32)
    lp.a_matrix_.value_ = dense[filled]
    if whole:
        lp.integrality_ = [highspy.HighsVarType.kInteger] * n
    return lp
