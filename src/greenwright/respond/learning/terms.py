"""The shapes of practices as the engine's terms, with the priors of the evidence table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.signal import lfilter

from greenwright.base.evidence import log_sd, look_up, value
from greenwright.base.tables import firmness_methods
from greenwright.respond.learning.choosing import MODELLED
from greenwright.respond.learning.worked import Floats, Worked
from greenwright.respond.responses import time_keys, weights
from greenwright.respond.shapes import (
    HEALING,
    HELD,
    PHASES,
    PLANNED_ACTS,
    PULSE,
    SECOND_PASS_KEY,
    Shape,
    shapes_of,
)
from greenwright.stats.dynamic import Held, Kernel, Pulse, Term, Window
from greenwright.stats.dynamic.separating import FEWEST_FLIPS
from greenwright.stats.hyper import HyperPrior

FEWEST_DAYS = 12
"""Days with an act from which its half-life is learned; fewer, and it stays as reported."""
APART = ("roll", "double_cut")
"""Acts whose effect may differ from green to green."""
BY_LOOK = ("roll", "double_cut", "brush", "mow")
"""Acts that are chosen by the look of the surface."""
LED, LED_WIDE = ".led", 10.0
"""Ending of the term that takes up what chosen doses seem to do beside the act's effect, and its
prior sd in sds of the effect: wide enough that only the tossed doses speak of the effect."""
USUAL_HEIGHT = "measure.height_of_cut.level"
_LEAST_DAYS = 0.3
_WEEK = 7


@dataclass(frozen=True, slots=True)
class Terms:
    """Terms of one outcome, and the priors of the hyper-parameters that they name."""

    terms: tuple[Term, ...]
    shapes: Mapping[str, HyperPrior]


def terms_of(work: Worked, quantity: str, *, method: str = "", acts: Iterable[str]) -> Terms:
    """Return the terms of an outcome.

    Args:
        work: doses on the calendar.
        quantity, method: the outcome.
        acts: those of the record or its plan; others that no plan may choose are left out.
    """
    wanted = {*acts, *PLANNED_ACTS}
    terms: list[Term] = []
    hypers: dict[str, HyperPrior] = {}
    for shape in shapes_of(quantity):
        if shape.act not in wanted:
            continue
        sign, learn = sign_of(quantity, method), work.days_done.get(shape.act, 0) >= FEWEST_DAYS
        made = _made(shape, _dose(shape, work), sign=sign, learn=learn)
        terms += [*made.terms, *_led(shape, work, quantity, learn=learn)]
        hypers |= made.shapes
    return Terms(tuple(terms), hypers)


def _led(shape: Shape, work: Worked, quantity: str, *, learn: bool) -> Iterator[Term]:
    """Yield what chosen work seems to do beside its effect, once some of it fell by toss.

    Where the choice is not modelled, work that followed the look of the surface is credited with
    what the look foretold. Tossed work is not; so the effect is learned from it alone.
    """
    fallen = work.tossed.get(shape.act)
    chosen = shape.act in BY_LOOK and shape.act not in MODELLED.get(quantity, ())
    if fallen is None or not chosen or tosses_of(work, shape.act) < FEWEST_FLIPS:
        return
    whole = _dose(shape, work)
    rest = whole * (1 - fallen) if shape.form == HELD else np.maximum(whole - fallen, 0.0)
    for term in _made(shape, rest, sign=1.0, learn=learn).terms:
        yield replace(term, name=term.name + LED, mean=0.0, sd=LED_WIDE * term.sd, apart=None)


def tosses_of(work: Worked, act: str) -> float:
    """Return how many tosses decided an act: one for each green and day, of a height and week."""
    return work.tosses.get(act, 0) / (_WEEK if act == "mow" else 1)


def sign_of(quantity: str, method: str) -> float:
    """Return -1 where a higher number of a firmness method is softer, else 1."""
    held = firmness_methods().get(method) if quantity == "firmness" else None
    return -1.0 if held is not None and held.higher_is == "softer" else 1.0


def names_of(shape: Shape) -> tuple[str, ...]:
    """Return the names of a shape's terms: the act, or its early and late parts."""
    if shape.form in (PHASES, HEALING):
        return (f"{shape.act}.early", f"{shape.act}.late")
    return (shape.act,)


def hyper_of(shape: Shape, time: str) -> str:
    """Return the name of the hyper-parameter of one of a shape's durations."""
    return f"{shape.act}.{time}"


def _dose(shape: Shape, work: Worked) -> Floats:
    if shape.form == HELD:
        usual = value(USUAL_HEIGHT)
        return (np.where(np.isnan(work.bench_mm), usual, work.bench_mm) - usual) / shape.reference
    return work.doses[shape.act]


def _made(shape: Shape, dose: Floats, *, sign: float, learn: bool) -> Terms:
    sizes = _sizes(shape, sign)
    if shape.form == HELD:
        return Terms((Term(shape.act, shape.practice, dose, Held(), *sizes[0]),), {})
    if learn and shape.form in (PULSE, PHASES):
        return _learning(shape, dose, sizes)
    return Terms(_still(shape, dose, sizes), {})


def _sizes(shape: Shape, sign: float) -> list[tuple[float, float]]:
    keys = [f"{shape.stem}.early" if shape.form == PHASES else shape.stem]
    if shape.form in (PHASES, HEALING):
        keys.append(f"{shape.stem}.late")
    return [(sign * value(key), look_up(key).sd or 1.0) for key in keys]


def _learning(shape: Shape, dose: Floats, sizes: list[tuple[float, float]]) -> Terms:
    """Return terms whose durations are learned."""
    hypers = {hyper_of(shape, t): _prior(k, shape, t) for t, k in time_keys(shape).items()}
    if shape.form == PULSE:
        kernels: tuple[Kernel, ...] = (Pulse(hyper_of(shape, "half_life_d")),)
    else:
        first, last = hyper_of(shape, "early_days"), hyper_of(shape, "late_days")
        kernels = (Window(None, first), Window(first, last, longest=shape.lasts_days))
    again = f"{shape.act}.again" if shape.act == "roll" and dose.max(initial=0.0) > 1 else None
    if again:
        least = value("learn.second_pass.least")
        hypers[again] = HyperPrior(max(value(SECOND_PASS_KEY), least), log_sd(SECOND_PASS_KEY))
    apart = _apart(sizes[0][1]) if shape.act in APART else None
    terms = tuple(
        Term(name, shape.practice, dose, kernel, *size, apart, again)
        for name, kernel, size in zip(names_of(shape), kernels, sizes, strict=True)
    )
    return Terms(terms, hypers)


def _still(shape: Shape, dose: Floats, sizes: list[tuple[float, float]]) -> tuple[Term, ...]:
    """Return terms whose durations stay as reported: their doses are spread over days here."""
    lags = np.arange(min(shape.lasts_days + 1, dose.shape[1]), dtype=float) + shape.delay
    times = {name: np.full((), value(key)) for name, key in time_keys(shape).items()}
    spread = [w for w in weights(shape, lags, times) if w is not None]
    return tuple(
        Term(name, shape.practice, lfilter(one, [1.0], dose, axis=1), Held(), *size)
        for name, one, size in zip(names_of(shape), spread, sizes, strict=True)
    )


def _prior(key: str, shape: Shape, time: str) -> HyperPrior:
    """Return the prior of a duration; phases count in days from the first morning that feels it."""
    wide = max(log_sd(key), 0.2)
    if time in ("early_days", "late_days"):
        return HyperPrior(max(value(key) - 1.0, _LEAST_DAYS), wide)
    return HyperPrior(value(key), wide)


def _apart(sd: float) -> HyperPrior:
    return HyperPrior(value("learn.apart.share") * sd, 0.8)
