"""The table of shapes: how each practice acts on each outcome. A new effect is one row."""

from __future__ import annotations

from dataclasses import dataclass

PULSE, PHASES, HELD = "pulse", "phases", "held"


@dataclass(frozen=True, slots=True)
class Shape:
    """How one act of a practice works on one outcome.

    Args:
        act: what is dosed (roll, double_cut, topdress, verticut, brush, mow).
        practice: the practice of the record it belongs to.
        outcome, unit: the quantity that moves, and its unit.
        form: pulse (at once, halving with half_life), phases (early, then late), or held (for as
            long as the height is held).
        stem: evidence keys of the size (`stem`, or `stem.early` and `stem.late`).
        half_life: evidence key of a pulse's half-life [d].
        reference, dose_unit: the dose that the size speaks of.
        lasts_days: days after which the effect is taken as gone.
        horizons: days after the act for which the effect is reported.
        leaf: held only: leaf grown since the last cut works like bench height.
    """

    act: str
    practice: str
    outcome: str
    unit: str
    form: str
    stem: str
    half_life: str = ""
    reference: float = 1.0
    dose_unit: str = "pass"
    lasts_days: int = 3
    horizons: tuple[int, ...] = (0,)
    leaf: bool = False


def _held(outcome: str, unit: str, *, leaf: bool) -> Shape:
    stem = f"effect.mow_height.{outcome}"
    held = {"reference": -0.25, "dose_unit": "mm", "horizons": (7,), "leaf": leaf}
    return Shape("mow", "mow", outcome, unit, HELD, stem, **held)  # type: ignore[arg-type]


def _pulse(
    act: str, outcome: str, unit: str, *, half_life: str, horizons: tuple[int, ...]
) -> Shape:
    stem = {"double_cut": "mow_double"}.get(act, act)
    practice, dose = ("mow", "extra cut") if act == "double_cut" else (act, "pass")
    keys = {"half_life": f"effect.{half_life}", "dose_unit": dose, "horizons": horizons}
    return Shape(act, practice, outcome, unit, PULSE, f"effect.{stem}.{outcome}", **keys)  # type: ignore[arg-type]


def _phases(act: str, outcome: str, unit: str, horizons: tuple[int, ...]) -> Shape:
    dose = {"topdress": (0.5, "L/m2")}.get(act, (1.0, "pass"))
    more = {"reference": dose[0], "dose_unit": dose[1], "lasts_days": 28, "horizons": horizons}
    return Shape(act, act, outcome, unit, PHASES, f"effect.{act}.{outcome}", **more)  # type: ignore[arg-type]


SHAPES: tuple[Shape, ...] = (
    _held("green_speed", "m", leaf=True),
    _held("smoothness", "score", leaf=True),
    _held("quality", "rating", leaf=False),
    _pulse("double_cut", "green_speed", "m", half_life="mow_double.half_life", horizons=(0, 1)),
    _pulse("double_cut", "smoothness", "score", half_life="mow_double.half_life", horizons=(0, 1)),
    _pulse("roll", "green_speed", "m", half_life="roll.half_life", horizons=(0, 1, 2)),
    _pulse(
        "roll", "smoothness", "score", half_life="roll.smoothness.half_life", horizons=(0, 1, 2)
    ),
    _phases("topdress", "green_speed", "m", (2, 7, 14)),
    _phases("topdress", "smoothness", "score", (2, 7, 14)),
    _phases("verticut", "green_speed", "m", (2, 7)),
    _phases("verticut", "smoothness", "score", (2, 7)),
    _pulse("brush", "green_speed", "m", half_life="brush.half_life", horizons=(1,)),
    _pulse("brush", "smoothness", "score", half_life="brush.half_life", horizons=(1,)),
)
"""Every effect of the first floor, by act and outcome."""

OUTCOMES: tuple[str, ...] = tuple(dict.fromkeys(s.outcome for s in SHAPES))
ACTS: tuple[str, ...] = tuple(dict.fromkeys(s.act for s in SHAPES))
HORIZONS: dict[str, tuple[int, ...]] = {"topdress": (2, 7), "verticut": (2, 7)}
"""Days ahead at which a planned act of a practice is told; the others on the day and the next."""

SECOND_PASS_KEY = "effect.roll.second_pass_share"
LEAF_KEY = "effect.leaf_extension"


def keys_of(shape: Shape) -> tuple[str, ...]:
    """Return the evidence keys that a shape rests on."""
    if shape.form == PHASES:
        parts = ("early", "early_days", "late", "late_days")
        return tuple(f"{shape.stem}.{part}" for part in parts)
    more = (shape.half_life,) if shape.half_life else ()
    leaf = (LEAF_KEY,) if shape.leaf else ()
    second = (SECOND_PASS_KEY,) if shape.act == "roll" else ()
    return (shape.stem, *more, *leaf, *second)
