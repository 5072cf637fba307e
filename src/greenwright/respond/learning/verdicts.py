"""Can this record tell an effect? The verdict with its reason in plain words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from greenwright.respond.learning.learned import Chosen, LearnedOutcome
from greenwright.respond.learning.terms import BY_LOOK, names_of
from greenwright.respond.shapes import HELD, Shape
from greenwright.stats.dynamic import Separation

HARDLY, FEW = 3, 8
"""Days with a practice up to which nothing, and under which not all, is told."""
EITHER_WAY = (0.1, 0.9)
"""Chances between which a morning could have gone either way."""
BY_SEASON = 0.8
"""Share of the height's ups and downs that go with the season, over which only part is told."""
_LABELS = {
    "roll": "Rolling",
    "double_cut": "A second cut",
    "brush": "Brushing",
    "groom": "Grooming",
}
NEVER = "It is not in the record."
STEPS = ("step", "unit step")
"""Misfits that say a level changed once and kept it."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether the record tells an effect: yes | partly | cannot tell, and why."""

    separable: str
    reason: str


def verdict(one: LearnedOutcome, shape: Shape, n_days: int) -> Verdict:
    """Return the verdict on one effect of a learned outcome.

    Where the level changed once and stayed so, before and after are not alike, and no effect is
    told with a plain yes.

    Args:
        one: what was learned.
        shape: the effect.
        n_days: days on which it was done.
    """
    found = _told(one, shape, n_days)
    steps = [m for m in one.misfits if m.name in STEPS]
    if found.separable != "yes" or not steps:
        return found
    return Verdict("partly", f"{found.reason} But the record breaks: {steps[0].words}")


def _told(one: LearnedOutcome, shape: Shape, n_days: int) -> Verdict:
    drawn = one.tossed.get(shape.act)
    if drawn is not None and drawn.verdict == "yes":
        return Verdict("yes", _of_toss(drawn))
    found = [one.separations[n] for n in names_of(shape) if n in one.separations]
    if n_days <= HARDLY or not found:
        return Verdict("cannot tell", _seldom(n_days))
    share = min(s.share_local for s in found)
    if "little learned" in found[0].reasons:
        return Verdict("cannot tell", _little(share))
    choice = one.choice_of(shape.act)
    foremost = choice is one.chosen or "no overlap" not in found[0].reasons
    if choice is not None and foremost:
        return _of_choice(choice, found[0], shape)
    if shape.form == HELD:
        return _of_height(one)
    if n_days < FEW:
        return Verdict(
            "partly",
            f"Done on {n_days} days only: what else happened on these days is in the number too.",
        )
    if shape.act in BY_LOOK:
        return Verdict(
            "partly",
            f"Done on {n_days} days. Whether it followed the look of the surface is not allowed "
            "for here: if it was done on bad days, it does more than this says.",
        )
    return Verdict("yes", _felt(n_days, found[0], one))


def unlearned(n_days: int) -> Verdict:
    """Return the verdict on an effect of an outcome that was read too seldom to learn of."""
    held = NEVER if n_days == 0 else f"The record holds {_days(n_days)} on which it was done."
    return Verdict(
        "cannot tell",
        "No effect has been learned from this course's record yet: what stands here is what is "
        f"published, common practice or a judgement, as the sources say. {held}",
    )


def either_way(chosen: Chosen) -> tuple[int, int]:
    """Return the mornings with and without the act that could have gone either way."""
    chance, rows = chosen.decided.choice.chance, chosen.decisions
    open_ = (chance > EITHER_WAY[0]) & (chance < EITHER_WAY[1])
    done = rows.done > 0
    return len(np.unique(rows.day[open_ & done])), len(np.unique(rows.day[open_ & ~done]))


def _of_choice(chosen: Chosen, found: Separation, shape: Shape) -> Verdict:
    label = _LABELS.get(shape.act, shape.act.capitalize())
    with_it, without = either_way(chosen)
    if "no overlap" in found.reasons or min(with_it, without) == 0:
        return Verdict(
            "cannot tell",
            f"{label} followed the look of the surface, or fixed days, so closely that hardly a "
            "morning with it compares to one without.",
        )
    if "few doses" in found.reasons:
        return Verdict("cannot tell", f"Only {found.doses} readings felt it.")
    compared = (
        f"{label} was done on {_mornings(with_it)} and left out on {_mornings(without)} that "
        "could have gone either way"
    )
    if "unwritten work" in found.reasons:
        return Verdict(
            "partly",
            f"{compared}, but by the readings much of it was never written down: a blank in the "
            "record hardly says that nothing was done.",
        )
    if "rests on the decision model" in found.reasons:
        return Verdict(
            "partly",
            f"{compared}, but greens that looked slow were chosen so often that the size leans "
            "on how strongly that was so.",
        )
    return Verdict("yes", f"{compared}: the days compare.")


def _of_toss(found: Separation) -> str:
    return (
        f"{found.doses} days of single greens had it by toss, and the others on these days did "
        "without: what the greens looked like had no say."
    )


def _of_height(one: LearnedOutcome) -> Verdict:
    model = one.plain.layout.model
    dose = next(t.dose for t in model.terms if t.name == "mow").mean(axis=0)
    waves = [c.values.mean(axis=0) for c in model.covariates if c.name.startswith("season")]
    design = np.column_stack([np.ones(len(dose)), *waves])
    left = dose - design @ np.linalg.lstsq(design, dose, rcond=None)[0]
    changes = int((np.abs(np.diff(dose)) > 1e-9).sum())
    if changes <= HARDLY:
        return Verdict("cannot tell", f"The height changed on {_days(changes)} only.")
    if dose.var() > 0 and 1 - left.var() / dose.var() > BY_SEASON:
        return Verdict(
            "partly", "The height went with the season, which changes the surface by itself."
        )
    return Verdict(
        "partly",
        f"The height changed on {_days(changes)}. Whether it followed the look of the surface is "
        "not allowed for.",
    )


def _seldom(n_days: int) -> str:
    return NEVER if n_days == 0 else f"Done on {_days(n_days)} only: too few to tell."


def _little(share: float) -> str:
    return (
        "The readings are too few, or lie too far from the days it was done: they took away "
        f"{100 * share:.0f} % of the doubt, and half is needed."
    )


def _felt(n_days: int, found: Separation, one: LearnedOutcome) -> str:
    return (
        f"Done on {_days(n_days)}, and not by the look of the surface as far as is known; "
        f"{one.n_sets} sets of readings stand beside them."
    )


def _days(n: int) -> str:
    return f"{n} day{'' if n == 1 else 's'}"


def _mornings(n: int) -> str:
    return f"{n} morning{'' if n == 1 else 's'}"
