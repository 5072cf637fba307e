"""Today against yesterday, against lately, and one green against the others: from one fit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as Date

import numpy as np

from greenwright.base.estimate import Estimate, draws_estimate
from greenwright.base.values import Snapshot
from greenwright.measure.belief import Belief, Floats
from greenwright.measure.surface import LATELY, TODAY, YESTERDAY, Surface
from greenwright.measure.surveying import surface

_N_DRAWS = 1000
_SEED = 0


@dataclass(frozen=True, slots=True)
class Consistency:
    """How unlike the greens in play are [unit].

    Args:
        sd: between their true levels.
        range: highest less lowest.
        pair: median difference (without sign) of two greens picked at random.
    """

    sd: Estimate
    range: Estimate
    pair: Estimate


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Comparisons:
    """What is believed of the differences a player may meet, jointly with today's levels.

    Args:
        levels: today's surface, of the same fit.
        yesterday: the course today less yesterday.
        lately: the course today less the mean of the 14 days before.
        per_green_yesterday: each green today less yesterday.
        against_others: each green less the mean of the other greens in play; 0 where there is
            no other.
        consistency: of the greens in play; None for a single one.

    On a log scale the mean over days is that of the logs; all else is plain [unit].
    """

    levels: Surface
    yesterday: Estimate
    lately: Estimate
    per_green_yesterday: tuple[Estimate, ...]
    against_others: tuple[Estimate, ...]
    consistency: Consistency | None

    @property
    def quantity(self) -> str:
        """Return what is compared."""
        return self.levels.quantity

    @property
    def unit(self) -> str:
        """Return the unit of all differences."""
        return self.levels.unit

    @property
    def on(self) -> Date:
        """Return the day."""
        return self.levels.on

    @property
    def greens(self) -> tuple[str, ...]:
        """Return the greens in playing order."""
        return self.levels.greens

    @property
    def in_play(self) -> tuple[bool, ...]:
        """Return whether each green is in play."""
        return self.levels.in_play

    def draws(self, n: int, seed: int) -> Floats:
        """Return n draws (n, G) of the true levels today [unit]."""
        return self._joint_draws(n, seed)[:, TODAY]

    def yesterday_draws(self, n: int, seed: int) -> Floats:
        """Return n draws (n,) of the course today less yesterday, those of ``draws`` beside."""
        return self._course_less(n, seed, then=YESTERDAY)

    def lately_draws(self, n: int, seed: int) -> Floats:
        """Return n draws (n,) of the course today less lately, those of ``draws`` beside."""
        return self._course_less(n, seed, then=LATELY)

    def _course_less(self, n: int, seed: int, *, then: int) -> Floats:
        drawn = self._joint_draws(n, seed)
        return (drawn[:, TODAY] - drawn[:, then]) @ self.levels.playing

    def _joint_draws(self, n: int, seed: int) -> Floats:
        joint = self.levels.joint
        flat = joint.draws(np.arange(len(joint.mean)), n=n, rng=np.random.default_rng(seed))
        return flat.reshape(n, -1, len(self.greens))


def comparisons(snapshot: Snapshot, quantity: str, *, on: Date | None = None) -> Comparisons | None:
    """Return a quantity's differences on a day, ``levels`` its surface; None = never read.

    Args:
        snapshot, quantity, on: as of ``surface``.

    Raises:
        UnknownKey: another quantity.
    """
    levels = surface(snapshot, quantity, on=on)
    return None if levels is None else compared(levels)


def compared(levels: Surface) -> Comparisons:
    """Return the differences that a surface holds, without fitting anything again."""
    greens = range(len(levels.greens))
    each = np.eye(len(levels.greens))
    bases = [e.basis for e in levels.per_green]
    counts = levels.n_per_green
    return Comparisons(
        levels=levels,
        yesterday=levels.less(levels.playing, then=YESTERDAY),
        lately=levels.less(levels.playing, then=LATELY),
        per_green_yesterday=tuple(
            levels.less(each[i], then=YESTERDAY, n=counts[i], basis=bases[i]) for i in greens
        ),
        against_others=tuple(_against_others(levels, i) for i in greens),
        consistency=_consistency(levels.belief, np.flatnonzero(levels.in_play), levels),
    )


def _against_others(levels: Surface, i: int) -> Estimate:
    others = np.array(levels.in_play, dtype=float)
    others[i] = 0.0
    own = np.zeros(len(others))
    own[i] = 1.0
    count = others.sum()
    others = others / count if count else own
    held = levels.per_green[i]
    return levels.belief.difference(own, others, n=held.n, basis=held.basis)


def _consistency(belief: Belief, playing: Floats, levels: Surface) -> Consistency | None:
    if len(playing) < 2:
        return None
    drawn = belief.draws(playing, n=_N_DRAWS, rng=np.random.default_rng(_SEED))
    first, second = np.triu_indices(len(playing), 1)
    pairs = np.median(np.abs(drawn[:, first] - drawn[:, second]), axis=1)
    seen = (drawn.std(axis=1, ddof=1), np.ptp(drawn, axis=1), pairs)
    made = [draws_estimate(v.tolist(), belief.unit, n=levels.n_readings) for v in seen]
    return Consistency(*made)
