"""Growth regulators by degree days, keyed by active, grass and base temperature."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.weather.degree_days import degree_days
from greenwright.weather.regulators import part_left, regulator_of, top_up

BENT, ULTRA = "creeping bentgrass", "ultradwarf bermudagrass"


def test_degree_days_by_hand() -> None:
    # (28 + 16) / 2 = 22 a day: 200 in 9.1 days; (12 + 4) / 2 = 8: 200 in 25 days
    warm, cool = degree_days([16.0], [28.0], 0.0)[0], degree_days([4.0], [12.0], 0.0)[0]
    assert (warm, cool) == (22.0, 8.0)
    assert (200 / warm, 200 / cool) == pytest.approx((9.09, 25.0), abs=0.005)
    # Base 10: (30 + 20) / 2 - 10 = 15; a day under the base gives none
    assert degree_days([20.0, 2.0], [30.0, 12.0], 10.0).tolist() == [15.0, 0.0]
    # Base -5 for seedheads: (10 + 0) / 2 + 5 = 10
    assert degree_days([0.0], [10.0], -5.0).tolist() == [10.0]


@pytest.mark.parametrize(("low", "high"), [([5.0], [4.0]), ([5.0, 6.0], [9.0])])
def test_degree_days_refuse_what_cannot_be(low: list[float], high: list[float]) -> None:
    with pytest.raises(BadInput) as caught:
        degree_days(low, high, 0.0)
    assert caught.value.where == "t_max"


def test_half_lives_by_hand() -> None:
    # 0.5^(200/116) = 0.3027, 0.5^(200/175) = 0.4529; trade article, growth regulators by degree
    # days, 2021, gives the half-lives
    assert part_left(200, 116) == pytest.approx(0.3027, abs=5e-5)
    assert part_left(200, 175) == pytest.approx(0.4529, abs=5e-5)
    assert part_left(116, 116) == 0.5 and part_left(0, 116) == 1.0
    # 7 units at 100 degree days: 7 (1 - 0.5^(100/116)) = 3.149
    assert top_up(7, 100, 116) == pytest.approx(3.149, abs=5e-4)


@given(st.floats(0, 2000), st.floats(1, 500), st.floats(0, 100))
def test_what_is_left_and_what_is_added_make_the_full_rate(
    gdd: float, half_life: float, rate: float
) -> None:
    left = part_left(gdd, half_life)
    assert 0 <= left <= 1
    assert top_up(rate, gdd, half_life) + rate * left == pytest.approx(rate)
    assert part_left(gdd + half_life, half_life) == pytest.approx(left / 2)


def test_trinexapac_on_bentgrass_has_three_states() -> None:
    held = regulator_of("trinexapac-ethyl", BENT)
    assert held is not None and (held.base_c, held.reapply_gdd, held.rebound_gdd) == (0, 200, 250)
    # ASA abstract 2009-55177: re-applied each 200 degree days; over control from 250 on
    told = {0: "suppressed", 199: "suppressed", 200: "fading", 249: "fading", 250: "rebound risk"}
    assert {gdd: held.state(gdd) for gdd in told} == told
    assert held.state(799) == "rebound risk" and held.state(800) == "worn off"
    middle, low, high = held.left(200)
    assert (low, high) == pytest.approx((0.3027, 0.4529), abs=5e-5) and low < middle < high


def test_other_actives_say_only_what_was_published() -> None:
    paclo = regulator_of("Paclobutrazol", BENT)
    assert (paclo.reapply_gdd, paclo.rebound_gdd) == (300.0, None)
    assert paclo.state(299) == "suppressed" and paclo.state(700) == "fading"  # no rebound read
    prohex = regulator_of("prohexadione-calcium", BENT)
    assert prohex.state(10) == "not known" and prohex.left(175)[0] == 0.5
    ultra = regulator_of("trinexapac ethyl", ULTRA)
    assert (ultra.base_c, ultra.reapply_gdd, ultra.half_life) == (10.0, 220.0, None)
    assert ultra.left(100) is None


@pytest.mark.parametrize(
    ("active", "grass"),
    [
        ("trinexapac-ethyl", "annual bluegrass"),
        ("trinexapac-ethyl", "bentgrass-bluegrass mix"),
        ("ethephon", BENT),
        ("", BENT),
    ],
)
def test_a_number_of_one_grass_is_never_used_for_another(active: str, grass: str) -> None:
    assert regulator_of(active, grass) is None


def test_the_material_s_own_half_life_goes_first() -> None:
    own = regulator_of("trinexapac-ethyl", BENT, half_life_gdd=130.0)
    assert own.left(130) == (0.5, 0.5, 0.5)


@pytest.mark.parametrize("slip", [(-1.0, 100.0), (10.0, 0.0), (10.0, -5.0), (float("nan"), 10.0)])
def test_slips_are_refused(slip: tuple[float, float]) -> None:
    with pytest.raises(BadInput):
        part_left(*slip)
    with pytest.raises(BadInput):
        top_up(-1.0, 10.0, 10.0)
