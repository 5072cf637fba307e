"""The calculator about acidity: what a material does to the soil, by its contents or its name."""

from __future__ import annotations

from greenwright.base.errors import BadInput
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.feed import (
    ACIDITY_KEYS,
    CHARGED,
    caco3_per_100kg,
    generic_names,
    published_acidity,
)

_PARTS = ("N", "S", "P", "Cl", "Ca", "Mg", "K", "Na")
assert set(_PARTS) == set(CHARGED)


def _acidity(given: Inputs) -> Inputs:
    shares = {
        e: 100 * given[f"{e.lower()}_pct"].number for e in _PARTS if f"{e.lower()}_pct" in given
    }
    if "material" in given and shares:
        raise BadInput(
            "a material and its contents were both given",
            expected="one of the two",
            do="Leave out the material, or the contents",
        )
    if "material" in given:
        return {"caco3_per_100kg": Given(published_acidity(given["material"].word)[0], "kg")}
    if not shares:
        raise BadInput("no content was given", expected="n_pct=46, or material=urea")
    return {"caco3_per_100kg": Given(caco3_per_100kg(shares), "kg")}


def _acidity_keys(given: Inputs) -> tuple[str, ...]:
    if "material" in given:
        return (published_acidity(given["material"].word)[1],)
    return ACIDITY_KEYS


ACIDITY = Calculator(
    name="acidity",
    title="Acidity of a material",
    question="Does this material make the soil sour, and how much lime undoes it?",
    arguments=(
        *(
            Argument(
                name=f"{element.lower()}_pct",
                label=f"{element} in it",
                help=f"share of {element} (the element, not its oxide), as 21 %",
                units=("1",),
                bare="%",
                low=0.0,
                high=1.0,
                optional=True,
            )
            for element in _PARTS
        ),
        Argument(
            name="material",
            label="Or a plain material",
            help="its published value, instead of the contents",
            kind="choice",
            choices=tuple(n for n in generic_names() if n not in ("iron sulfate",)),
            optional=True,
        ),
    ),
    outcomes=(
        Outcome(
            key="caco3_per_100kg",
            label="CaCO3 for 100 kg (below zero: it acidifies)",
            unit="kg",
        ),
    ),
    equation="−0.050045·[½N + S + P + Cl − Ca − Mg − K − Na], each in meq/100 g, P at valence 1",
    validity="taken up as the rule assumes; fully nitrified and leached, nitrogen acidifies more",
    more_evidence=_acidity_keys,
    examples=(
        WorkedExample(
            inputs={"n_pct": "20.5", "s_pct": "23.4"},
            expected={"caco3_per_100kg": -109.7},
            within=0.1,
            origin="by hand: ½·20.5·1000/14.007 = 731.8; 23.4·2000/32.06 = 1459.8; "
            "· 0.050045 = 109.7; published 110",
        ),
        WorkedExample(
            inputs={"n_pct": "13.85", "k_pct": "38.67"},
            expected={"caco3_per_100kg": 24.8},
            within=0.1,
            origin="by hand: (½·988.8 − 989.1)·0.050045 = −24.8, turned round; published 26",
        ),
        WorkedExample(
            inputs={"material": "urea"},
            expected={"caco3_per_100kg": -81.0},
            within=1e-9,
            origin="extension table ANR-174: 81 kg for 100 kg",
        ),
    ),
    compute=_acidity,
)
