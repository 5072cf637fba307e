"""Effects as draws, the curve of one act, and the shift that a path of work makes.

A learned posterior has the same shape: arrays of draws by green instead of by course.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import log_sd, look_up, value
from greenwright.base.values import Snapshot
from greenwright.respond.path import WorkPath
from greenwright.respond.shapes import (
    HEALING,
    HELD,
    LEAF_KEY,
    PHASES,
    PLANNED_ACTS,
    SECOND_PASS_KEY,
    SHAPES,
    SWELL,
    Shape,
    keys_of,
)
from greenwright.stats import normal_quantile

Floats = NDArray[np.float64]

TIMES = ("half_life_d", "onset_d", "early_days", "late_days")
"""Durations that an effect may have [d]."""


@dataclass(frozen=True, slots=True)
class Effect:
    """One effect as draws, each array (draws, greens) or (draws, 1).

    Args:
        shape: its row of the table.
        size: at the reference dose [outcome unit; of the log where the shape is one]; of the
            early phase where there are two.
        late: size of the late phase [outcome unit].
        half_life_d: of a pulse, of healing, or after a swell's top [d].
        onset_d: day on which a swell reaches its top [d].
        early_days, late_days: day up to which each phase holds [d].
    """

    shape: Shape
    size: Floats
    late: Floats | None = None
    half_life_d: Floats | None = None
    onset_d: Floats | None = None
    early_days: Floats | None = None
    late_days: Floats | None = None


@dataclass(frozen=True, slots=True)
class Responses:
    """What practices do here, as equally likely draws.

    Args:
        n_draws: how many draws each array holds.
        greens: keys of the greens along the second axis, in playing order.
        effects: (act, outcome) -> Effect.
        second_pass_share: share of a pass's gain that a further pass of the same day adds.
        leaf_mm_d: leaf extension at full growth [mm/d].
        basis: prior | model: what the draws rest on.
        share_local: (act, outcome) -> share of the effect learned from this record, 0..1.
    """

    n_draws: int
    greens: tuple[str, ...]
    effects: Mapping[tuple[str, str], Effect]
    second_pass_share: Floats
    leaf_mm_d: Floats
    basis: str
    share_local: Mapping[tuple[str, str], float]

    def effect(self, act: str, outcome: str) -> Effect:
        """Return one effect.

        Raises:
            UnknownKey: the table of shapes has no such row.
        """
        if (act, outcome) not in self.effects:
            known = ", ".join(f"{a} on {o}" for a, o in self.effects)
            raise UnknownKey(f"no effect of {act} on {outcome} is modelled", expected=known)
        return self.effects[act, outcome]

    @property
    def evidence_keys(self) -> tuple[str, ...]:
        """Return every evidence key that the draws rest on."""
        used = [key for e in self.effects.values() for key in keys_of(e.shape)]
        return tuple(dict.fromkeys(used))


def responses(snapshot: Snapshot, *, seed: int, n_draws: int = 200) -> Responses:
    """Return the effects as the evidence table has them: nothing is learned from the record yet.

    Sizes are normal, durations lognormal; no sign is forced. Draws are spread evenly over each
    distribution (one in each of n_draws equally likely slices), in an order set by the seed.

    Args:
        snapshot: the record, for its greens.
        seed: fixes the draws.
        n_draws: at least 2.

    Raises:
        BadInput: fewer than two draws.
    """
    if n_draws < 2:
        raise BadInput(f"effects need at least two draws, got {n_draws}")
    rng = np.random.default_rng([seed, 7])
    effects = {(s.act, s.outcome): _prior(s, rng, n_draws) for s in SHAPES}
    return Responses(
        n_draws=n_draws,
        greens=tuple(g.green for g in snapshot.greens),
        effects=effects,
        second_pass_share=_normal(SECOND_PASS_KEY, rng, n_draws),
        leaf_mm_d=_lognormal(LEAF_KEY, rng, n_draws),
        basis="prior",
        share_local=dict.fromkeys(effects, 0.0),
    )


def lag_curves(effect: Effect, lags: ArrayLike) -> Floats:
    """Return the effect of one reference dose, `lags` days later.

    Args:
        effect: a pulse or one of two phases; a held effect is flat while it is held.
        lags: days since the act [d], not negative.

    Returns:
        (draws, greens or 1, lags) [outcome unit], zero beyond lasts_days.
    """
    lag = np.asarray(lags, dtype=float)[None, None, :]
    times = {n: d[:, :, None] for n in TIMES if (d := getattr(effect, n)) is not None}
    early, late = weights(effect.shape, lag, times)
    curves = effect.size[:, :, None] * early
    if effect.late is not None and late is not None:
        curves = curves + effect.late[:, :, None] * late
    return curves


def weights(shape: Shape, lag: Floats, times: Mapping[str, Floats]) -> tuple[Floats, Floats | None]:
    """Return what one dose weighs some days later: its size, and its late size where it has one.

    Args:
        shape: its form.
        lag: days since the act [d].
        times: its durations [d], against which lag is broadcast.
    """
    if shape.form == HELD:
        return np.ones_like(lag), None
    within = (lag >= shape.delay) & (lag <= shape.lasts_days)
    age = np.maximum(lag - shape.delay, 0.0)
    if shape.form == PHASES:
        late = np.where((lag <= times["late_days"]) & within, 1.0, 0.0)
        early = np.where((lag <= times["early_days"]) & within, 1.0, 0.0)
        return early, late * (1 - early)
    if shape.form == SWELL:
        onset = times["onset_d"]
        falling = np.exp2(-np.maximum(lag - onset, 0.0) / times["half_life_d"])
        return np.where(within, np.minimum(lag / onset, 1.0) * falling, 0.0), None
    left = np.where(within, np.exp2(-age / times["half_life_d"]), 0.0)
    if shape.form == HEALING:
        return left, np.where(within & (lag <= times["late_days"]), 1.0 - left, 0.0)
    return left, None


def curve(
    responses: Responses, practice: str, outcome: str, *, dose: float, days: ArrayLike
) -> Floats:
    """Return the effect of one act on day 0 seen `days` later, mean over greens.

    Args:
        practice: an act of the table (roll, double_cut, topdress, verticut, brush, mow).
        dose: in the act's dose unit; for mow the change of height [mm] held from then on.
        days: days since the act [d].

    Returns:
        (draws, days) [outcome unit].

    Raises:
        UnknownKey: the table has no such effect.
    """
    effect = responses.effect(practice, outcome)
    effective = np.full((1, 1), dose / effect.shape.reference)
    if practice == "roll":
        effective = rolled_dose(responses, np.full((1, 1), dose))
    return np.mean(effective[:, :, None] * lag_curves(effect, days), axis=1)


def rolled_dose(responses: Responses, passes: Floats) -> Floats:
    """Return passes of one day as worth: the first counts full, each further one a share.

    Args:
        passes: (greens or 1, ...) broadcast against (draws, greens or 1).
    """
    share = responses.second_pass_share
    return np.minimum(passes, 1.0) + share * np.maximum(passes - 1.0, 0.0)


def shift(responses: Responses, path: WorkPath, outcome: str) -> Floats:
    """Return what a path of work adds to an outcome, day by day, against no work at all.

    Effects add, except passes of one day's rolling; the height part counts from bench height 0,
    so only differences between days or between paths of one green have a meaning. Effects on
    the log of an outcome are left out: they are ratios of a level that a shift does not know.

    Args:
        path: acts by green and day.
        outcome: a quantity; one that no effect moves gives zeros.

    Returns:
        (draws, greens, days) [outcome unit].
    """
    total = np.zeros((responses.n_draws, *path.mown.shape))
    rows = [responses.greens.index(g) for g in path.greens]
    for effect in (e for (_, o), e in responses.effects.items() if o == outcome):
        if effect.shape.log:
            continue
        if effect.shape.form == HELD:
            total += _held_shift(responses, effect, path, rows)
        elif np.any(path.doses.get(effect.shape.act, 0.0)):
            total += _dosed_shift(responses, effect, path, rows)
    return total


def plannable(responses: Responses) -> Responses:
    """Return the effects that a plan may reckon with: of acts it can choose, on plain scales."""
    kept = {
        key: effect
        for key, effect in responses.effects.items()
        if effect.shape.act in PLANNED_ACTS and not effect.shape.log
    }
    return replace(responses, effects=kept)


def green_rows(array: Floats, rows: list[int]) -> Floats:
    """Return the columns of the greens asked for; one shared column stays one."""
    return array if array.shape[1] == 1 else array[:, rows]


def _held_shift(responses: Responses, effect: Effect, path: WorkPath, rows: list[int]) -> Floats:
    height = np.nan_to_num(path.bench_mm)[None, :, :]
    if effect.shape.leaf:
        leaf = green_rows(responses.leaf_mm_d, rows)[:, :, None]
        height = height + leaf * path.growth_since_cut()[None, :, :]
    return green_rows(effect.size, rows)[:, :, None] * height / effect.shape.reference


def _dosed_shift(responses: Responses, effect: Effect, path: WorkPath, rows: list[int]) -> Floats:
    dose = path.doses[effect.shape.act]
    n_days = dose.shape[1]
    if effect.shape.act == "roll":
        share = green_rows(responses.second_pass_share, rows)[:, :, None]
        worth = np.minimum(dose, 1.0) + share * np.maximum(dose - 1.0, 0.0)
    else:
        worth = dose[None, :, :] / effect.shape.reference
    lags = np.arange(min(n_days - 1, effect.shape.lasts_days) + 1)
    curves = green_rows(lag_curves(effect, lags), rows)
    out = np.zeros((responses.n_draws, *dose.shape))
    for lag in lags:
        out[:, :, lag:] += curves[:, :, lag, None] * worth[:, :, : n_days - lag]
    return out


def _prior(shape: Shape, rng: np.random.Generator, n: int) -> Effect:
    two = shape.form in (PHASES, HEALING)
    size = _normal(f"{shape.stem}.early" if shape.form == PHASES else shape.stem, rng, n)
    late = _normal(f"{shape.stem}.late", rng, n) if two else None
    return Effect(
        shape, size, late, **{k: _lognormal(v, rng, n) for k, v in time_keys(shape).items()}
    )


def time_keys(shape: Shape) -> dict[str, str]:
    """Return the evidence keys of a shape's durations by their names in TIMES."""
    found = {"half_life_d": shape.half_life, "onset_d": shape.onset}
    if shape.form == PHASES:
        found["early_days"] = f"{shape.timing}.early_days"
    if shape.form in (PHASES, HEALING):
        found["late_days"] = f"{shape.timing}.late_days"
    return {name: key for name, key in found.items() if key}


def _normal(key: str, rng: np.random.Generator, n: int) -> Floats:
    entry = look_up(key)
    return float(entry.value) + (entry.sd or 0.0) * _even_normals(rng, n)  # type: ignore[arg-type]


def _lognormal(key: str, rng: np.random.Generator, n: int) -> Floats:
    """Draw a positive number whose median is the entry's value and relative spread its sd's."""
    return value(key) * np.exp(log_sd(key) * _even_normals(rng, n))


def _even_normals(rng: np.random.Generator, n: int) -> Floats:
    return normal_quantile((rng.permutation(n) + 0.5) / n)[:, None]
