"""What an element's balance comes to, how sure that is, and whether a test is worth its cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import hypot, sqrt
from statistics import NormalDist, mean

import numpy as np

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import value
from greenwright.feed.demand import bounded_below
from greenwright.feed.soil import per_area

SURE = 0.9
"""A test can change no mind that is surer than this."""
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(31)
_YEAR_D = 365.25
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class SoilTest:
    """One content of one sample of a green [mg/kg], with the layer that was sampled."""

    green: str
    day: date
    mg_kg: float
    depth_m: float
    extractant: str


@dataclass(frozen=True, slots=True)
class Tested:
    """What the tests say of a group of greens [mg/kg].

    Args:
        mg_kg: mean content; cv: its relative sd as the mean of the group.
        one_cv: relative sd of one more test.
        depth_m: mean depth; n: tests behind it; day: the oldest of them.
        borrowed: whether they are of other greens of the course.
    """

    mg_kg: float
    cv: float
    one_cv: float
    depth_m: float
    n: int
    day: date
    borrowed: bool = False


@dataclass(frozen=True, slots=True)
class Stakes:
    """What is at stake: the area [m2] and the price of a gram of the element."""

    area_m2: float
    price_g: float


@dataclass(frozen=True, slots=True)
class ElementNeed:
    """The balance of one element over a group of greens, all amounts in g/m2.

    Args:
        element: K | P | Ca | Mg | S.
        use, reserve, present: the parts; present is None where no test speaks.
        given: put out since the test.
        balance: use + reserve - present - given; None where no test speaks.
        need: the balance, never below nought.
        chance: that anything is needed.
        worth: what one more test is worth, in the course's currency.
        verdict: needed | not needed | test first.
        reason: in a sentence.
    """

    element: str
    use: Estimate
    reserve: Estimate
    present: Estimate | None
    given: float
    balance: Estimate | None
    need: Estimate | None
    chance: float | None
    worth: float
    verdict: str
    reason: str


def group_content(
    own: Sequence[SoilTest], others: Sequence[SoilTest], *, greens: int
) -> Tested | None:
    """Return what tests say of a group, its own first, else those of other greens, or nothing.

    Args:
        own: newest test of each green of the group that has one.
        others: newest of the other greens.
        greens: how many greens the group has.
    """
    test, apart = value("soil.test_cv"), value("feed.between_greens_cv")
    held = own or others
    if not held:
        return None
    n = len(held)
    if not own:
        cv = sqrt(test**2 / n + apart**2 * (1 + 1 / n))
    elif n >= greens:
        cv = test / sqrt(n)
    else:
        cv = hypot(test, apart * sqrt(1 - n / greens)) / sqrt(n)
    return Tested(
        mean(t.mg_kg for t in held),
        cv,
        hypot(test, apart) if greens > 1 else test,
        mean(t.depth_m for t in held),
        n,
        min(t.day for t in held),
        borrowed=not own,
    )


def element_need(
    element: str,
    use: Estimate,
    tests: Tested | None,
    *,
    reserve_mg_kg: float,
    density_kg_m3: float,
    stakes: Stakes,
    on: date,
    given_g_m2: float = 0.0,
    untested: str = "",
) -> ElementNeed:
    """Return the balance of an element and the verdict: needed, not needed, or test first.

    use + reserve - present - given; the spread joins that of the use, the tests and the density.

    Args:
        element: K | P | Ca | Mg | S.
        use: what the grass takes up from the test to the end of the year [g/m2].
        tests: what tests say; None = nothing.
        reserve_mg_kg: what is to stay [mg/kg].
        density_kg_m3: bulk density of the layer.
        stakes: what is at stake.
        on: the day.
        given_g_m2: put out since the test.
        untested: why no test speaks, where one was made.
    """
    depth = tests.depth_m if tests else value("soil.depth_default")
    layer = {"depth_m": depth, "density_kg_m3": density_kg_m3}
    dense = value("feed.density_cv")
    kept = per_area(reserve_mg_kg, **layer)
    reserve = normal_estimate(kept, kept * dense, "g/m2", basis="model")
    if tests is None:
        why = untested or "no soil test of it is in the record"
        return ElementNeed(
            element, use, reserve, None, given_g_m2, None, None, None, 0.0, "test first", why
        )
    held = per_area(tests.mg_kg, **layer)
    middle = use.value + kept - held - given_g_m2
    # One density stands under the reserve and the content: their errors cancel where they meet.
    sd = hypot(use.sd, held * tests.cv, (kept - held) * dense) or 1e-9
    balance = normal_estimate(middle, sd, "g/m2", n=tests.n, basis="model")
    chance = 1 - NormalDist(middle, sd).cdf(0.0)
    worth = worth_of_test(middle, sd, present_sd=held * tests.cv, test_sd=held * tests.one_cv)
    worth *= stakes.price_g * stakes.area_m2
    verdict, reason = _verdict(chance, worth, tests, on)
    present = normal_estimate(held, held * hypot(tests.cv, dense), "g/m2", n=tests.n, basis="model")
    need = bounded_below(balance)
    return ElementNeed(
        element, use, reserve, present, given_g_m2, balance, need, chance, worth, verdict, reason
    )


def _verdict(chance: float, worth: float, tests: Tested, on: date) -> tuple[str, str]:
    old = (on - tests.day).days / _YEAR_D
    if old > value("feed.test_years"):
        return "test first", f"the test is {old:.0f} years old"
    if worth > value("feed.test_cost") and 1 - SURE < chance < SURE:
        where = "other greens' tests cannot settle it" if tests.borrowed else "it hangs in balance"
        return "test first", f"{where}, and a test costs less than being wrong"
    if chance >= 0.5:
        return "needed", "use and reserve are more than the soil holds"
    return "not needed", "the soil holds more than use and reserve together"


def expected_loss(mean_: float, sd: float, *, factor: float) -> float:
    """Return the least expected loss [g/m2 of element] of giving one amount, never below nought.

    Against knowing: a gram too much costs one, a gram missing costs the factor.

    Args:
        mean_, sd: belief about the balance [g/m2], sd above 0.
        factor: what a gram missing costs.
    """
    standard = NormalDist()
    best = max(0.0, mean_ + sd * standard.inv_cdf(factor / (1 + factor)))
    u = (best - mean_) / sd
    over = u * standard.cdf(u) + standard.pdf(u)
    spare = mean_ / sd
    surplus = standard.pdf(spare) - spare * (1 - standard.cdf(spare))
    return sd * (over + factor * (over - u) - surplus)


def worth_of_test(mean_: float, sd: float, *, present_sd: float, test_sd: float) -> float:
    """Return what one more test saves in expected loss [g/m2 of element], at least nought.

    Args:
        mean_, sd: belief about the balance [g/m2].
        present_sd: the part of its spread that a test narrows.
        test_sd: spread of one more test [g/m2].
    """
    factor = value("feed.shortage_factor")
    if min(present_sd, test_sd, sd) <= _NOTHING:
        return 0.0
    learned = present_sd**4 / (present_sd**2 + test_sd**2)
    left = sqrt(max(sd**2 - learned, 1e-18))
    now = expected_loss(mean_, sd, factor=factor)
    moved = mean_ + sqrt(learned) * _NODES
    after = sum(
        w * expected_loss(float(m), left, factor=factor)
        for m, w in zip(moved, _WEIGHTS, strict=True)
    ) / float(np.sum(_WEIGHTS))
    return max(now - float(after), 0.0)
