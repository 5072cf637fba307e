"""What a comparison by toss would tell of an effect, before it is made, and the smallest one.

Given hyper-parameters all is normal, and the doubt that is left after readings does not depend
on their values. So the posterior sd after readings to come is known exactly, up to the
hyper-parameters, once it is said who is given what and when it is read. Doses that fall by toss
need no model of the decision.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.special import ndtr

from greenwright.base.errors import BadInput
from greenwright.stats.dynamic.model import Floats, Ints
from greenwright.stats.dynamic.outlook import Outlook, Point
from greenwright.stats.dynamic.separating import against

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Who is given a dose by toss, when, and when all of them are read.

    Args:
        units: (g,) those who take part.
        days: (m,) first days on which readings feel it.
        given: (m, g) true where it is given, false where left alone.
        lags: days after each of the days on which every unit is read.
        sets: of readings of each unit on each day of reading.
        held: days for which a dose is held; 1 = an act.
        dose: of one act, in reference doses.
        fading: what one dose is worth some days later, by term, where the record's own terms
            do not say it (doses already spread over days); None = as the terms say.
    """

    units: Ints
    days: Ints
    given: Flags
    lags: tuple[int, ...] = (0,)
    sets: int = 1
    held: int = 1
    dose: float = 1.0
    fading: Floats | None = None

    def __post_init__(self) -> None:
        """Refuse tosses that do not belong to the units and days."""
        if self.given.shape != (len(self.days), len(self.units)):
            raise BadInput(f"tosses {self.given.shape} for {len(self.days)} days")

    @property
    def cells(self) -> tuple[Ints, Ints]:
        """Return unit and day of each reading, none twice."""
        days = np.unique(np.add.outer(self.days, self.lags))
        return np.repeat(self.units, len(days)), np.tile(days, len(self.units))

    @property
    def readings(self) -> int:
        """Return the number of sets."""
        days = {int(day) + lag for day in self.days for lag in self.lags}
        return len(self.units) * len(days) * self.sets

    @property
    def tosses(self) -> int:
        """Return how many tosses of a coin decide it: one for each unit on each day."""
        return self.given.size


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a comparison is expected to tell.

    Args:
        sd_before, sd_after: (terms,) of each effect [unit of the outcome]; before is the prior's
            where the comparison has to tell it alone.
        share: (terms,) share of the prior's variance that would be gone; that of the first counts.
        reasons: what would still speak against a yes.
        chance_yes: that the verdict becomes yes, over the doubt about hyper-parameters.
        chance_clear: that zero lies outside the 95 % interval of the first effect afterwards.
    """

    sd_before: Floats
    sd_after: Floats
    share: Floats
    reasons: tuple[str, ...]
    chance_yes: float
    chance_clear: float = float("nan")


@dataclass(frozen=True, slots=True)
class Now:
    """What is believed of the first effect today.

    Args:
        mean, sd: of it.
        doses: that readings have felt.
        alone: the comparison has to tell it alone, as what came before compares badly.
        led: what was done till now followed need, so that tosses have to be worth as much as
            free decisions would have to be.
    """

    mean: float
    sd: float
    doses: int = 0
    alone: bool = False
    led: bool = False


def foresee(look: Outlook, one: Comparison, now: Now) -> Foreseen:
    """Return what a comparison is expected to tell, under the rule of ``separate``.

    Args:
        look: belief about levels that holds all cells of the comparison.
        one: the comparison.
        now: what is believed today.

    Errors: BadInput for cells that were not looked at.
    """
    before = np.array([_before(point, look, now) for point in look.points])
    after = np.array([_after(point, look, one, now) for point in look.points])
    weights = np.array([point.weight for point in look.points])
    shares = 1 - after / look.prior**2
    felt = int(one.given.sum()) + (0 if now.alone else now.doses)
    told = [_against(share, felt, one, now) for share in shares]
    share = np.clip(weights @ shares, 0, 1)
    sd = np.sqrt(weights @ after)
    return Foreseen(
        sd_before=np.sqrt(weights @ before),
        sd_after=sd,
        share=share,
        reasons=_against(share, felt, one, now),
        chance_yes=round(float(weights @ np.array([not reasons for reasons in told])), 6),
        chance_clear=_clear(look, now, float(sd[0])),
    )


def smallest(
    designs: Iterable[Comparison],
    see: Callable[[Comparison], Foreseen],
    *,
    chance: float = 0.8,
    back: int = 4,
) -> tuple[Comparison, Foreseen] | None:
    """Return the first design after which the verdict is yes, None where none is.

    Args:
        designs: cheapest first; by and large each tells more than those before it.
        see: what a design tells.
        chance: with which it has to become yes.
        back: designs before the one found by halving that are looked at one by one.
    """
    tried = list(designs)

    def will_do(place: int) -> bool:
        return see(tried[place]).chance_yes >= chance

    if tried and will_do(0):
        return tried[0], see(tried[0])
    if not tried or not will_do(len(tried) - 1):
        return None
    low, high = 0, len(tried) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if will_do(middle) else (middle, high)
    place = next(k for k in range(max(high - back, 0), high + 1) if k == high or will_do(k))
    return tried[place], see(tried[place])


def tossed(mornings: int, units: int, *, rng: np.random.Generator) -> Flags:
    """Return (mornings, units) tosses: half of the units each time, the others the next time.

    Two mornings in turn mirror each other, so that every unit is given as often as it is left.

    >>> tossed(2, 4, rng=np.random.default_rng(1)).sum(axis=0).tolist()
    [1, 1, 1, 1]
    """
    given = np.zeros((mornings, units), dtype=bool)
    for k in range(0, mornings, 2):
        given[k, rng.permutation(units)[: units // 2]] = True
        if k + 1 < mornings:
            given[k + 1] = ~given[k]
    return given


def _against(share: Floats, felt: int, one: Comparison, now: Now) -> tuple[str, ...]:
    tosses = float(one.tosses) if now.led else float("nan")
    return against(doses=felt, share=float(share[0]), coin_flips=tosses)


def _before(point: Point, look: Outlook, now: Now) -> Floats:
    if now.alone:
        return look.prior**2
    common = _common(look)
    return np.diagonal(point.effects)[common]


def _after(point: Point, look: Outlook, one: Comparison, now: Now) -> Floats:
    """Return the variance of each common effect once the comparison has been read."""
    cells, own, worth = _cells(point, look, one)
    levels = point.levels[np.ix_(cells, cells)]
    effects = _fresh(point, look) if now.alone else point.effects
    shared = np.zeros((len(cells), len(effects))) if now.alone else point.shared[cells]
    felt = np.zeros((len(cells), len(effects)))
    for places, values in zip(own, worth, strict=True):
        felt[np.arange(len(cells)), places] = values
    crossed = shared @ felt.T
    seen = levels + crossed + crossed.T + felt @ effects @ felt.T
    seen[np.diag_indices(len(cells))] += point.noise / one.sets
    common = _common(look)
    with_it = (shared + felt @ effects)[:, common]
    told = with_it.T @ cho_solve(cho_factor(seen, lower=True), with_it)
    return np.diagonal(effects)[common] - np.diagonal(told)


def _fresh(point: Point, look: Outlook) -> Floats:
    """Return the prior covariance of effects by unit and in common, as if nothing were known."""
    size = len(look.units) + 1
    blocks = np.zeros((size * len(look.terms),) * 2)
    for k, (sd, apart) in enumerate(zip(look.prior, point.apart, strict=True)):
        block = np.full((size, size), sd**2)
        block[np.arange(size - 1), np.arange(size - 1)] += apart
        mine = slice(k * size, (k + 1) * size)
        blocks[mine, mine] = block
    return blocks


def _common(look: Outlook) -> Ints:
    """Return the places of the common effects among the effects."""
    size = len(look.units) + 1
    return size * np.arange(1, len(look.terms) + 1) - 1


def _cells(point: Point, look: Outlook, one: Comparison) -> tuple[Ints, list[Ints], list[Floats]]:
    """Return places of the readings' levels, and by term the effect each feels and how much."""
    unit, day = one.cells
    if not (set(unit.tolist()) <= set(look.units) and set(day.tolist()) <= set(look.days)):
        raise BadInput("a reading of the comparison lies outside what was looked at")
    units, days = np.array(look.units), np.array(look.days)
    by_unit, by_day = np.argsort(units), np.argsort(days)
    seat = by_unit[np.searchsorted(units, unit, sorter=by_unit)]
    place = seat * len(days) + by_day[np.searchsorted(days, day, sorter=by_day)]
    fading = point.fading if one.fading is None else one.fading
    order = np.argsort(one.units)
    part = order[np.searchsorted(one.units, unit, sorter=order)]
    own, worth = [], []
    for k, left in enumerate(fading):
        own.append(seat + k * (len(look.units) + 1))
        worth.append(one.dose * _worth(one, part, day, left))
    return place, own, worth


def _worth(one: Comparison, part: Ints, day: Ints, left: Floats) -> Floats:
    """Return what the doses are worth at each reading."""
    total = np.zeros(len(part))
    for when, given in zip(one.days, one.given, strict=True):
        for more in range(one.held):
            age = day - when - more
            known = (age >= 0) & (age < len(left)) & given[part]
            total[known] += left[age[known]]
    return total


def _clear(look: Outlook, now: Now, after: float) -> float:
    """Return the chance that the effect's interval will leave zero out.

    The mean to come has the variance that the comparison takes away; alone, it is the prior's
    mean drawn towards the effect as it is believed now.
    """
    prior = float(look.prior[0])
    if now.alone:
        share = max(1 - (after / prior) ** 2, 0.0)
        mean = (1 - share) * float(look.mean[0]) + share * now.mean
        spread = np.sqrt((share * now.sd) ** 2 + share * (1 - share) * prior**2)
    else:
        mean, spread = now.mean, np.sqrt(max(now.sd**2 - after**2, 0.0))
    edges = np.array([-1.96, 1.96]) * after
    if spread <= 0:
        return float(not edges[0] < mean < edges[1])
    below, above = (edges - mean) / spread
    return float(ndtr(below) + ndtr(-above))
