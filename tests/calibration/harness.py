"""One invented world at a time: played, written to files, read back, learned from, and judged.

The truth of an act is the world with it less the world without, from the simulator alone.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

import numpy as np

from greenwright import simulate
from greenwright.respond import SHAPES
from greenwright.respond.learning import LearnedOutcome, learn
from greenwright.respond.learning.verdicts import verdict
from greenwright.stats.dynamic import effect_draws, effects
from tests.calibration import analysts
from tests.calibration.learned_world import KINDS, TODAY, record_of

ROLLED = ("roll_distance",)
"""The only kind of reading that learning green speed asks for."""
DRAWS = 4000
SHAPE = {s.act: s for s in SHAPES if s.outcome == "green_speed"}


@dataclass(frozen=True)
class Cell:
    """A kind of world, played again and again.

    Args:
        name: as asked for.
        world: its settings.
        act: whose gain is judged.
        right: whether the engine's model is meant for it.
    """

    name: str
    world: simulate.World
    act: str = "roll"
    right: bool = True


@dataclass(frozen=True)
class Row:
    """What one world said. Effects are of one act on its own morning [m].

    ``mean`` and ``sd`` are of the mean over the course's greens, as it is told; ``common`` is what
    would be expected of greens not seen.
    """

    cell: str
    seed: int
    sets: int
    truth: float
    mean: float
    sd: float
    verdict: str
    prior: float
    common: analysts.Found
    alone: analysts.Found
    others: dict[str, analysts.Found]
    misfits: dict[str, float] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def holds(self) -> bool:
        """Whether the 95 % interval holds the truth."""
        return abs(self.mean - self.truth) <= 1.96 * self.sd

    @property
    def works(self) -> bool:
        """Whether the 95 % interval leaves nothing out."""
        return abs(self.mean) > 1.96 * self.sd

    @property
    def moved(self) -> float:
        """Share of the way from what was believed before to the truth."""
        return (self.prior - self.mean) / (self.prior - self.truth)


def play(cell: Cell, seed: int) -> Row:
    """Play one world of a cell through the record's files and judge what was learned."""
    made = simulate.course(seed, today=TODAY, world=cell.world)
    begun = time.process_time()
    found = learn(record_of(lean(made)), seed=1, quantities=["green_speed"])
    one = found.outcomes["green_speed", ""]
    spent = time.process_time() - begun
    believed = effects(one.fit)
    here = told(one, cell.act)
    return Row(
        cell=cell.name,
        seed=seed,
        sets=one.n_sets,
        truth=true_gain(made, cell.act),
        mean=here.mean,
        sd=here.sd,
        verdict=verdict(one, SHAPE[cell.act], one.n_days.get(cell.act, 0)).separable,
        prior=float(believed.prior_mean[believed.names.index(cell.act)]),
        common=analysts.Found(*believed.at(cell.act)),
        alone=analysts.Found(*effects(one.plain).at(cell.act)),
        others=beside(one, made, cell.act),
        misfits={m.name: m.score for m in one.misfits},
        seconds=spent,
    )


def told(one: LearnedOutcome, act: str) -> analysts.Found:
    """Return what is told of an act: the mean over these greens, of 4,000 draws."""
    place = [t.name for t in one.fit.layout.model.terms].index(act)
    drawn = effect_draws(one.fit, n=DRAWS, rng=np.random.default_rng(2))
    here = drawn.by_unit[:, place].mean(axis=1)
    return analysts.Found(float(here.mean()), float(here.std(ddof=1)))


def beside(
    one: LearnedOutcome, made: simulate.Simulated, act: str = "roll"
) -> dict[str, analysts.Found]:
    """Return what the other analysts make of the same record."""
    sets = analysts.sets_for(one, act)
    return {
        "means": analysts.difference_of_means(sets),
        "recorded": analysts.on_the_recorded(sets),
        "lags": analysts.with_lags(sets),
        "impression": analysts.knowing_the_impression(sets, made, one.first),
        "surface": analysts.knowing_the_surface(sets, made, one.first),
    }


def lean(made: simulate.Simulated) -> simulate.Simulated:
    """Return the course with the part of its record that green speed is learned from."""
    tables = {name: rows for name, rows in made.tables.items() if name in KINDS}
    tables["readings"] = tuple(r for r in made.tables["readings"] if r["kind"] in ROLLED)
    return replace(made, tables=tables)


def true_gain(made: simulate.Simulated, act: str = "roll") -> float:
    """Return what one act more adds on its morning [m], mean over greens: two twin worlds."""
    index = len(made.acts) * 3 // 4
    more = simulate.Act(act, tuple(range(len(made.truth.greens))), "06:00")
    return float(simulate.difference(made, index, more)["green_speed"][index].mean())


@dataclass(frozen=True)
class Summary:
    """A cell in numbers; shares 0..1, means as shares of the truth where there is one."""

    cell: str
    worlds: int
    sets: float
    bias: float
    holds: float
    verdicts: dict[str, float]
    holds_by: dict[str, float]
    width: float
    least_width: float
    power: float
    works: float
    misfit: float
    moved: float
    common: tuple[float, float]
    alone: tuple[float, float]
    others: dict[str, tuple[float, float]]
    seconds: float


def summary(rows: list[Row]) -> Summary:
    """Return the numbers of one cell's worlds; at least one row."""
    truth = np.array([r.truth for r in rows])
    scale = truth if np.abs(truth).min() > 1e-9 else np.ones(len(rows))
    said = {v: [r for r in rows if r.verdict == v] for v in ("yes", "partly", "cannot tell")}
    return Summary(
        cell=rows[0].cell,
        worlds=len(rows),
        sets=float(np.mean([r.sets for r in rows])),
        bias=float(np.mean((np.array([r.mean for r in rows]) - truth) / scale)),
        holds=float(np.mean([r.holds for r in rows])),
        verdicts={v: len(some) / len(rows) for v, some in said.items()},
        holds_by={v: float(np.mean([r.holds for r in some])) for v, some in said.items() if some},
        width=float(np.mean([r.sd / r.others["impression"].sd for r in rows])),
        least_width=float(np.mean([r.sd / r.others["surface"].sd for r in rows])),
        power=float(np.mean([r.works and r.verdict == "yes" for r in rows])),
        works=float(np.mean([r.works for r in rows])),
        misfit=float(np.mean([bool(r.misfits) for r in rows])),
        moved=float(np.mean([r.moved for r in rows])),
        common=_of_truth([r.common for r in rows], truth, scale),
        alone=_of_truth([r.alone for r in rows], truth, scale),
        others={
            name: _of_truth([r.others[name] for r in rows], truth, scale) for name in rows[0].others
        },
        seconds=float(np.mean([r.seconds for r in rows])),
    )


def _of_truth(
    found: list[analysts.Found], truth: np.ndarray, scale: np.ndarray
) -> tuple[float, float]:
    """Return the mean error as a share of the truth, and the share of worlds held."""
    error = (np.array([f.mean for f in found]) - truth) / scale
    return float(error.mean()), float(
        np.mean([f.holds(float(t)) for f, t in zip(found, truth, strict=True)])
    )


def hard_enough(rows: list[Row]) -> bool:
    """Whether the worlds are a trap: means off by 30 %, regression by 20 % and never holding."""
    found = summary(rows).others
    return (
        abs(found["means"][0]) >= 0.3
        and abs(found["recorded"][0]) >= 0.2
        and found["recorded"][1] == 0.0
    )
