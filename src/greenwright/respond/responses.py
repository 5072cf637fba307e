"""Effects as draws, the curve of one act, and the shift that a path of work makes.

A learned posterior has the same shape: arrays of draws by green instead of by course.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import log_sd, look_up, value
from greenwright.base.values import Snapshot
from greenwright.respond.path import WorkPath
from greenwright.respond.shapes import (
    HELD,
    LEAF_KEY,
    PULSE,
    SECOND_PASS_KEY,
    SHAPES,
    Shape,
    keys_of,
)
from greenwright.stats import normal_quantile

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Effect:
    """One effect as draws, each array (draws, greens) or (draws, 1).

    Args:
        shape: its row of the table.
        size: at the reference dose [outcome unit]; of the early phase where there are two.
        late: size of the late phase [outcome unit].
        half_life_d: of a pulse [d].
        early_days, late_days: day up to which each phase holds [d].
    """

    shape: Shape
    size: Floats
    late: Floats | None = None
    half_life_d: Floats | None = None
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
    size = effect.size[:, :, None]
    if effect.shape.form == HELD:
        return size * np.ones_like(lag)
    if effect.shape.form == PULSE:
        assert effect.half_life_d is not None
        curves = size * np.exp2(-lag / effect.half_life_d[:, :, None])
    else:
        assert effect.late is not None
        assert effect.early_days is not None and effect.late_days is not None
        late = np.where(lag <= effect.late_days[:, :, None], effect.late[:, :, None], 0.0)
        curves = np.where(lag <= effect.early_days[:, :, None], size, late)
    return np.where((lag >= 0) & (lag <= effect.shape.lasts_days), curves, 0.0)


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
    so only differences between days or between paths of one green have a meaning.

    Args:
        path: acts by green and day.
        outcome: a quantity; one that no effect moves gives zeros.

    Returns:
        (draws, greens, days) [outcome unit].
    """
    total = np.zeros((responses.n_draws, *path.mown.shape))
    rows = [responses.greens.index(g) for g in path.greens]
    for effect in (e for (_, o), e in responses.effects.items() if o == outcome):
        if effect.shape.form == HELD:
            total += _held_shift(responses, effect, path, rows)
        elif np.any(path.doses.get(effect.shape.act, 0.0)):
            total += _dosed_shift(responses, effect, path, rows)
    return total


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
    if shape.form == PULSE:
        size = _normal(shape.stem, rng, n)
        return Effect(shape, size, half_life_d=_lognormal(shape.half_life, rng, n))
    if shape.form == HELD:
        return Effect(shape, _normal(shape.stem, rng, n))
    return Effect(
        shape,
        _normal(f"{shape.stem}.early", rng, n),
        late=_normal(f"{shape.stem}.late", rng, n),
        early_days=_lognormal(f"{shape.stem}.early_days", rng, n),
        late_days=_lognormal(f"{shape.stem}.late_days", rng, n),
    )


def _normal(key: str, rng: np.random.Generator, n: int) -> Floats:
    entry = look_up(key)
    return float(entry.value) + (entry.sd or 0.0) * _even_normals(rng, n)  # type: ignore[arg-type]


def _lognormal(key: str, rng: np.random.Generator, n: int) -> Floats:
    """Draw a positive number whose median is the entry's value and relative spread its sd's."""
    return value(key) * np.exp(log_sd(key) * _even_normals(rng, n))


def _even_normals(rng: np.random.Generator, n: int) -> Floats:
    return normal_quantile((rng.permutation(n) + 0.5) / n)[:, None]
