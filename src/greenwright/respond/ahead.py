"""Where each green and the course will be, under the work planned and the weather given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.base.tables import quantities
from greenwright.base.values import Snapshot, Work
from greenwright.respond.beliefs import Beliefs, Floats, average
from greenwright.respond.coming import Given, Outlook, given, outlook, plan_of
from greenwright.respond.learning import LearnedOutcome
from greenwright.respond.scatter import Scatter, scatter
from greenwright.stats.dynamic import DynamicFit, DynamicModel, Levels, levels

COURSE = "course"
LONGEST = 14
"""Days ahead that anything is said of."""
BACK = 21
"""Days before the record's day whose levels stand beside the forecast."""


@dataclass(frozen=True, slots=True)
class Step:
    """One green, or the course, on one day.

    Args:
        green: its key, or course.
        date: the day.
        level: of the surface, what a perfect reading after the day's work would give.
        reading: what one set of readings would show; None for days gone by.
    """

    green: str
    date: date
    level: Estimate
    reading: Estimate | None = None


@dataclass(frozen=True, slots=True)
class Forecast:
    """One quantity over the days ahead.

    Args:
        quantity, method, unit: of what.
        on: the record's day.
        greens: in play.
        ahead: the course, then each green in playing order, days ascending.
        past: the same for the days up to the record's.
        beliefs: behind `ahead`, in its order.
        weather: how the weather ahead is known.
    """

    quantity: str
    method: str
    unit: str
    on: date
    greens: tuple[str, ...]
    ahead: tuple[Step, ...]
    past: tuple[Step, ...]
    beliefs: Beliefs
    weather: Given

    def in_target(self, green: str, day: date, *, low: float | None, high: float | None) -> float:
        """Return the chance that a green or the course lies in a band on a day ahead."""
        place = next(k for k, s in enumerate(self.ahead) if (s.green, s.date) == (green, day))
        return float(self.beliefs.picked([place]).chance(low, high)[0])


def forecast(
    outcome: LearnedOutcome,
    snapshot: Snapshot,
    *,
    days: int,
    planned: Sequence[Work] = (),
    coming: Outlook | None = None,
    back: int = BACK,
) -> Forecast:
    """Return the levels of the days after the record's.

    Unknown weather is played through with runs of days observed at the same season; weather that
    is given is taken at its word.

    Args:
        outcome: what was learned of one quantity, on the record's day.
        snapshot: the record.
        days: how many days ahead, 1 to 14.
        planned: the work of those days.
        coming: the same work and days, already laid out for several quantities.
        back: days before, told beside.

    Raises:
        BadInput: days outside 1 to 14.
    """
    if not 1 <= days <= LONGEST:
        raise BadInput(f"a forecast looks 1 to {LONGEST} days ahead, not {days}")
    coming = coming or outlook(snapshot, first=outcome.first, n_days=days, planned=planned)
    plan = plan_of(outcome, coming)
    later = coming.on(outcome.quantity)[1:]
    playing = tuple(g.green for g in snapshot.greens if g.in_play)
    ahead = Window(outcome, plan, playing, first=1, last=days, others=later)
    past = Window(outcome, plan, playing, first=-_reach(outcome, back), last=0)
    beliefs = believed(ahead)
    return Forecast(
        quantity=outcome.quantity,
        method=outcome.method,
        unit=outcome.unit,
        on=snapshot.as_of,
        greens=past.names,
        ahead=steps(ahead, beliefs, scatter(outcome)),
        past=steps(past, believed(past)),
        beliefs=beliefs,
        weather=given(snapshot, days),
    )


def _reach(outcome: LearnedOutcome, back: int) -> int:
    return min(back, (outcome.until - outcome.first).days)


@dataclass(frozen=True, slots=True)
class Window:
    """The days looked at, from the outcome's last one, and the model that speaks of them.

    Args:
        outcome: what was learned.
        plan: the fitted model with the work and weather of the days to come.
        playing: greens in play.
        first, last: days after the outcome's last one, both included.
        others: by covariate, its values on the days ahead under other weathers that may come,
            (units or 1, days).
    """

    outcome: LearnedOutcome
    plan: DynamicModel
    playing: tuple[str, ...]
    first: int
    last: int
    others: tuple[Mapping[str, Floats], ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Return the greens looked at: those in play that the model knows."""
        return tuple(g for g in self.outcome.greens if g in self.playing) or self.outcome.greens

    @property
    def places(self) -> Mapping[str, int]:
        """Return the model's unit of each green looked at."""
        return {g: self.outcome.greens.index(g) for g in self.names}

    @property
    def offsets(self) -> range:
        """Return the days, counted from the outcome's last one."""
        return range(self.first, self.last + 1)

    def place(self, offset: int) -> int:
        """Return the day of the model's calendar."""
        return (self.outcome.until - self.outcome.first).days + offset


def believed(window: Window) -> Beliefs:
    """Return the beliefs about the course, then each green, by day."""
    fit = window.outcome.fit
    units = np.array(list(window.places.values()), dtype=np.intp)
    count = len(units)
    day = np.repeat([window.place(k) for k in window.offsets], count)
    found = levels(fit, np.tile(units, len(window.offsets)), day, model=window.plan)
    means, sds = [], []
    for k, offset in enumerate(window.offsets):
        mean, cov = _of_day(found, slice(k * count, (k + 1) * count))
        more = _weathered(fit, window, units, offset)
        mean, cov = mean + more[0], cov + more[1]
        whole = average(mean, cov, log=window.outcome.log)
        spread = np.sqrt(np.clip(np.diagonal(cov, axis1=1, axis2=2), 0, None))
        means.append(np.column_stack([whole[0], mean]))
        sds.append(np.column_stack([whole[1], spread]))
    return Beliefs(_by_green(means), _by_green(sds), fit.weights, window.outcome.log)


def _of_day(found: Levels, mine: slice) -> tuple[Floats, Floats]:
    return found.means[:, mine], found.covs[:, mine, mine]


def _by_green(rows: Sequence[Floats]) -> Floats:
    """Return (m, things x days) of a list by day of (m, things)."""
    stacked = np.stack(rows, axis=2)
    return stacked.reshape(len(stacked), -1)


def _weathered(
    fit: DynamicFit, window: Window, units: np.ndarray, offset: int
) -> tuple[Floats, Floats]:
    """Return what not knowing the weather adds to mean (m, units) and covariance."""
    shape = (len(fit.at), len(units))
    if not window.others:
        return np.zeros(shape), np.zeros((*shape, len(units)))
    away = _departures(window, units, offset)
    slopes = slice(1, 1 + away.shape[1])
    means, covs = np.zeros(shape), np.zeros((*shape, len(units)))
    for i, at in enumerate(fit.at):
        moved = np.einsum("c,kcu->ku", at.mean[slopes], away)
        means[i] = moved.mean(axis=0)
        spread = np.atleast_2d(np.cov(moved.T, bias=True))
        # The slopes' own doubt counts too, as far as the weather departs from the plan's.
        covs[i] = spread + np.einsum("kcu,cd,kdv->uv", away, at.cov[slopes, slopes], away) / len(
            away
        )
    return means, covs


def _departures(window: Window, units: np.ndarray, offset: int) -> Floats:
    """Return (weathers, covariates, units): covariates of a day less the plan's."""
    shape, day = (window.plan.units, window.plan.days), window.place(offset)
    found = window.plan.covariates
    here = np.array([np.broadcast_to(c.values, shape)[units, day] for c in found])
    made = [
        [np.broadcast_to(other[c.name][:, offset - 1], shape[0])[units] for c in found]
        for other in window.others
    ]
    return np.array(made).reshape(len(window.others), len(found), len(units)) - here


def steps(window: Window, beliefs: Beliefs, read: Scatter | None = None) -> tuple[Step, ...]:
    """Return the rows of a window: the course first, then each green, days ascending.

    Args:
        window, beliefs: what was looked at and what is believed of it.
        read: how sets of readings scatter about the level; None = readings are not told.
    """
    outcome = window.outcome
    held = quantities()[outcome.quantity]
    ends = {"n": outcome.n_sets, "ends": (held.low, held.high)}
    whole = beliefs.estimates(outcome.unit, **ends)  # type: ignore[arg-type]
    shown: Sequence[Estimate | None] = [None] * len(whole)
    if read is not None:
        means, sds = read.of(list(window.places.values()), len(window.offsets))
        seen = replace(beliefs, means=beliefs.means + means, sds=np.sqrt(beliefs.sds**2 + sds**2))
        shown = seen.estimates(outcome.unit, **ends)  # type: ignore[arg-type]
    names = [(g, k) for g in (COURSE, *window.names) for k in window.offsets]
    return tuple(
        Step(green, outcome.until + timedelta(days=k), level, reading)
        for (green, k), level, reading in zip(names, whole, shown, strict=True)
    )
