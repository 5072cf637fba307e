"""What practices do to the surface: effects as draws, and the path they make over days."""

from greenwright.respond.learning import (
    Learned,
    LearnedOutcome,
    first_day,
    learn,
    learned_responses,
    model_of,
)
from greenwright.respond.path import MEMORY_DAYS, WorkPath, past_work
from greenwright.respond.responses import (
    Effect,
    Responses,
    curve,
    lag_curves,
    plannable,
    responses,
    shift,
)
from greenwright.respond.rows import EffectRow, effect_rows
from greenwright.respond.shapes import HORIZONS, SHAPES, Shape, keys_of

__all__ = [
    "HORIZONS",
    "MEMORY_DAYS",
    "SHAPES",
    "Effect",
    "EffectRow",
    "Learned",
    "LearnedOutcome",
    "Responses",
    "Shape",
    "WorkPath",
    "curve",
    "effect_rows",
    "first_day",
    "keys_of",
    "lag_curves",
    "learn",
    "learned_responses",
    "model_of",
    "past_work",
    "plannable",
    "responses",
    "shift",
]
