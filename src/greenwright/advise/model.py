"""The expected surface loss of many schedules of one unit, from the draws, remembered by state.

What a day costs depends only on the last days' passes and cuts, the height in force, the day of
the last cut, and the sanding and brushing before it; each such state is worked out once.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from greenwright.advise.loss import SCORED, band_loss
from greenwright.advise.targets import Band
from greenwright.advise.unit import (
    BRUSH,
    CUTS,
    EXTRAS,
    ROLLS,
    SAND,
    VERTICUT,
    Floats,
    Ints,
    Unit,
    height_places,
    last_cuts,
    price_of,
)
from greenwright.advise.world import START, World
from greenwright.base.evidence import value
from greenwright.base.tables import quantities
from greenwright.golfers import complaint_rate
from greenwright.respond import lag_curves, shift
from greenwright.respond.responses import green_rows

LAGS = 4
"""Days, the day itself included, on which a pass or an extra cut is still felt."""

CHUNK = 300_000
ACT = {SAND: "topdress", VERTICUT: "verticut", BRUSH: "brush"}


@dataclass(frozen=True, slots=True, eq=False)
class UnitModel:
    """One unit against the draws (all of them, or every `thin`-th).

    Args:
        unit: its choices.
        weights: (days,) over the greens in play; rounds: (days,) likewise, times their weight.
        base: quantity -> (draws, greens of the unit, days) without effect of plan or height.
        bands: quantity -> low, high, half, weight (greens, days).
        curves: (column, quantity) -> (draws, greens or 1, lags), of one pass or dose.
        second: share of a second pass (draws, greens or 1).
        slope: quantity -> (draws, greens or 1) per mm of height; leaf: mm at full growth.
        grown: (greens, days) growth potential summed; grown_now: (greens,) since the last cut.
        memory: day -> state -> expected loss; parts: shifts worked out once; kinds, histories:
            the histories of sanding and the like met so far, numbered from 1.
    """

    unit: Unit
    weights: Floats
    rounds: Floats
    base: dict[str, Floats]
    bands: dict[str, tuple[Floats, Floats, Floats, Floats]]
    curves: dict[tuple[int, str], Floats]
    second: Floats
    slope: dict[str, Floats]
    leaf: Floats
    grown: Floats
    grown_now: Floats
    memory: dict[int, dict[int, float]] = field(default_factory=dict)
    parts: dict[tuple[str, object, int], Floats] = field(default_factory=dict)
    kinds: dict[bytes, int] = field(default_factory=dict)
    histories: list[Ints] = field(default_factory=list)


def unit_model(unit: Unit, world: World, quiet: dict[str, Floats], *, thin: int = 1) -> UnitModel:
    """Return the model of a unit on every `thin`-th draw.

    Args:
        quiet: the fading effect of past work, as `shift_without_height` gives it.
    """
    n_greens, responses, rows = len(world.greens), world.responses, unit.rows
    take = slice(None, None, thin)
    own = [responses.greens.index(g) for g in unit.greens]
    held, curves, slope = {}, {}, {}
    for quantity in world.base:
        held[quantity] = (world.base[quantity] + quiet[quantity])[take, rows]
        for column in (CUTS, ROLLS, *EXTRAS):
            act = {CUTS: "double_cut", ROLLS: "roll"}.get(column) or ACT[column]
            if (act, quantity) in responses.effects:
                effect = responses.effects[act, quantity]
                lags = np.arange(LAGS if column in (CUTS, ROLLS) else unit.n_days)
                shape = green_rows(lag_curves(effect, lags), own)[take]
                curves[column, quantity] = shape / effect.shape.reference
        if ("mow", quantity) in responses.effects:
            effect = responses.effects["mow", quantity]
            slope[quantity] = green_rows(effect.size, own)[take] / effect.shape.reference
    days = world.days
    return UnitModel(
        unit,
        np.array([d.weight for d in days]) / n_greens,
        np.array([d.rounds for d in days]) * value("loss.complaint_weight") / n_greens,
        held,
        {
            q: (b.low[rows], b.high[rows], b.half[rows], b.weight[rows])
            for q, b in world.bands.items()
        },
        curves,
        green_rows(responses.second_pass_share, own)[take],
        slope,
        green_rows(responses.leaf_mm_d, own)[take],
        np.cumsum(world.path.growth[rows, START:], axis=1),
        world.path.growth_since_cut()[rows, START - 1],
    )


def _of_rows(band: Band, rows: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    return band.low[rows], band.high[rows], band.half[rows], band.weight[rows]


def shift_without_height(world: World) -> dict[str, Floats]:
    """Return the fading effect of past work on the days ahead, without its height part."""
    responses = world.responses
    out = {}
    for quantity in world.base:
        total = shift(responses, world.path, quantity)
        if ("mow", quantity) in responses.effects:
            alone = {("mow", quantity): responses.effects["mow", quantity]}
            total = total - shift(replace(responses, effects=alone), world.path, quantity)
        out[quantity] = total[:, :, START:]
    return out


def losses(model: UnitModel, plans: Ints) -> Floats:
    """Return the whole expected loss of schedules: surface, complaints, wear and cost (n,)."""
    return surface_losses(model, plans).sum(axis=1) + price_of(model.unit, plans).sum(axis=1)


def surface_losses(model: UnitModel, plans: Ints) -> Floats:
    """Return the expected loss of the surface, by schedule and day (n, days)."""
    codes = state_codes(model.unit, plans)
    out = np.empty(codes.shape)
    for day in range(model.unit.n_days):
        kinds = extras_kinds(model, plans[:, : day + 1, SAND:])
        out[:, day] = state_losses(model, day, codes[:, day], kinds)
    return out


def extras_kinds(model: UnitModel, extras: Ints) -> Ints:
    """Return one number for each history of sanding, verticutting and brushing (n,).

    Args:
        extras: (n, days so far, 3).
    """
    distinct, back = np.unique(extras.reshape(len(extras), -1), axis=0, return_inverse=True)
    return np.array([_kind(model, row) for row in distinct])[back.ravel()]


def _kind(model: UnitModel, history: Ints) -> int:
    """Return the number of one history; histories of nothing are all 0."""
    if not history.any():
        return 0
    key = history.tobytes()
    if key not in model.kinds:
        model.histories.append(history.reshape(-1, len(EXTRAS)))
        model.kinds[key] = len(model.histories)
    return model.kinds[key]


def state_codes(unit: Unit, plans: Ints) -> Ints:
    """Return one number for the state of each schedule on each day (n, days)."""
    rolled = recent(plans[:, :, ROLLS], base(unit, ROLLS))
    doubled = recent(np.maximum(plans[:, :, CUTS] - 1, 0), base(unit, CUTS))
    return join(unit, rolled, doubled, last=last_cuts(plans), place=height_places(unit, plans))


def base(unit: Unit, column: int) -> int:
    """Return how many values a column can take."""
    return int(unit.most[:, column].max()) + 1


def recent(passes: Ints, n: int) -> Ints:
    """Return the passes of the last LAGS days written as one number to the base n."""
    out = np.zeros_like(passes)
    for lag in range(min(LAGS, passes.shape[1])):
        out[:, lag:] += passes[:, : passes.shape[1] - lag] * n**lag
    return out


def join(unit: Unit, rolled: Ints, doubled: Ints, *, last: Ints, place: Ints) -> Ints:
    """Return the parts of a state as one number."""
    code = rolled * base(unit, CUTS) ** LAGS + doubled
    return (code * (unit.n_days + 1) + last + 1) * len(unit.heights) + place


def state_losses(model: UnitModel, day: int, codes: Ints, kinds: Ints) -> Floats:
    """Return the expected surface loss of states on a day (n,).

    Args:
        codes: states as `join` writes them (n,).
        kinds: histories as `extras_kinds` numbers them (n,), or one for all (1,).
    """
    known, whole = model.memory.setdefault(day, {}), kinds * n_states(model.unit) + codes
    distinct, back = np.unique(whole, return_inverse=True)
    keys = distinct.tolist()
    new = np.array([k for k in keys if k not in known], dtype=np.int64)
    size = max((level[:, :, 0].size for level in model.base.values()), default=1)
    step = max(CHUNK // size, 1)
    for start in range(0, len(new), step):
        some = new[start : start + step]
        known.update(zip(some.tolist(), _expected(model, day, some), strict=True))
    return np.array([known[k] for k in keys])[back.ravel()]


def n_states(unit: Unit) -> int:
    """Return how many numbers `join` may give."""
    passes = base(unit, ROLLS) ** LAGS * base(unit, CUTS) ** LAGS
    return passes * (unit.n_days + 1) * len(unit.heights)


def _expected(model: UnitModel, day: int, whole: Ints) -> list[float]:
    total = np.zeros(len(whole))
    kinds, codes = np.divmod(whole, n_states(model.unit))
    for quantity, levels in model.base.items():
        level = levels[None, :, :, day] + _moved(model, day, codes, quantity=quantity)
        if kinds.any():
            level += _gather(model, "extra", (quantity, day), kinds)
        window = quantities()[quantity]
        np.clip(level, window.low, window.high, out=level)
        low, high, half, weight = (part[:, day] for part in model.bands[quantity])
        expected = band_loss(level, low, high, half).mean(axis=1)
        total += model.weights[day] * (expected * weight).sum(axis=1)
        if quantity == SCORED and model.rounds[day] > 0:
            rate = np.asarray(complaint_rate(level))
            total += model.rounds[day] * rate.mean(axis=1).sum(axis=1)
    return total.tolist()


def _moved(model: UnitModel, day: int, codes: Ints, *, quantity: str) -> Floats:
    """Return the shift by rolls, extra cuts and height of states, (n, draws, greens)."""
    unit = model.unit
    rest, place = np.divmod(codes, len(unit.heights))
    rest, last = np.divmod(rest, unit.n_days + 1)
    rolled, doubled = np.divmod(rest, base(unit, CUTS) ** LAGS)
    out = _gather(model, "pass", (ROLLS, quantity), rolled)
    out = out + _gather(model, "pass", (CUTS, quantity), doubled)
    return out + _gather(model, "height", (quantity, day), last * len(unit.heights) + place)


def _gather(model: UnitModel, kind: str, key: object, codes: Ints) -> Floats:
    distinct, back = np.unique(codes, return_inverse=True)
    return np.stack([_part(model, kind, key, int(c)) for c in distinct])[back.ravel()]


def _part(model: UnitModel, kind: str, key: object, code: int) -> Floats:
    held = model.parts.get((kind, key, code))
    if held is None:
        make = {"height": _height_part, "extra": _extra_part}.get(kind, _pass_part)
        held = np.broadcast_to(make(model, key, code), _shape(model))
        model.parts[kind, key, code] = held
    return held


def _pass_part(model: UnitModel, key: object, code: int) -> Floats:
    """Return the shift by the passes or extra cuts of the last days, written as one number."""
    column, quantity = key  # type: ignore[misc]
    n, out = base(model.unit, column), np.zeros((1, 1))
    curves, lag = model.curves.get((column, quantity)), 0
    while code and curves is not None:
        code, passes = divmod(code, n)
        worth = passes
        if column == ROLLS:
            worth = min(passes, 1) + model.second * max(passes - 1, 0)
        out = out + worth * curves[:, :, lag]
        lag += 1
    return out


def _height_part(model: UnitModel, key: object, code: int) -> Floats:
    """Return the shift by the height in force and the leaf grown since the last cut."""
    quantity, day = key  # type: ignore[misc]
    last, place = divmod(code, len(model.unit.heights))
    if quantity not in model.slope:
        return np.zeros((1, 1))
    since = model.grown[:, day] + model.grown_now
    if last:
        since = model.grown[:, day] - model.grown[:, last - 1]
    bench = float(np.nan_to_num(model.unit.heights[place]))
    return model.slope[quantity] * (bench + model.leaf * since[None, :])


def _extra_part(model: UnitModel, key: object, code: int) -> Floats:
    """Return the shift by one history of sanding, verticutting and brushing."""
    quantity, day = key  # type: ignore[misc]
    out = np.zeros((1, 1))
    for sooner, row in enumerate(model.histories[code - 1] if code else ()):
        for column, choice in zip(EXTRAS, row.tolist(), strict=True):
            if choice and (column, quantity) in model.curves:
                dose = model.unit.sand_doses[choice] if column == SAND else choice
                out = out + dose * model.curves[column, quantity][:, :, day - sooner]
    return out


def _shape(model: UnitModel) -> tuple[int, int]:
    return (len(model.second), len(model.unit.greens))
