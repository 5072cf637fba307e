"""What practices do to the surface: effects as draws, and the path they make over days."""

from greenwright.respond.path import MEMORY_DAYS, WorkPath, past_work
from greenwright.respond.responses import Effect, Responses, curve, lag_curves, responses, shift
from greenwright.respond.rows import EffectRow, effect_rows
from greenwright.respond.shapes import HORIZONS, SHAPES, Shape, keys_of

__all__ = [
    "HORIZONS",
    "MEMORY_DAYS",
    "SHAPES",
    "Effect",
    "EffectRow",
    "Responses",
    "Shape",
    "WorkPath",
    "curve",
    "effect_rows",
    "keys_of",
    "lag_curves",
    "past_work",
    "responses",
    "shift",
]
