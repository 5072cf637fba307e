"""Calculators about feeding: a rate in another unit, and what the soil needs of an element."""

from __future__ import annotations

from greenwright.base.evidence import value
from greenwright.base.units import to_unit
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.feed import ELEMENTS, mehlich_minimum, soil_need

_SURPLUS = "the soil holds more than the use and the reserve: nothing is needed"
_FIRST = "arithmetic, not permission: the label and local rules come first"


def _rate(given: Inputs) -> Inputs:
    amount, wanted = given["amount"], given["to"].word
    return {
        "rate": Given(to_unit(amount.number, amount.unit, wanted), wanted),
        "rate_si": amount,
    }


RATE = Calculator(
    name="rate",
    title="Rate",
    question="What is this rate in the other unit?",
    arguments=(
        Argument(
            name="amount",
            label="Rate",
            help="with its unit: 0.1 lb/1000ft2, 5 kg/ha, 3 floz/1000ft2, 400 L/ha",
            units=("g/m2", "mL/m2"),
            low=0.0,
            high=1e5,
        ),
        Argument(
            name="to",
            label="Wanted unit",
            help="a unit of the same kind: g/m2, kg/ha, lb/1000ft2, lb/acre, mL/m2, L/ha",
            kind="unit",
            default="g/m2",
        ),
    ),
    outcomes=(
        Outcome(key="rate", label="Rate", unit="", display="rate"),
        Outcome(key="rate_si", label="The same in g/m2 or mL/m2", unit="", display="rate"),
    ),
    equation="1 lb/1000 ft² = 4.8824 g/m² = 48.824 kg/ha",
    validity="mass to mass and volume to volume; a density is never assumed",
    examples=(
        WorkedExample(
            inputs={"amount": "0.1 lb/1000ft2", "to": "g/m2"},
            expected={"rate": 0.48824, "rate_si": 0.48824},
            within=5e-6,
            origin="by hand: 45.359237 g / (1000·0.09290304 m2) = 0.48824 g/m2",
        ),
        WorkedExample(
            inputs={"amount": "1 g/m2", "to": "lb/1000ft2"},
            expected={"rate": 0.20482, "rate_si": 1.0},
            within=5e-6,
            origin="by hand: 92.90304 m2 · 1 g / 453.59237 g = 0.20482",
        ),
        WorkedExample(
            inputs={"amount": "1 floz/1000ft2", "to": "mL/m2"},
            expected={"rate": 0.3183, "rate_si": 0.3183},
            within=5e-5,
            origin="by hand: 29.5735 mL / 92.90304 m2 = 0.3183 (US fluid ounce)",
        ),
    ),
    compute=_rate,
)


def _need(given: Inputs) -> Inputs:
    element, left = given["element"].word, given.get("reserve")
    got = soil_need(
        element,
        given["test"].number,
        given["use"].number,
        reserve_mg_kg=mehlich_minimum(element) if left is None else left.number,
        depth_m=given["depth"].number,
        density_kg_m3=given["density"].number,
    )
    parts = ("need", "need_oxide", "balance", "use", "reserve", "present")
    return {part: Given(getattr(got, part), "g/m2") for part in parts}


def _need_remarks(given: Inputs, result: Inputs) -> tuple[str, ...]:
    element = given["element"].word
    spare = (_SURPLUS,) if result["balance"].number <= 0 else ()
    default = (
        (f"reserve: the Mehlich-3 minimum of {mehlich_minimum(element):g} mg/kg",)
        if "reserve" not in given
        else ()
    )
    return (*spare, *default, _FIRST)


SOIL_NEED = Calculator(
    name="soil-need",
    title="Soil need",
    question="How much of an element must be given, after what the soil holds?",
    arguments=(
        Argument(
            name="element",
            label="Element",
            help="K, P, Ca, Mg or S",
            kind="choice",
            choices=ELEMENTS,
        ),
        Argument(
            name="test",
            label="Soil test",
            help="Mehlich-3 content of the sampled layer",
            units=("mg/kg",),
            bare="mg/kg",
            low=0.0,
            high=20000.0,
        ),
        Argument(
            name="use",
            label="Use",
            help="what the grass will take up in the period",
            units=("g/m2",),
            bare="g/m2",
            low=0.0,
            high=200.0,
        ),
        Argument(
            name="reserve",
            label="Reserve",
            units=("mg/kg",),
            bare="mg/kg",
            low=0.0,
            high=5000.0,
            help="what is to stay in the soil; empty = the Mehlich-3 minimum",
            optional=True,
        ),
        Argument(
            name="depth",
            label="Depth",
            help="depth of the sampled layer",
            units=("m",),
            bare="cm",
            low=0.01,
            high=0.6,
            default=f"{value('soil.depth_default') * 100:g} cm",
        ),
        Argument(
            name="density",
            label="Bulk density",
            help="dry mass of a volume of the soil",
            units=("kg/m3",),
            bare="g/cm3",
            low=300.0,
            high=2200.0,
            default=f"{value('soil.bulk_density_default') / 1000:g} g/cm3",
        ),
    ),
    outcomes=(
        Outcome(key="need", label="Need", unit="g/m2", display="rate"),
        Outcome(
            key="need_oxide",
            label="The same as the oxide on the label",
            unit="g/m2",
            display="rate",
        ),
        Outcome(
            key="balance",
            label="Balance (below zero: more than wanted)",
            unit="g/m2",
            display="rate",
        ),
        Outcome(key="use", label="Use", unit="g/m2", display="rate"),
        Outcome(key="reserve", label="Reserve", unit="g/m2", display="rate"),
        Outcome(key="present", label="Present", unit="g/m2", display="rate"),
    ),
    equation="need = use + reserve − present;  1 mg/kg = depth·density g/m² (m, t/m³)",
    validity="Mehlich-3, pH 5.5 to 8.5; the minimum is a statistical guideline, not a trial",
    evidence=("soil.depth_default", "soil.bulk_density_default"),
    more_evidence=lambda given: (f"soil.mehlich3.{given['element'].word}.minimum",),
    examples=(
        WorkedExample(
            inputs={"element": "K", "test": "50", "use": "8", "reserve": "37"},
            expected={"need": 6.05, "need_oxide": 7.29, "reserve": 5.55, "present": 7.5},
            within=0.005,
            origin="turfgrass nutrition, slides of a talk, 2015, prints 6.1; by hand: "
            "8 + 37·0.15 − 50·0.15 = 6.05; 6.05/0.8301 = 7.29",
        ),
        WorkedExample(
            inputs={"element": "K", "test": "200 mg/kg", "use": "8", "depth": "4 in"},
            expected={"need": 0.0, "balance": 8 - 163 * 0.1524},
            within=0.005,
            origin="by hand: 0.1016 m · 1500 kg/m3 = 0.1524 g/m2 for 1 mg/kg; 37 − 200 = −163",
        ),
    ),
    compute=_need,
    remarks=_need_remarks,
)
