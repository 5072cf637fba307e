"""What other analysts would make of the same record: the baselines beside what is learned.

Least squares in plain numpy, on the record's own sets, doses and weather. The knowing ones are
given what no record holds, and serve as a yardstick of how narrow an honest interval can be.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from greenwright import simulate
from greenwright.respond.learning import LearnedOutcome

Floats = NDArray[np.float64]
SEASON = ("season_sin", "season_cos")


@dataclass(frozen=True)
class Found:
    """An estimate and its standard error [m]."""

    mean: float
    sd: float

    def holds(self, truth: float) -> bool:
        """Whether the 95 % interval holds the truth."""
        return abs(self.mean - truth) <= 1.96 * self.sd


@dataclass(frozen=True)
class Sets:
    """A record's sets of rolls as an analyst lays them out: rows of sets.

    Args:
        value: green speed [m].
        unit, day: green and day.
        done: 1 where the act is written for the green and morning.
        recorded: weather, play, height and other work, as recorded.
        season, lags, readers: what a more careful analyst adds.
    """

    value: Floats
    unit: NDArray[np.intp]
    day: NDArray[np.intp]
    done: Floats
    recorded: Floats
    season: Floats
    lags: Floats
    readers: Floats


def sets_for(one: LearnedOutcome, act: str = "roll") -> Sets:
    """Return the sets of a learned outcome, with what is recorded beside them."""
    layout = one.plain.layout
    model, rows = layout.model, layout.rows
    shape, at = (model.units, model.days), (rows.unit, rows.day)
    given = {c.name: np.broadcast_to(c.values, shape)[at] for c in model.covariates}
    others = [t.dose[at] for t in model.terms if t.name != act]
    members = [rows.members[g.name][:, None] == np.arange(g.size) for g in model.groups]
    dose = one.felt[act]
    return Sets(
        value=rows.value,
        unit=rows.unit,
        day=rows.day,
        done=(dose[at] > 0).astype(float),
        recorded=np.column_stack([*(v for k, v in given.items() if k not in SEASON), *others]),
        season=np.column_stack([given[k] for k in SEASON]),
        lags=np.column_stack([*(_lagged(dose, k)[at] for k in (1, 2)), _last_seen(rows, shape)]),
        readers=np.column_stack([*members, *rows.conditions.values()]).astype(float),
    )


def difference_of_means(sets: Sets) -> Found:
    """Sets with the act less sets without: what anybody would look at first."""
    groups = [sets.value[sets.done == k] for k in (1.0, 0.0)]
    spread = sum(g.var(ddof=1) / len(g) for g in groups)
    return Found(float(groups[0].mean() - groups[1].mean()), float(np.sqrt(spread)))


def on_the_recorded(sets: Sets) -> Found:
    """Least squares on the act and all recorded covariates."""
    return _least_squares(sets, [sets.recorded])


def with_lags(sets: Sets) -> Found:
    """The same with lagged work and readings, season, readers, and each green's own level."""
    return _least_squares(sets, _careful(sets))


def knowing_the_impression(sets: Sets, made: simulate.Simulated, first: date) -> Found:
    """The careful analyst, given what the manager took each green for: nothing confounds him.

    Readings of one morning share what moves the course, so his error is reckoned by mornings.
    """
    felt = _at(made.truth.impression, sets, made, first)
    return _least_squares(sets, [*_careful(sets), felt[:, None]], by=sets.day)


def knowing_the_surface(sets: Sets, made: simulate.Simulated, first: date) -> Found:
    """The careful analyst, given the true surface before work: no record could do as well."""
    before = _at(made.truth.unworked_speed, sets, made, first)
    return _least_squares(sets, [*_careful(sets), before[:, None]], by=sets.day)


def _careful(sets: Sets) -> list[Floats]:
    greens = (sets.unit[:, None] == np.unique(sets.unit)[1:]).astype(float)
    return [sets.recorded, sets.season, sets.lags, sets.readers, greens]


def _at(truth: Floats, sets: Sets, made: simulate.Simulated, first: date) -> Floats:
    """Pick days x greens values at the sets; the record may begin after the course's first day."""
    return truth[sets.day + (first - made.truth.days[0]).days, sets.unit]


def _lagged(dose: Floats, days: int) -> Floats:
    out = np.zeros_like(dose)
    out[:, days:] = dose[:, :-days]
    return out


def _last_seen(rows: object, shape: tuple[int, int]) -> Floats:
    """Return for each set the mean of the last morning read before, less the record's mean."""
    value, day = rows.value, rows.day  # type: ignore[attr-defined]
    count = np.bincount(day, minlength=shape[1])
    total = np.bincount(day, value - value.mean(), minlength=shape[1])
    held, last = np.zeros(shape[1]), 0.0
    for k in range(shape[1]):
        held[k] = last
        last = total[k] / count[k] if count[k] else last
    return held[day]


def _least_squares(sets: Sets, parts: list[Floats], *, by: NDArray[np.intp] | None = None) -> Found:
    """Coefficient of the act; ``by`` = clusters whose errors may go together."""
    design = np.column_stack([sets.done, np.ones(len(sets.value)), *parts])
    inverse = np.linalg.pinv(design.T @ design)
    best = inverse @ design.T @ sets.value
    left = sets.value - design @ best
    free = len(left) - np.linalg.matrix_rank(design)
    if by is None:
        return Found(float(best[0]), float(np.sqrt(left @ left / free * inverse[0, 0])))
    pull = (design @ inverse[0]) * left
    clusters = np.bincount(by, pull)
    many = len(np.unique(by))
    scale = many / (many - 1) * (len(left) - 1) / free
    return Found(float(best[0]), float(np.sqrt(scale * (clusters @ clusters))))
