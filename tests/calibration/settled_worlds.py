"""Invented courses on which a proposed comparison is made: played ahead, read, and learned again.

The course goes on after today under the work that the comparison asks for; the surface is the
simulator's, the crew reads with its own scatter, and the record is learned from afresh.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from greenwright import simulate
from greenwright.base.values import Reading, Snapshot, WeatherDay, Work
from greenwright.respond.learning import LearnedOutcome, learn, learned_responses, verdict
from greenwright.respond.learning.settle import Asked, Morning, Trial, trials
from greenwright.respond.responses import Effect
from greenwright.respond.rows import days_done
from greenwright.simulate.practices import Act
from greenwright.stats.dynamic import effects
from tests.calibration.learned_world import record_of

TODAY = date(2026, 7, 1)
GREENS, DAYS = 9, 180
TRUTH = {"double_cut": 0.09, "brush": -0.03}
"""What one act does on its morning [m]: peaks of `simulate`'s responses."""
READING_SD = float(np.hypot(0.03, 0.05 / 6**0.5))
"""Scatter of a set of six rolls [m]: the crew's set and roll scatter of `simulate`."""


@dataclass(frozen=True)
class Settled:
    """One world: what was said before, what the comparison foretold, what came of it."""

    seed: int
    act: str
    before: str
    trial: Trial
    mean: float
    sd: float
    after: str

    @property
    def ratio(self) -> float:
        """Sd that came of it, in the one foretold."""
        return self.sd / self.trial.sd_after

    @property
    def clear(self) -> bool:
        return abs(self.mean) > 1.96 * self.sd


def settle(seed: int, act: str) -> Settled:
    """Play a course whose group manager goes by the look, compare as proposed, learn again."""
    made, record = _course(seed)
    one, effect = _learned(record, act)
    n_days = days_done(record, effect.shape)
    (trial,) = trials(record, one, [Asked(effect, n_days)], months={}).values()
    assert trial is not None
    then = _compared(made, record, trial, act=act)
    two, _ = _learned(then, act)
    mean, sd = effects(two.fit).at(act)
    return Settled(
        seed=seed,
        act=act,
        before=verdict(one, effect.shape, n_days).separable,
        trial=trial,
        mean=mean,
        sd=sd,
        after=verdict(two, effect.shape, days_done(then, effect.shape)).separable,
    )


def _course(seed: int) -> tuple[simulate.Simulated, Snapshot]:
    world = simulate.World(
        greens=GREENS,
        days=DAYS,
        manager=simulate.Manager(double_cut_share=0.12),
        climate=simulate.Climate(forecast_days=50),
    )
    made = simulate.course(seed, today=TODAY, world=world)
    return made, record_of(made, TODAY)


def _learned(record: Snapshot, act: str) -> tuple[LearnedOutcome, Effect]:
    learned = learn(record, seed=1, quantities=["green_speed"])
    here = learned_responses(learned, record, seed=1)
    return learned.outcomes["green_speed", ""], here.effects[act, "green_speed"]


def _compared(made: simulate.Simulated, record: Snapshot, trial: Trial, *, act: str) -> Snapshot:
    """Return the record some weeks later: mown every day, the act by toss, nothing else."""
    last = max(m.date for m in trial.mornings) + timedelta(days=max(trial.read_after))
    span = [TODAY + timedelta(days=k + 1) for k in range((last - TODAY).days)]
    by_day = {m.date: m for m in trial.mornings}
    names = made.truth.greens
    acts = {day: tuple(_acts(by_day.get(day), names, act)) for day in span}
    speed = simulate.ahead(made, acts)["green_speed"]
    past = tuple(w for w in record.work if w.date <= TODAY)
    more = [row for day in span for row in _rows(day, acts[day], by_day.get(day), names, act)]
    return replace(
        record,
        as_of=last,
        work=(*past, *more),
        readings=(*record.readings, *_read(made.stage.seed, speed, trial, names)),
        weather=(*record.weather, *_weather(made, last)),
    )


def _acts(morning: Morning | None, names: tuple[str, ...], act: str) -> Iterator[Act]:
    given = tuple(names.index(g) for g in morning.given) if morning else ()
    rest = tuple(i for i in range(len(names)) if i not in given)
    if act != "double_cut":
        yield Act("mow", tuple(range(len(names))), "05:30", 3.6)
        if given:
            yield Act(act, given, "06:00")
        return
    yield Act("mow", rest, "05:30", 3.6)
    if given:
        yield Act("mow", given, "05:30", 3.6, 2)


def _rows(
    day: date, acts: tuple[Act, ...], morning: Morning | None, names: tuple[str, ...], act: str
) -> Iterator[Work]:
    """Yield what the crew writes: work by toss, and greens that went without by toss."""
    practice, passes = ("mow", 2.0) if act == "double_cut" else (act, 1.0)
    for one in acts:
        drawn = one.practice == practice and one.passes == passes
        for green in one.greens:
            yield Work(
                date=day, green=names[green], practice=one.practice, passes=float(one.passes),
                amount=one.amount, unit="mm" if one.amount else "",
                detail="by toss" if drawn and morning else "",
            )  # fmt: skip
    for green in morning.left if morning else ():
        yield Work(date=day, green=green, practice=practice, passes=passes, status="declined",
                   detail="by toss")  # fmt: skip


def _read(
    seed: int, speed: NDArray[np.float64], trial: Trial, names: tuple[str, ...]
) -> Iterator[Reading]:
    rng = np.random.default_rng([seed, 99])
    days = {m.date + timedelta(days=lag) for m in trial.mornings for lag in trial.read_after}
    for day in sorted(days):
        for green in trial.greens:
            level = speed[(day - TODAY).days - 1, names.index(green)]
            for _ in range(trial.sets):
                yield Reading(
                    date=day, green=green, kind="green_speed", unit="m", n=6, observer="Ida",
                    instrument="ramp-1",
                    value=float(level + READING_SD * rng.standard_normal()),
                )  # fmt: skip


def _weather(made: simulate.Simulated, last: date) -> Iterator[WeatherDay]:
    for day in made.stage.weather:
        if TODAY <= day.date <= last:
            yield WeatherDay(date=day.date, t_min_c=day.t_min_c, t_max_c=day.t_max_c,
                             rain_mm=day.rain_mm)  # fmt: skip


def told(made: Sequence[Settled]) -> str:
    """Say on one line how what came of comparisons stands to what was foretold."""
    ratio, mean = (np.array([getattr(w, key) for w in made]) for key in ("ratio", "mean"))
    truth = TRUTH[made[0].act]
    holds = np.abs(mean - truth) < 1.96 * np.array([w.sd for w in made])
    yes, foretold = np.mean([w.after == "yes" for w in made]), [w.trial.chance_yes for w in made]
    clear, said = np.mean([w.clear for w in made]), [w.trial.chance_clear for w in made]
    return (
        f"{made[0].act}, {len(made)} worlds: sd in the foretold {ratio.min():.2f} to "
        f"{ratio.max():.2f}, mean {ratio.mean():.2f}, within 15 %: "
        f"{np.mean(np.abs(ratio - 1) < 0.15):.2f}; yes {yes:.2f} of foretold "
        f"{np.mean(foretold):.2f}; direction sure {clear:.2f} of foretold {np.mean(said):.2f}; "
        f"95 % hold {holds.mean():.2f}; mean {mean.mean():.3f} m, truth {truth:.3f} m"
    )


if __name__ == "__main__":
    worlds = range(30, 30 + int(sys.argv[1] if len(sys.argv) > 1 else 16))
    for act in sys.argv[2:] or TRUTH:
        print(told([settle(seed, act) for seed in worlds]), flush=True)
