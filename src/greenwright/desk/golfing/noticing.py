"""What golfers will notice: today against yesterday and lately, one green against the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.desk.answering import SEED, Row
from greenwright.desk.golfing.levels import Levels
from greenwright.golfers import (
    any_two_notice,
    notice_belief,
    notice_keys,
    pair_notice,
    worst_pair,
)
from greenwright.measure.comparisons import Comparisons

Floats = NDArray[np.float64]

DRAWS = 1000
_OPTION = {"green_speed": "speed_m", "smoothness": "smoothness"}
"""Quantity -> the option that stands in its place."""


def notice_rows(compared: Mapping[str, Comparisons], levels: Levels) -> tuple[Row, ...]:
    """Return the rows of each quantity: against other days, between greens, consistency.

    Args:
        compared: by quantity, those that were ever read.
        levels: of the day, with anything asked in their place. A level asked for moves the
            course against other days; the greens stay as far apart as they are.
    """
    return tuple(row for q, one in compared.items() for row in _rows(q, one, levels))


def _rows(quantity: str, one: Comparisons, levels: Levels) -> list[Row]:
    rows: list[Row] = [
        _course_row("yesterday", one, levels, (one.yesterday, one.yesterday_draws(DRAWS, SEED))),
        _course_row("lately", one, levels, (one.lately, one.lately_draws(DRAWS, SEED))),
    ]
    playing = np.flatnonzero(one.in_play)
    if len(playing) < 2:
        return rows
    drawn = one.draws(DRAWS, SEED)[:, playing]
    names = [one.greens[i] for i in playing]
    rows += [_green_row(quantity, one, drawn, place=pair) for pair in enumerate(playing.tolist())]
    return [*rows, _next_row(quantity, one, drawn, names), _consistency_row(quantity, one, drawn)]


def _course_row(
    about: str, one: Comparisons, levels: Levels, change: tuple[Estimate, Floats]
) -> Row:
    """Return the course against another day, at the level asked for where there is one."""
    difference, drawn = change
    asked = levels.given.get(_OPTION.get(one.quantity, ""))
    if asked is not None:
        today = one.draws(DRAWS, SEED) @ one.levels.playing
        drawn = asked - (today - drawn)
        difference = draws_estimate(drawn.tolist(), one.unit)
    felt = notice_belief(drawn, one.quantity, seed=SEED)
    return _base("course", about, one.quantity, felt) | {"difference": difference}


def _green_row(
    quantity: str, one: Comparisons, drawn: Floats, *, place: tuple[int, int]
) -> dict[str, object]:
    column, index = place
    others = np.delete(drawn, column, axis=1).mean(axis=1)
    felt = notice_belief(drawn[:, column] - others, quantity, seed=SEED)
    row = _base(one.greens[index], "others", quantity, felt)
    return row | {"difference": one.against_others[index]}


def _next_row(
    quantity: str, one: Comparisons, drawn: Floats, names: Sequence[str]
) -> dict[str, object]:
    felt, worst = pair_notice(drawn, quantity, seed=SEED), worst_pair(drawn, quantity, seed=SEED)
    steps = np.abs(np.diff(drawn, axis=1)).mean(axis=1)
    return _base("course", "next green", quantity, felt) | {
        "difference": draws_estimate(steps.tolist(), one.unit),
        "worst": {"greens": [names[worst.first], names[worst.second]], "estimate": worst.chance},
    }


def _consistency_row(quantity: str, one: Comparisons, drawn: Floats) -> dict[str, object]:
    felt, held = any_two_notice(drawn, quantity, seed=SEED), one.consistency
    spread = None if held is None else {"sd": held.sd, "range": held.range, "pair": held.pair}
    return _base("course", "consistency", quantity, felt) | {"consistency": spread}


def _base(green: str, about: str, quantity: str, felt: Estimate) -> dict[str, object]:
    return {
        "green": green,
        "what": "notice",
        "about": about,
        "distance_m": None,
        "player": None,
        "quantity": quantity,
        "chance": felt.value,
        "chance_perfect": None,
        "estimate": felt,
        "sources": list(notice_keys(quantity)),
    }
