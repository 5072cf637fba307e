"""The calculations obey their own algebra for any numbers, not only the worked ones."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from greenwright.base.errors import BadInput
from greenwright.desk.reckon import calculators, reckon

rolls = st.floats(1.2, 6.0)
temperatures = st.floats(-35, 50)
contents = st.floats(0, 900)
uses = st.floats(0, 60)


def speed(up: float, down: float) -> tuple[float, float]:
    got = reckon("two-way-speed", {"up": f"{up!r} m", "down": f"{down!r} m"}).result
    return got["level_speed"].number, got["slope"].number


@given(rolls, rolls)
def test_the_level_speed_lies_between_the_rolls(up: float, down: float) -> None:
    assume(2 * up * down / (up + down) <= 5.5)
    level, _ = speed(up, down)
    assert min(up, down) - 1e-12 <= level <= (up + down) / 2 + 1e-12


@given(rolls, rolls)
def test_swapping_the_rolls_turns_the_slope_round(up: float, down: float) -> None:
    assume(2 * up * down / (up + down) <= 5.5)
    (level, slope), (level_back, slope_back) = speed(up, down), speed(down, up)
    assert level == pytest.approx(level_back) and slope == pytest.approx(-slope_back)


@given(st.floats(1.2, 5.4))
def test_equal_rolls_are_the_speed_of_a_level_line(roll: float) -> None:
    assert speed(roll, roll) == (pytest.approx(roll), pytest.approx(0, abs=1e-12))


@given(
    rolls, rolls, st.sampled_from([("ft", 0.3048), ("in", 0.0254), ("cm", 0.01), ("yd", 0.9144)])
)
def test_the_unit_makes_no_difference(up: float, down: float, unit: tuple[str, float]) -> None:
    assume(2 * up * down / (up + down) <= 5.5)
    name, size = unit  # metres of one unit, by definition
    other = {"up": f"{up / size!r} {name}", "down": f"{down / size!r} {name}"}
    got = reckon("two-way-speed", other).result["level_speed"].number
    assert got == pytest.approx(speed(up, down)[0], rel=1e-9)


@given(temperatures)
def test_growth_potential_is_a_share_that_falls_both_ways(t_mean: float) -> None:
    def share(t: float, grass: str) -> float:
        got = reckon("growth-potential", {"t_mean": f"{t!r} degC", "grass": grass})
        return got.result["growth_potential"].number

    assert 0 <= share(t_mean, "c3") <= 1 and 0 <= share(t_mean, "c4") <= 1
    mirrored = 40 - t_mean  # by hand: the cool-season optimum is 20 degC
    if -40 <= mirrored <= 55:
        assert share(t_mean, "c3") == pytest.approx(share(mirrored, "c3"))
    if t_mean >= 31:
        assert share(t_mean, "c4") == 1


@given(contents, uses, contents)
def test_the_balance_is_linear_in_each_part(test: float, use: float, reserve: float) -> None:
    def balance(t: float, u: float, r: float) -> float:
        given_ = {"element": "P", "test": repr(t), "use": repr(u), "reserve": repr(r)}
        return reckon("soil-need", given_).result["balance"].number

    # by hand: 1 mg/kg is 0.15 g/m2 at 10 cm and 1.5 g/cm3
    assert balance(test, use, reserve) == pytest.approx(use + 0.15 * (reserve - test), abs=1e-9)


@given(st.floats(0, 1e4), st.sampled_from(["kg/ha", "lb/1000ft2", "lb/acre", "oz/1000ft2"]))
def test_a_rate_scales(amount: float, unit: str) -> None:
    one = reckon("rate", {"amount": f"1 {unit}"}).result["rate"].number
    many = reckon("rate", {"amount": f"{amount!r} {unit}"}).result["rate"].number
    assert many == pytest.approx(amount * one)


words = st.text(max_size=30)


@settings(max_examples=150)
@given(st.sampled_from(sorted(calculators())), st.data())
def test_whatever_is_typed_is_reckoned_or_refused_in_words(name: str, data: st.DataObject) -> None:
    typed = {a.name: data.draw(words, label=a.name) for a in calculators()[name].arguments}
    try:
        got = reckon(name, typed).as_dict()
    except BadInput as error:
        assert error.what and error.exit_code == 2
    else:
        assert got["valid"] is True
