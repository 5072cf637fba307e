"""Five invented records of different size, for the long runs; see ``long_runs``."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from greenwright.simulate import Manager
from greenwright.stats.dynamic import DynamicModel, Readings, effect_draws, effects, fit_dynamic
from tests.calibration import own_worlds
from tests.calibration.long_runs import Long, long_run
from tests.calibration.need_world import world
from tests.stats.dynamic.worlds import rich_model, rich_readings

Record = tuple[DynamicModel, Readings]


def own(seed: int) -> Record:
    """A world of the model's own prior: 4 units, 50 days."""
    rng = np.random.default_rng([seed, 41])
    model = own_worlds.model_for(rng)
    return model, own_worlds.lived(rng, model).rows


def course(seed: int, *, greens: int, days: int, dial: float) -> Record:
    """A simulated course, its manager driven by need as far as the dial says."""
    made = world(seed, Manager.coin_flip().driven(dial), days=days, greens=greens)
    return made.model, made.rows


def rich(seed: int) -> Record:
    """Every kernel at once, readings of noise alone."""
    model = rich_model(5, 60, seed=seed)
    return model, rich_readings(model, seed=seed + 1)


RECORDS: Mapping[str, Callable[[], Record]] = {
    "own world, 4 units x 50 days": lambda: own(0),
    "own world, other scales": lambda: own(3),
    "every kernel, 5 x 60": lambda: rich(2),
    "course by need, 6 x 150": lambda: course(300, greens=6, days=150, dial=1.0),
    "course by coin, 18 x 120": lambda: course(301, greens=18, days=120, dial=0.0),
}


@dataclass(frozen=True)
class Beside:
    """The mixture less the long run: means in sds, sds as ratios; shapes likewise."""

    shift: np.ndarray
    ratio: np.ndarray
    shape_shift: np.ndarray
    shape_ratio: np.ndarray
    long: Long

    @property
    def agree(self) -> bool:
        """Whether every effect's mean is within 0.1 sd and every sd within 10 %."""
        return bool(np.abs(self.shift).max() < 0.1 and np.abs(self.ratio - 1).max() < 0.1)


def beside(
    record: Record, *, warm: int, draws: int, seed: int = 0, pairs: int | None = None
) -> Beside:
    """Fit a record both ways; the mixture by as many pairs as hyper-parameters unless told."""
    rng = np.random.default_rng([seed, 3])
    model, rows = record
    pairs = len(model.hypers) if pairs is None else pairs
    fit = fit_dynamic(model, rows, rng=rng, pairs=pairs)
    long, quick = long_run(fit, warm=warm, draws=draws, seed=seed), effects(fit)
    shapes = effect_draws(fit, n=4000, rng=rng).shapes
    logs = np.log([shapes[h] / model.shapes[h].median for h in model.shapes])
    mean, sd = long.log_shape
    return Beside(
        (quick.mean - long.mean) / long.sd,
        quick.sd / long.sd,
        (logs.mean(axis=1) - mean) / sd,
        logs.std(axis=1) / sd,
        long,
    )


def line(name: str, found: Beside) -> str:
    long = found.long
    return (
        f"{name:<30} R-hat {long.r_hat:.3f} effective {long.effective:5.0f} "
        f"of {long.runs.evaluations:6d}; {len(found.shift)} effects: shift up to "
        f"{np.abs(found.shift).max():.3f} sd, sds x {found.ratio.min():.3f} to "
        f"{found.ratio.max():.3f}; log shapes: shift up to {np.abs(found.shape_shift).max():.2f}"
        f" sd, sds x {found.shape_ratio.min():.2f} to {found.shape_ratio.max():.2f}"
    )


def main() -> int:
    """Print the table; the exit code says whether all records agree."""
    good = True
    for name, made in RECORDS.items():
        found = beside(made(), warm=200, draws=500)
        good &= found.agree
        print(line(name, found), flush=True)
    return int(not good)


if __name__ == "__main__":
    sys.exit(main())
