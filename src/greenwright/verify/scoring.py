"""Forecasts judged by what came: did ranges hold, which way were they off, do they beat rules?

Readings of one day share its weather and its reader, so intervals count days, not readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import nan, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, stdtrit

from greenwright.verify.references import HORIZONS, RULES, Ints, Readings, ruled
from greenwright.verify.scores import Floats, crps

LEVELS: tuple[float, ...] = (0.5, 0.8, 0.9, 0.95)
"""Promises of which a finding tells how often they were held."""
BEST = "best"

Chosen = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Forecasts:
    """Forecasts of what a set of readings would show, normal (of the log where `log`).

    Args:
        made_on, day: (n,) days on which they were made and of which they speak.
        green: (n,) place of the green.
        mean, sd: (n,) [unit, or of the log].
    """

    made_on: Ints
    day: Ints
    green: Ints
    mean: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class Judged:
    """Forecasts beside the readings that came; one that was read twice stands twice.

    Args:
        made_on, day, green, mean, sd: of the forecasts.
        value: what was read [unit, or its log].
        place: of the reading among all.
        log: all are on the log scale.
    """

    made_on: Ints
    day: Ints
    green: Ints
    mean: Floats
    sd: Floats
    value: Floats
    place: Ints
    log: bool

    @property
    def ahead(self) -> Ints:
        """Return how many days ahead each looked."""
        return self.day - self.made_on

    @property
    def pit(self) -> Floats:
        """Return the chance that the forecast gave to less than what came."""
        return ndtr((self.value - self.mean) / self.sd)

    @property
    def crps(self) -> Floats:
        """Return the scores [unit]."""
        return crps(self.value, self.mean, self.sd, log=self.log)

    @property
    def missed(self) -> Floats:
        """Return reading less mean forecast [unit]; plus: it came out higher."""
        if self.log:
            return np.exp(self.value) - np.exp(self.mean + self.sd**2 / 2)
        return self.value - self.mean

    def within(self, horizon: int | None) -> Chosen:
        """Return which lie in a stretch of days ahead; None = all."""
        if horizon is None:
            return np.ones(len(self.day), dtype=bool)
        first, last = HORIZONS[horizon]
        return (self.ahead >= first) & (self.ahead <= last)


@dataclass(frozen=True, slots=True)
class Told:
    """One number about past forecasts.

    Args:
        value: the number; nan where nothing can be said.
        low, high: 95 % interval.
        se: its standard error.
        n, n_days: readings, and days with any.
    """

    value: float
    low: float
    high: float
    se: float
    n: int
    n_days: int


@dataclass(frozen=True, slots=True)
class Skill:
    """How much smaller our scores were than a rule's, over what both could be asked.

    Args:
        against: the rule.
        told: 1 - ours / the rule's.
        ours, theirs: mean scores [unit].
    """

    against: str
    told: Told
    ours: float
    theirs: float


NOTHING = Told(nan, nan, nan, nan, 0, 0)


def meet(forecasts: Forecasts, readings: Readings, *, log: bool) -> Judged:
    """Return each forecast beside each reading of its green on its day."""
    wanted = {}
    for place, key in enumerate(zip(readings.green, readings.day, strict=True)):
        wanted.setdefault((int(key[0]), int(key[1])), []).append(place)
    keys = zip(forecasts.green, forecasts.day, strict=True)
    pairs = [(k, p) for k, (g, d) in enumerate(keys) for p in wanted.get((int(g), int(d)), ())]
    which = np.array(pairs, dtype=np.intp).reshape(-1, 2)
    mine, place = which[:, 0], which[:, 1]
    held = (getattr(forecasts, n)[mine] for n in ("made_on", "day", "green", "mean", "sd"))
    return Judged(*held, readings.value[place], place, log)


def coverage(judged: Judged, level: float, chosen: Chosen | None = None) -> Told:
    """Return the share of readings inside the central range of a level.

    The interval is Wilson's, with as many readings as the days they fall on are worth.

    Args:
        judged: forecasts and what came.
        level: promised share, 0..1.
        chosen: only these.
    """
    used = judged.within(None) if chosen is None else chosen
    held = (np.abs(2 * judged.pit[used] - 1) <= level).astype(float)
    day = judged.day[used]
    if not len(held):
        return NOTHING
    share, n, days = float(held.mean()), len(held), len(np.unique(day))
    plain = share * (1 - share) / n
    varied = _variance_of_mean(held - share, day)
    worth = min(float(n), n * plain / varied) if varied > 0 and plain > 0 else float(days)
    low, high = _wilson(share, worth, _t(days))
    return Told(share, low, high, sqrt(max(varied, 0.0)), n, days)


def _wilson(share: float, n: float, t: float) -> tuple[float, float]:
    if not np.isfinite(t):
        return 0.0, 1.0
    spread = t * sqrt(share * (1 - share) / n + t**2 / (4 * n**2))
    centre, scale = share + t**2 / (2 * n), 1 + t**2 / n
    return max(0.0, (centre - spread) / scale), min(1.0, (centre + spread) / scale)


def mean_error(judged: Judged, chosen: Chosen | None = None) -> Told:
    """Return the mean of reading less forecast [unit]; plus: the greens came out higher."""
    used = judged.within(None) if chosen is None else chosen
    missed, day = judged.missed[used], judged.day[used]
    if not len(missed):
        return NOTHING
    value = float(missed.mean())
    return told_about(value, sqrt(_variance_of_mean(missed - value, day)), len(missed), day)


def told_about(value: float, se: float, n: int, day: Ints) -> Told:
    """Return a value with its standard error and 95 % interval; day: cluster of each part."""
    days = len(np.unique(day))
    reach = _t(days) * se if days > 1 else np.inf
    return Told(value, value - reach, value + reach, se, n, days)


def _variance_of_mean(residual: Floats, cluster: Ints) -> float:
    """Return the variance of a mean whose parts move together within a cluster."""
    sums = np.bincount(np.unique(cluster, return_inverse=True)[1], weights=residual)
    count = len(sums)
    return float(count / max(count - 1, 1) * (sums**2).sum() / len(residual) ** 2)


def _t(clusters: int) -> float:
    return float(stdtrit(clusters - 1, 0.975)) if clusters > 1 else np.inf


def rules_of(readings: Readings, judged: Judged) -> Mapping[str, tuple[Floats, Floats]]:
    """Return for each rule middle and sd of what it would have said of every judged reading."""
    made = {}
    for name in RULES:
        said, column = ruled(readings, name), judged.ahead - 1
        made[name] = said.middle[judged.place, column], said.sd[judged.place, column]
    return made


def skills(
    judged: Judged, rules: Mapping[str, tuple[Floats, Floats]], chosen: Chosen | None = None
) -> tuple[Skill, ...]:
    """Return the skill over each rule that can be made, then over the best of them.

    Args:
        judged: forecasts and what came.
        rules: of `rules_of`.
        chosen: only these.
    """
    used = judged.within(None) if chosen is None else chosen
    made = [one for name, said in rules.items() if (one := _skill(judged, name, said, used))]
    if not made:
        return ()
    # The hardest rule over the cases it could be asked of; a rule asked of fewer is not let off.
    hardest = min(made, key=lambda one: one.told.value)
    return (*made, Skill(BEST, hardest.told, hardest.ours, hardest.theirs))


def hardest(found: Sequence[Skill]) -> str:
    """Return the name of the rule that the forecasts beat least."""
    return min((s for s in found if s.against != BEST), key=lambda s: s.told.value).against


def _skill(judged: Judged, name: str, said: tuple[Floats, Floats], used: Chosen) -> Skill | None:
    both = used & np.isfinite(said[0]) & np.isfinite(said[1])
    if not both.any():
        return None
    ours = judged.crps[both]
    theirs = crps(judged.value[both], said[0][both], said[1][both], log=judged.log)
    value = 1 - ours.sum() / theirs.sum()
    day = judged.day[both]
    told = told_about(float(value), _jackknife(ours, theirs, day), len(ours), day)
    return Skill(name, told, float(ours.mean()), float(theirs.mean()))


def _jackknife(ours: Floats, theirs: Floats, day: Ints) -> float:
    """Return the standard error of 1 - a ratio of sums, leaving one day out at a time."""
    place = np.unique(day, return_inverse=True)[1]
    a, b = np.bincount(place, weights=ours), np.bincount(place, weights=theirs)
    count = len(a)
    if count < 2:
        return np.inf
    left = 1 - (a.sum() - a) / (b.sum() - b)
    return float(np.sqrt((count - 1) / count * ((left - left.mean()) ** 2).sum()))
