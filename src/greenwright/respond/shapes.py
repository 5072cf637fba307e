"""The table of shapes: how each practice acts on each outcome. A new effect is one row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

PULSE, PHASES, HELD, HEALING, SWELL = "pulse", "phases", "held", "healing", "swell"


@dataclass(frozen=True, slots=True)
class Shape:
    """How one act of a practice works on one outcome.

    Args:
        act: what is dosed (a practice; or double_cut, a cut beyond the day's first).
        practice: the practice of the record it belongs to.
        outcome, unit: the quantity that moves, and its unit.
        form: pulse (at once, halving with half_life), phases (early, then late), held (for as
            long as the height is held), healing (a pulse that gives way to a late effect as it
            heals), swell (rises evenly to its size at onset, then halves with half_life).
        stem: evidence keys of the size (`stem`, or `stem.early` and `stem.late`; `stem` and
            `stem.late` where it heals).
        half_life, onset: evidence keys [d].
        timing: stem of `timing.early_days` and `timing.late_days`; healing: of late_days alone.
        reference, dose_unit: the dose that the size speaks of.
        lasts_days: days after which the effect is taken as gone.
        horizons: days after the act for which the effect is reported.
        leaf: held only: leaf grown since the last cut works like bench height.
        log: the size is a change of the natural log of the quantity, reported as a ratio.
        delay: days until it is first felt: 1 for work after the morning's readings.
    """

    act: str
    practice: str
    outcome: str
    unit: str
    form: str
    stem: str
    half_life: str = ""
    onset: str = ""
    timing: str = ""
    reference: float = 1.0
    dose_unit: str = "pass"
    lasts_days: int = 3
    horizons: tuple[int, ...] = (0,)
    leaf: bool = False
    log: bool = False
    delay: int = 0


UNITS = {
    "green_speed": "m",
    "smoothness": "score",
    "trueness_score": "score",
    "moisture": "%",
    "quality": "rating",
}
LOGS = {"trueness": "trueness_log", "firmness": "firmness_log", "clippings": "clippings_log"}
"""Outcomes whose effects are changes of the log, and the last word of their evidence keys."""

ROLL = ("green_speed", "smoothness", "trueness_score", "trueness")
"""What makes the roll of a ball."""


def _shapes(act: str, outcomes: Iterable[str], **same: object) -> Iterator[Shape]:
    stem = {"mow": "mow_height", "double_cut": "mow_double"}.get(act, act)
    for outcome in outcomes:
        told = LOGS.get(outcome, outcome)
        yield Shape(
            act=act,
            practice="mow" if act == "double_cut" else act,
            outcome=outcome,
            unit=UNITS.get(outcome, "1"),
            stem=f"effect.{stem}.{told}",
            log=outcome in LOGS,
            **{"form": PULSE} | same,  # type: ignore[arg-type]
        )


def _held(*outcomes: str, leaf: bool) -> Iterator[Shape]:
    return _shapes(
        "mow", outcomes, form=HELD, reference=-0.25, dose_unit="mm", horizons=(7,), leaf=leaf
    )


def _double(*outcomes: str) -> Iterator[Shape]:
    half = "effect.mow_double.half_life"
    return _shapes("double_cut", outcomes, half_life=half, dose_unit="extra cut", horizons=(0, 1))


def _roll(*outcomes: str, half_life: str = "effect.roll.half_life") -> Iterator[Shape]:
    return _shapes("roll", outcomes, half_life=half_life, horizons=(0, 1, 2))


def _phases(act: str, *outcomes: str, timing: str = "") -> Iterator[Shape]:
    dose = {"topdress": (0.5, "L/m2")}.get(act, (1.0, "pass"))
    horizons = (2, 7, 14) if act == "topdress" else (2, 7)
    more = {"reference": dose[0], "dose_unit": dose[1], "lasts_days": 28, "horizons": horizons}
    for made in _shapes(act, outcomes, form=PHASES, **more):
        yield replace(made, timing=f"effect.{act}.{timing or made.outcome}")


def _sanded(*outcomes: str) -> Iterator[Shape]:
    more = {"half_life": "effect.topdress.half_life", "lasts_days": 60, "delay": 1}
    dose = {"reference": 0.5, "dose_unit": "L/m2", "horizons": (2, 7, 14)}
    return _shapes("topdress", outcomes, **more, **dose)


def _cored(*outcomes: str, form: str = PULSE) -> Iterator[Shape]:
    dose = {"reference": 5.0, "dose_unit": "%", "horizons": (7, 21)}
    for made in _shapes("core", outcomes, form=form, lasts_days=90, delay=1, **dose):
        key = "green_speed" if made.outcome == "green_speed" else "smoothness"
        timing = "effect.core" if form == HEALING else ""
        yield replace(made, half_life=f"effect.core.{key}.half_life", timing=timing)


def _tined(act: str, share_pct: float) -> Iterator[Shape]:
    more = {"half_life": f"effect.{act}.half_life", "lasts_days": 14, "delay": 1}
    dose = {"reference": share_pct, "dose_unit": "%", "horizons": (1, 3)}
    return _shapes(act, (*ROLL, "firmness"), **more, **dose)


def _swelling(act: str, *outcomes: str, onset: str, **dose: object) -> Iterator[Shape]:
    times = {"onset": f"effect.{act}.{onset}", "half_life": f"effect.{act}.half_life"}
    return _shapes(
        act, outcomes, form=SWELL, lasts_days=60, delay=1, horizons=(7, 14), **times, **dose
    )


def _watered(act: str, reference: float) -> Iterator[Shape]:
    more = {"half_life": f"effect.{act}.half_life", "lasts_days": 14, "delay": 1}
    dose = {"reference": reference, "dose_unit": "mm", "horizons": (1, 3)}
    return _shapes(act, ("moisture", "green_speed", "firmness"), **more, **dose)


def _brushed(act: str, *outcomes: str, horizons: tuple[int, ...]) -> Iterator[Shape]:
    return _shapes(act, outcomes, half_life=f"effect.{act}.half_life", horizons=horizons)


_WET = {"half_life": "effect.wetting_agent.half_life", "lasts_days": 60, "delay": 1}
_SEED = {"half_life": "effect.overseed.half_life", "lasts_days": 60, "delay": 1}
_NITROGEN = {"onset": "peak_days", "reference": 0.5, "dose_unit": "g N/m2"}
_USUAL = {"onset": "onset_days", "dose_unit": "usual dose"}
_SMOOTH_HALF = "effect.roll.smoothness.half_life"

SHAPES: tuple[Shape, ...] = (
    *_held("green_speed", "smoothness", leaf=True),
    *_held("quality", leaf=False),
    *_double("green_speed", "smoothness"),
    *_roll("green_speed"),
    *_roll("smoothness", half_life=_SMOOTH_HALF),
    *_phases("topdress", "green_speed", "smoothness"),
    *_phases("verticut", "green_speed", "smoothness"),
    *_brushed("brush", "green_speed", "smoothness", horizons=(1,)),
    *_held("trueness_score", "trueness", leaf=True),
    *_held("firmness", "moisture", "clippings", leaf=False),
    *_double("trueness_score", "trueness", "clippings", "quality"),
    *_roll("trueness_score", "trueness", half_life=_SMOOTH_HALF),
    *_roll("firmness", "moisture", "clippings", "quality"),
    *_phases("topdress", "trueness_score", "trueness", timing="smoothness"),
    *_sanded("firmness", "moisture", "clippings"),
    *_phases("verticut", "trueness_score", "trueness", timing="smoothness"),
    *_shapes("verticut", ("clippings",), half_life="effect.verticut.half_life", lasts_days=28,
             delay=1, horizons=(2, 7)),
    *_brushed("brush", "trueness_score", "trueness", horizons=(1,)),
    *_brushed("groom", *ROLL, horizons=(0, 1)),
    *_cored("green_speed", "smoothness", form=HEALING),
    *_cored("trueness_score", "trueness", "firmness", "moisture", "clippings", "quality"),
    *_tined("solid_tine", 5.0),
    *_tined("needle_tine", 2.0),
    *_tined("slit", 2.0),
    *_swelling("feed", *ROLL, "clippings", "quality", **_NITROGEN),
    *_swelling("regulator", *ROLL, "clippings", **_USUAL),
    *_watered("irrigate", 5.0),
    *_watered("hand_water", 2.0),
    *_shapes("wetting_agent", ("green_speed", "firmness", "moisture"), dose_unit="usual dose",
             horizons=(7, 14), **_WET),
    *_shapes("overseed", ("smoothness",), reference=5.0, dose_unit="g/m2", horizons=(7, 14),
             **_SEED),
    *_shapes("mark_repair", ("smoothness",), half_life="effect.mark_repair.half_life",
             lasts_days=14, horizons=(0, 1)),
)  # fmt: skip
"""Every effect, by act and outcome."""

OUTCOMES: tuple[str, ...] = tuple(dict.fromkeys(s.outcome for s in SHAPES))
ACTS: tuple[str, ...] = tuple(dict.fromkeys(s.act for s in SHAPES))
PLANNED_ACTS: tuple[str, ...] = ("mow", "double_cut", "roll", "topdress", "verticut", "brush")
"""Acts that a plan may choose."""
HORIZONS: dict[str, tuple[int, ...]] = {"topdress": (2, 7), "verticut": (2, 7)}
"""Days ahead at which a planned act of a practice is told; the others on the day and the next."""

SECOND_PASS_KEY = "effect.roll.second_pass_share"
LEAF_KEY = "effect.leaf_extension"


def shapes_of(outcome: str) -> tuple[Shape, ...]:
    """Return the shapes that move an outcome, in the order of the table."""
    return tuple(s for s in SHAPES if s.outcome == outcome)


def keys_of(shape: Shape) -> tuple[str, ...]:
    """Return the evidence keys that a shape rests on, that of its size first."""
    if shape.form == PHASES:
        times = (f"{shape.timing}.early_days", f"{shape.timing}.late_days")
        return (f"{shape.stem}.early", times[0], f"{shape.stem}.late", times[1])
    more = tuple(key for key in (shape.half_life, shape.onset) if key)
    if shape.form == HEALING:
        more = (*more, f"{shape.stem}.late", f"{shape.timing}.late_days")
    leaf = (LEAF_KEY,) if shape.leaf else ()
    second = (SECOND_PASS_KEY,) if shape.act == "roll" else ()
    return (shape.stem, *more, *leaf, *second)
