"""Calculators of disease risk: an index of the weather, never an instruction to spray."""

from __future__ import annotations

from greenwright.base.evidence import look_up, value
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.weather.disease import (
    anthracnose,
    brown_patch,
    disease_models,
    dollar_spot,
)

_MODELS = {model.name: model for model in disease_models()}
_BEYOND = "outside it the model gives no answer"
_ONLY = "a risk day is information about the weather, never an instruction to spray"


def _ends(key: str, low: str = "low", high: str = "high") -> tuple[float, float]:
    held = look_up(key).value
    return float(held[low]), float(held[high])  # type: ignore[index,call-overload]


def _argument(
    name: str, label: str, text: str, *, unit: str, ends: tuple[float, float]
) -> Argument:
    low, high = ends
    return Argument(
        name=name, label=label, help=text, units=(unit,),
        bare="%" if unit == "1" else unit, low=low, high=high,
        beyond=f"Check the number and its unit: {_BEYOND}",
    )  # fmt: skip


def _threshold(name: str, high: float, text: str) -> Argument:
    return Argument(
        name="threshold", label="Threshold", help=text, units=("1",), bare="1", low=0.001,
        high=high, default=f"{_MODELS[name].threshold:g}",
    )  # fmt: skip


def _judged(key: str, index: float, given: Inputs) -> Inputs:
    return {
        key: Given(index, "1"),
        "above_threshold": Given(float(index >= given["threshold"].number), "1"),
    }


def _remarks(name: str) -> tuple[str, ...]:
    return (f"built on {_MODELS[name].host}", _ONLY)


_ABOVE = Outcome(
    key="above_threshold", label="A risk day (1 = yes, 0 = no)", unit="1", display="count"
)

DOLLAR_SPOT = Calculator(
    name="dollar-spot",
    title="Dollar spot risk",
    question="Do these five days favour dollar spot?",
    arguments=(
        _argument("rh_mean", "Mean humidity", "daily mean, averaged over five days", unit="1",
                  ends=(0.0, 1.0)),
        _argument("t_mean", "Mean temperature", "daily mean, averaged over five days",
                  unit="degC", ends=_ends("disease.dollar_spot.temperature_range")),
        _threshold("dollar_spot", 1.0, "0.20; 0.20 to 0.40 was tried on tolerant cultivars"),
    ),
    outcomes=(
        Outcome(key="probability", label="Chance by the model", unit="1", display="share"),
        _ABOVE,
    ),
    equation="logit p = −11.4041 + 0.0894·RH + 0.1932·T",
    validity="five-day means, 10 to 35 °C; creeping bentgrass",
    evidence=_MODELS["dollar_spot"].evidence_keys,
    examples=(
        WorkedExample(
            inputs={"rh_mean": "75", "t_mean": "20"},
            expected={"probability": 0.3026, "above_threshold": 1},
            within=5e-5,
            origin="by hand: −11.4041 + 6.705 + 3.864 = −0.8351; 1/(1 + e^0.8351) = 0.3026",
        ),
        WorkedExample(
            inputs={"rh_mean": "70 %", "t_mean": "59 degF"},
            expected={"probability": 0.0955, "above_threshold": 0},
            within=5e-5,
            origin="by hand: 59 °F is 15 °C; −2.2481; 1/(1 + e^2.2481) = 0.0955",
        ),
    ),
    compute=lambda given: _judged(
        "probability",
        float(dollar_spot(100 * given["rh_mean"].number, given["t_mean"].number)),
        given,
    ),
    remarks=lambda _, __: _remarks("dollar_spot"),
)  # fmt: skip

BROWN_PATCH = Calculator(
    name="brown-patch",
    title="Brown patch risk",
    question="Does this day favour brown patch?",
    arguments=(
        _argument("rh_mean", "Mean humidity", "daily mean", unit="1", ends=(0.0, 1.0)),
        _argument("t_min", "Lowest temperature", "of the day", unit="degC",
                  ends=_ends("disease.brown_patch.ranges", "temperature_low",
                             "temperature_high")),
        _threshold("brown_patch", 10.0, "6; one extension test prefers 5"),
    ),
    outcomes=(Outcome(key="index", label="Index", unit="1", display="rate"), _ABOVE),
    equation="E = −21.5 + 0.15·RH + 1.4·Tmin − 0.033·Tmin²",
    validity="ryegrass; shown for nights of 10 to 27 °C (the source's own range was not read)",
    evidence=_MODELS["brown_patch"].evidence_keys,
    examples=(
        WorkedExample(
            inputs={"rh_mean": "90", "t_min": "20"},
            expected={"index": 6.8, "above_threshold": 1},
            within=5e-4,
            origin="by hand: −21.5 + 13.5 + 28 − 13.2 = 6.8",
        ),
        WorkedExample(
            inputs={"rh_mean": "80", "t_min": "18", "threshold": "5"},
            expected={"index": 5.008, "above_threshold": 1},
            within=5e-4,
            origin="by hand: −21.5 + 12 + 25.2 − 10.692 = 5.008",
        ),
    ),
    compute=lambda given: _judged(
        "index", float(brown_patch(100 * given["rh_mean"].number, given["t_min"].number)), given
    ),
    remarks=lambda _, __: _remarks("brown_patch"),
)  # fmt: skip

_RANGES = "disease.anthracnose.ranges"

ANTHRACNOSE = Calculator(
    name="anthracnose",
    title="Anthracnose risk",
    question="Do these three days favour anthracnose?",
    arguments=(
        _argument("wet_hours", "Leaf wetness",
                  "hours a day, measured or modelled, averaged over three days", unit="h",
                  ends=_ends(_RANGES, "wet_low", "wet_high")),
        _argument("t_mean", "Mean temperature", "averaged over three days", unit="degC",
                  ends=_ends(_RANGES, "temperature_low", "temperature_high")),
        _threshold("anthracnose", value("disease.anthracnose.cap"), "2"),
    ),
    outcomes=(Outcome(key="index", label="Index", unit="1", display="rate"), _ABOVE),
    equation="ASI = 4.0233 − 0.2283·L − 0.5308·T − 0.0013·L² + 0.0197·T² + 0.0155·L·T; "
    "shown as 6 at most",
    validity="annual bluegrass; three-day means; never without measured or modelled leaf wetness",
    evidence=_MODELS["anthracnose"].evidence_keys,
    examples=(
        WorkedExample(
            inputs={"wet_hours": "15", "t_mean": "22"},
            expected={"index": 3.2785, "above_threshold": 1},
            within=5e-4,
            origin="by hand: 4.0233 − 3.4245 − 11.6776 − 0.2925 + 9.5348 + 5.115 = 3.2785",
        ),
        WorkedExample(
            inputs={"wet_hours": "10 h", "t_mean": "20 degC"},
            expected={"index": 1.9743, "above_threshold": 0},
            within=5e-4,
            origin="by hand: 4.0233 − 2.283 − 10.616 − 0.13 + 7.88 + 3.1 = 1.9743",
        ),
    ),
    compute=lambda given: _judged(
        "index", float(anthracnose(given["wet_hours"].number, given["t_mean"].number)), given
    ),
    remarks=lambda _, __: _remarks("anthracnose"),
)  # fmt: skip
