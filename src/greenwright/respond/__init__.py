"""What practices do to the surface: effects as draws, and the path they make over days.

What learns from a record is in `learning`, what tells it in `rows`, `ahead` and `why`: they bring a
scientific library with them, which a plain question of today must not wait for.
"""

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
from greenwright.respond.shapes import HORIZONS, SHAPES, Shape, keys_of

__all__ = [
    "HORIZONS",
    "MEMORY_DAYS",
    "SHAPES",
    "Effect",
    "Responses",
    "Shape",
    "WorkPath",
    "curve",
    "keys_of",
    "lag_curves",
    "past_work",
    "plannable",
    "responses",
    "shift",
]
