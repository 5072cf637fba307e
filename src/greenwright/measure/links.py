"""How a count or an instrument's measure goes with the eye scale: a line learnt from pairs.

x = at + slope * (score - usual), x the log odds of a clean roll or the log of a deviation. The
slope, and how far x strays from the line, are learnt where both were taken on one green and
day, both sides having errors; where the line lies is learnt by the surface itself (a shift
with a prior), observers allowed for.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date as Date

import numpy as np

from greenwright.base.evidence import log_sd, look_up
from greenwright.base.evidence import value as number
from greenwright.base.values import Reading
from greenwright.measure.sounding import COUNTS
from greenwright.stats import logit_belief

LINK_KEYS: Mapping[str, tuple[str, ...]] = {
    "clean_rolls": ("measure.clean_rolls.score_at_half", "measure.clean_rolls.score_per_logit"),
    "profile_vertical": (
        "measure.profile_vertical.log_at_usual",
        "measure.profile_vertical.log_per_score",
    ),
}
"""Evidence of each line before any pair is seen; all counts share one."""

_MOST = 300
_REACH = np.linspace(-2.5, 2.5, 21)
_SPREADS = np.geomspace(0.15, 2.4, 9)
_STRAYS = np.array([-1.5, -0.75, 0.0, 0.75])
_STRAY_LOG_SD = 1.0
_FLAT = 1e-4
_LEAST_DEVIATION = 0.01


@dataclass(frozen=True, slots=True)
class Pair:
    """A score and x of one green and day, each with its variance."""

    score: float
    score_variance: float
    x: float
    x_variance: float


@dataclass(frozen=True, slots=True)
class Line:
    """How x goes with the score.

    Args:
        at: x at the usual score.
        slope: x per point of score.
        log_sd: sd of the log of the slope.
        usual: the usual score.
        middle: score about which an error of the slope turns the line.
        noise: variance of x about the line from reading to reading, beside the count's own.
        pairs: greens and days it was learnt from.
    """

    at: float
    slope: float
    log_sd: float
    usual: float
    middle: float
    noise: float
    pairs: int

    def score(self, x: float) -> float:
        """Return the score of an x."""
        return self.usual + (x - self.at) / self.slope

    def slope_variance(self, score: float) -> float:
        """Return the variance that the slope's own error leaves at a score."""
        return (self.log_sd * (score - self.middle)) ** 2

    def shift_sd(self, kind: str) -> float:
        """Return the prior sd of where the line lies, at its middle [points of score]."""
        return math.hypot(intercept_sd(kind), self.log_sd * (self.middle - self.usual))


def measured(reading: Reading) -> tuple[float, float]:
    """Return x and the variance of what was counted (instrument: 0)."""
    if reading.kind not in COUNTS:
        return math.log(max(reading.value, _LEAST_DEVIATION)), 0.0
    odds = logit_belief(*clean(reading))
    return odds.mean, odds.variance


def clean(reading: Reading) -> tuple[float, float]:
    """Return clean rolls (of the kind counted) and all rolls of a count."""
    n = float(reading.n or 0)
    return (reading.value if reading.kind == "clean_rolls" else n - reading.value), n


def link_noise(kind: str) -> float:
    """Return the variance of x about its line before any pair, beside the count's own."""
    return _prior_line(kind).noise


def intercept_sd(kind: str) -> float:
    """Return the prior sd of where the line lies [points of score]."""
    lasting = number("measure.link.lasting_share") * number(f"measure.{kind}.link_sd") ** 2
    entry = look_up(LINK_KEYS[_line_of(kind)][0])
    own = (entry.sd or 0.0) / (1.0 if kind in COUNTS else abs(_prior_line(kind).slope))
    return math.sqrt(lasting + own**2)


def lines(readings: Sequence[Reading], direct: str) -> Mapping[str, Line]:
    """Return the line of each count's kind and each instrument that was read.

    Args:
        readings: of one quantity.
        direct: the kind that scores it; scores of both together help where it is missing.

    Keys are those of ``line_name``.
    """
    scores = _scores(readings, direct)
    found: dict[str, list[Pair]] = defaultdict(list)
    every: dict[str, list[float]] = defaultdict(list)
    kind_of: dict[str, str] = {}
    for row in sorted(readings, key=lambda r: r.date):
        if row.kind in COUNTS or row.kind in LINK_KEYS:
            name = line_name(row)
            kind_of[name] = row.kind
            every[name].append(measured(row)[0])
            if (row.date, row.green) in scores:
                found[name].append(Pair(*scores[row.date, row.green], *measured(row)))
    return {
        name: line(kind, found[name], about=sum(every[name]) / len(every[name]))
        for name, kind in kind_of.items()
    }


def line_name(reading: Reading) -> str:
    """Return whose line a reading follows: its kind's, and its instrument's where one reads."""
    if reading.kind in COUNTS:
        return reading.kind
    return f"{reading.kind} {reading.instrument}".strip()


def line(kind: str, pairs: Sequence[Pair], *, about: float | None = None) -> Line:
    """Return the line of a kind after its pairs; the prior's where there are fewer than three.

    Args:
        pairs: greens and days with both, in order of date; the last 300 count.
        about: mean x of all readings, where an error of the slope turns the line if there are
            no pairs; None = x at the usual score.

    The true scores of the pairs are normal about their mean with a sd that is learnt too, so
    that errors of the scores do not flatten the line. All by a grid.
    """
    prior = _prior_line(kind)
    used = list(pairs)[-_MOST:]
    if len(used) < 3:
        return prior if about is None else replace(prior, middle=prior.score(about))
    slopes, noises = prior.slope * np.exp(prior.log_sd * _REACH), prior.noise * np.exp(2 * _STRAYS)
    heights = np.stack([_heights(used, slopes, noise) for noise in noises])
    heights -= 0.5 * _REACH[:, None] ** 2 + 0.5 * (_STRAYS[:, None, None] / _STRAY_LOG_SD) ** 2
    weights = np.exp(heights - heights.max())
    weights /= weights.sum()
    along = weights.sum(axis=(0, 2))
    mean = float(along @ _REACH)
    spread = math.sqrt(float(along @ (_REACH - mean) ** 2))
    learnt = replace(
        prior,
        slope=prior.slope * math.exp(prior.log_sd * mean),
        log_sd=prior.log_sd * spread,
        noise=float(weights.sum(axis=(1, 2)) @ noises),
        pairs=len(used),
    )
    return replace(learnt, middle=learnt.score(sum(p.x for p in used) / len(used)))


def _line_of(kind: str) -> str:
    return "clean_rolls" if kind in COUNTS else kind


def _prior_line(kind: str) -> Line:
    usual = number("measure.smoothness.level")
    first, second = LINK_KEYS[_line_of(kind)]
    if kind in COUNTS:
        slope = 1 / number(second)
        at = (usual - number(first)) * slope
    else:
        at, slope = number(first), number(second)
    return Line(at, slope, log_sd(second), usual, usual, _noise(kind, slope), 0)


def _noise(kind: str, slope: float) -> float:
    passing = 1 - number("measure.link.lasting_share")
    return passing * (number(f"measure.{kind}.link_sd") * slope) ** 2


def _scores(
    readings: Iterable[Reading], direct: str
) -> dict[tuple[Date, str], tuple[float, float]]:
    """Return mean score and variance of each day and green: the direct kind's where there is."""
    by_place: dict[tuple[Date, str], dict[bool, list[float]]] = defaultdict(
        lambda: defaultdict(list)
    )
    for row in readings:
        if row.kind in (direct, "roll_score"):
            by_place[row.date, row.green][row.kind == direct].append(row.value)
    one = number("measure.score_sd") ** 2 + number("measure.observer_sd_score") ** 2
    both = number("measure.roll_score.link_sd") ** 2
    made = {}
    for place, held in by_place.items():
        used = held.get(True) or held[False]
        left = 0.0 if held.get(True) else both
        made[place] = (sum(used) / len(used), one / len(used) + left)
    return made


def _heights(pairs: Sequence[Pair], slopes: np.ndarray, noise: float) -> np.ndarray:
    """Return the log likelihood (slopes, spreads), mean score and place of the line unknown."""
    score, s_var, x, x_var = np.array(
        [(p.score, p.score_variance, p.x, p.x_variance) for p in pairs]
    ).T
    s, y = score - score.mean(), x - x.mean()
    d, t2 = slopes[:, None, None], (_SPREADS**2)[None, :, None]
    a, b, c = t2 + s_var, d * t2, d**2 * t2 + x_var + noise
    det = a * c - b**2
    inverse = np.stack([c / det, -b / det, a / det])
    sums = inverse.sum(axis=-1)
    right = np.stack(
        [
            (inverse[0] * s + inverse[1] * y).sum(axis=-1),
            (inverse[1] * s + inverse[2] * y).sum(axis=-1),
        ]
    )
    square = (inverse[0] * s**2 + 2 * inverse[1] * s * y + inverse[2] * y**2).sum(axis=-1)
    p, q, r = sums[0] + _FLAT, sums[1], sums[2] + _FLAT
    inner = p * r - q**2
    solved = (r * right[0] ** 2 - 2 * q * right[0] * right[1] + p * right[1] ** 2) / inner
    return -0.5 * (np.log(det).sum(axis=-1) + square - solved + np.log(inner))
