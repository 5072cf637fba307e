"""Do 90 % intervals of smoothness hold the truth however it was read? See ``eye_worlds``.

560 records, 80 of each mixture of kinds: about 1,000 independent intervals of greens (greens
of one record share observers and links): binomial sd about 1 point, and 86 to 94 % is four sds.
Of one mixture, 80 records give about 200: sd about 2 points.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from greenwright.base.estimate import Estimate
from greenwright.measure import Comparisons, comparisons
from tests.calibration.eye_worlds import MIXTURES, EyeWorld, eye_world

RECORDS = 560
WINDOW = (0.86, 0.94)
WHATS = ("green", "change", "yesterday", "lately", "others", "course", "spread", "pair")


@dataclass(frozen=True)
class Held:
    """Low, high and value less the truth (3, n), the mixture of each, and tops in its record."""

    ends: np.ndarray
    mixture: np.ndarray
    tops: np.ndarray


def judged_one(world: EyeWorld, one: Comparisons) -> dict[str, list[tuple[Estimate, float]]]:
    """Return each estimate with the truth it speaks of."""
    now, week, lately = world.truth[-1], world.truth[-8], world.truth[-15:-1].mean(axis=0)
    levels, k = one.levels, len(now)
    others = [now[i] - np.delete(now, i).mean() for i in range(k)]
    pairs = np.abs(now[:, None] - now[None, :])[np.triu_indices(k, 1)]
    assert one.consistency is not None and levels.between_greens_sd is not None
    return {
        "green": list(zip(levels.per_green, now, strict=True)),
        "change": list(zip(levels.change_7d, now - week, strict=True)),
        "yesterday": list(zip(one.per_green_yesterday, now - world.truth[-2], strict=True)),
        "lately": [(one.lately, float((now - lately).mean()))],
        "others": list(zip(one.against_others, others, strict=True)),
        "course": [(levels.course, float(now.mean()))],
        "spread": [(levels.between_greens_sd, float(now.std(ddof=1)))],
        "pair": [(one.consistency.pair, float(np.median(pairs)))],
    }


@cache
def judged() -> dict[str, Held]:
    rows: dict[str, list[tuple[float, float, float, int, float]]] = {w: [] for w in WHATS}
    for seed in range(RECORDS):
        world = eye_world(seed)
        if world is None:
            continue
        found = comparisons(world.record, "smoothness")
        assert found is not None
        for what, held in judged_one(world, found).items():
            rows[what] += [
                (e.low - t, e.high - t, e.value - t, seed % len(MIXTURES), world.top_share)
                for e, t in held
            ]
    table = {what: np.array(held).T for what, held in rows.items()}
    return {w: Held(t[:3], t[3].astype(int), t[4]) for w, t in table.items()}


def coverage(what: str, *, mixture: int | None = None, shrunk: float = 1.0) -> float:
    """Share of intervals that hold the truth, each shrunk about its estimate by a factor."""
    held = judged()[what]
    low, high, error = held.ends
    inside = (error + shrunk * (low - error) <= 1e-9) & (error + shrunk * (high - error) >= -1e-9)
    return float(inside[held.mixture == mixture if mixture is not None else slice(None)].mean())


@pytest.mark.slow
@pytest.mark.parametrize("what", ["green", "course"])
def test_ninety_per_cent_intervals_hold_the_truth(what: str) -> None:
    assert len(judged()[what].ends[0]) >= 500
    assert WINDOW[0] <= coverage(what) <= WINDOW[1]


@pytest.mark.slow
@pytest.mark.parametrize("what", ["change", "yesterday", "lately", "others", "spread", "pair"])
def test_comparisons_hold_the_truth_too(what: str) -> None:
    """One number a record where it is the course's: binomial sd 1.3 points."""
    assert 0.85 <= coverage(what) <= 0.96


@pytest.mark.slow
@pytest.mark.parametrize("mixture", range(len(MIXTURES)), ids=["+".join(m) for m in MIXTURES])
def test_every_mixture_of_kinds_is_honest(mixture: int) -> None:
    """Binomial sd about 2 points each: 82 to 98 % is about 4."""
    assert 0.82 <= coverage("green", mixture=mixture) <= 0.98


@pytest.mark.slow
def test_greens_whose_scores_pile_up_at_ten_are_honest_too() -> None:
    """Records with at least a fifth of their scores at 10: some 80 of them."""
    held = judged()["green"]
    piled = held.tops >= 0.2
    assert piled.sum() >= 300
    low, high, _ = held.ends[:, piled]
    assert 0.84 <= float(((low <= 1e-9) & (high >= -1e-9)).mean()) <= 0.97


@pytest.mark.slow
@pytest.mark.parametrize("what", ["green", "course"])
def test_an_estimator_made_too_sure_on_purpose_is_caught(what: str) -> None:
    """The same check must refuse intervals of sd x 0.7."""
    assert not WINDOW[0] <= coverage(what, shrunk=0.7) <= WINDOW[1]


@pytest.mark.slow
def test_estimates_are_not_biased() -> None:
    """Mean error of all greens is small beside the sd of one (about 0.6 points)."""
    assert abs(judged()["green"].ends[2].mean()) < 0.1
