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


@dataclass(frozen=True, slots=True)
class _Solved:
    """Values of the schedules, the loss, and (relaxed) prices of the room and of each unit."""

    values: Floats
    value: float
    prices: Floats
    of_unit: Floats


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
    most: int | None = None,
    known: Sequence[int] | None = None,
) -> Choice | None:
    """Return the least-loss mix of one schedule a unit that fits the room; None if none fits.

    Args:
        losses: by unit, (schedules,).
        uses: by unit, (schedules, resources).
        room: (resources,), inf where there is no limit.
        nodes: most nodes of the search tree; None = until the best is proven.
        most: most schedules a unit, the most promising; None = all that could be in a better mix.
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
    prices[tight] = relaxed.prices
    kept = _hopeful(losses, few, relaxed, most=most, known=known)
    solved = _solve(
        [loss[k] for loss, k in zip(losses, kept, strict=True)],
        [use[k] for use, k in zip(few, kept, strict=True)],
        room[tight],
        whole=True,
        nodes=nodes,
        known=_places(kept, known),
    )
    picks = known if solved is None else _picked(solved.values, kept)
    if picks is None or not _fit(uses, picks, room):
        picks = known
    if picks is None:
        return None
    return Choice(tuple(picks), mix_loss(losses, picks), relaxed.value, prices)


def _hopeful(
    losses: Sequence[Floats],
    uses: Sequence[Floats],
    relaxed: _Solved,
    *,
    most: int | None,
    known: Sequence[int] | None,
) -> list[NDArray[np.int64]]:
    """Return the schedules that could be in a better mix than the known one, by unit.

    Taking a schedule costs at least its reduced cost over the relaxed program's loss.
    """
    spare = np.inf if known is None else mix_loss(losses, known) - relaxed.value + SLACK
    kept = []
    for place, (loss, use) in enumerate(zip(losses, uses, strict=True)):
        reduced = loss + use @ relaxed.prices - relaxed.of_unit[place]
        order = np.argsort(reduced, kind="stable")
        rows = order[reduced[order] <= spare][:most]
        kept.append(np.sort(rows) if known is None else np.union1d(rows, [known[place]]))
    return kept


def _places(kept: Sequence[NDArray[np.int64]], known: Sequence[int] | None) -> list[int] | None:
    if known is None:
        return None
    return [int(np.searchsorted(rows, pick)) for rows, pick in zip(kept, known, strict=True)]


def _picked(values: Floats, kept: Sequence[NDArray[np.int64]]) -> list[int]:
    parts = np.split(values, np.cumsum([len(rows) for rows in kept])[:-1])
    return [int(rows[np.argmax(part)]) for rows, part in zip(kept, parts, strict=True)]


def mix_loss(losses: Sequence[Floats], picks: Sequence[int]) -> float:
    """Return the loss of one mix."""
    return float(sum(own[p] for own, p in zip(losses, picks, strict=True)))


def _tight(uses: Sequence[Floats], room: Floats) -> NDArray[np.bool_]:
    """Return the resources that could run short."""
    return sum(u.max(axis=0) for u in uses) > room + SLACK  # type: ignore[return-value]


def _fit(uses: Sequence[Floats], picks: Sequence[int], room: Floats) -> bool:
    return bool(np.all(sum(u[p] for u, p in zip(uses, picks, strict=True)) <= room + SLACK))


def _solve(
    losses: Sequence[Floats],
    uses: Sequence[Floats],
    room: Floats,
    *,
    whole: bool,
    nodes: int | None = None,
    known: Sequence[int] | None = None,
) -> _Solved | None:
    """Return the solution; prices only of the relaxed program."""
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
    duals = np.zeros(len(losses) + len(room)) if whole else np.array(solution.row_dual)
    return _Solved(
        np.array(solution.col_value),
        float(info.objective_function_value),
        np.maximum(-duals[len(losses) :], 0.0),
        duals[: len(losses)],
    )


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
