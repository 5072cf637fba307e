"""Salt in water: against printed analyses, and the steps of the guideline table.

The three waters are those of a table in a trade magazine of golf courses, June 2013, that prints
their contents together with SAR and residual sodium carbonate.
"""

from __future__ import annotations

import pytest

from greenwright.base.errors import BadInput
from greenwright.weather.salts import (
    leaching_share,
    residual_carbonate,
    sodium_adsorption_ratio,
    soil_check,
    water_checks,
)

WATERS = [
    # EC, Mg, Ca, Na, HCO3 -> printed SAR, printed residual carbonate (None = not detected)
    (0.6, 9.8, 56.0, 48.0, 173.0, 1.55, None),
    (2.0, 20.5, 63.8, 230.0, 392.2, 6.41, 1.56),
    (3.5, 30.7, 101.0, 400.0, 607.0, 8.94, 2.38),
]


@pytest.mark.parametrize(("ec", "mg", "ca", "na", "hco3", "sar", "rsc"), WATERS)
def test_printed_analyses(ec, mg, ca, na, hco3, sar, rsc) -> None:
    assert sodium_adsorption_ratio(na, ca, mg) == pytest.approx(sar, abs=0.006)
    found = residual_carbonate(hco3, ca, mg)
    assert found < 0 if rsc is None else found == pytest.approx(rsc, abs=0.006)
    told = {s.what: s for s in water_checks({"EC": ec, "Mg": mg, "Ca": ca, "Na": na, "HCO3": hco3})}
    assert set(told) == {"EC", "SAR", "infiltration", "HCO3", "RSC"}
    assert told["SAR"].value == pytest.approx(sar, abs=0.006)


@pytest.mark.parametrize(
    ("sample", "what", "verdict"),
    [
        # Guideline table after FAO Irrigation and Drainage Paper 29
        ({"EC": 0.69}, "EC", "none"),
        ({"EC": 0.7}, "EC", "watch"),
        ({"EC": 3.0}, "EC", "watch"),
        ({"EC": 3.1}, "EC", "severe"),
        ({"SAR": 2.9}, "SAR", "none"),
        ({"SAR": 9.1}, "SAR", "severe"),
        ({"EC": 0.8, "SAR": 2.0}, "infiltration", "none"),
        ({"EC": 0.5, "SAR": 2.0}, "infiltration", "watch"),
        ({"EC": 0.1, "SAR": 2.0}, "infiltration", "severe"),
        ({"EC": 1.3, "SAR": 5.0}, "infiltration", "none"),
        ({"EC": 1.3, "SAR": 8.0}, "infiltration", "watch"),
        ({"EC": 0.4, "SAR": 8.0}, "infiltration", "severe"),
        ({"EC": 2.0, "SAR": 15.0}, "infiltration", "watch"),
        ({"EC": 2.0, "SAR": 30.0}, "infiltration", "severe"),
        ({"HCO3": 91.0}, "HCO3", "none"),
        ({"HCO3": 519.0}, "HCO3", "severe"),
        ({"pH": 7.0}, "pH", "none"),
        ({"pH": 8.5}, "pH", "watch"),
        ({"pH": 6.0}, "pH", "watch"),
    ],
)
def test_steps(sample: dict[str, float], what: str, verdict: str) -> None:
    assert {s.what: s.verdict for s in water_checks(sample)}[what] == verdict


def test_a_check_needs_what_it_is_made_of() -> None:
    assert water_checks({}) == ()
    assert [s.what for s in water_checks({"Na": 100.0, "Ca": 40.0})] == []
    assert [s.what for s in water_checks({"HCO3": 200.0, "Ca": 40.0})] == ["HCO3"]
    reported = water_checks({"SAR": 4.0, "Na": 1.0, "Ca": 40.0, "Mg": 9.0})
    assert reported[0].value == 4.0  # the laboratory's own goes before ours


def test_soil_salinity_by_grass() -> None:
    assert soil_check(3.2, "creeping bentgrass").verdict == "watch"
    assert soil_check(3.2, "bermudagrass").verdict == "none"
    assert soil_check(3.2, "zoysiagrass") is None


def test_leaching_by_hand() -> None:
    # 1.5 / (5·3 - 1.5) = 0.1111; all of it where the rule asks for more than there is
    assert leaching_share(1.5, 3.0) == pytest.approx(1 / 9)
    assert leaching_share(0.0, 3.0) == 0.0 and leaching_share(4.0, 1.0) == 1.0
    for slip in ((15.0, 3.0), (-1.0, 3.0), (1.0, 0.0)):
        with pytest.raises(BadInput):
            leaching_share(*slip)


def test_slips_are_refused() -> None:
    with pytest.raises(BadInput):
        sodium_adsorption_ratio(-1.0, 10.0, 10.0)
    with pytest.raises(BadInput):
        sodium_adsorption_ratio(10.0, 0.0, 0.0)
