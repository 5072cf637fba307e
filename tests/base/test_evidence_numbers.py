"""Key numbers of the evidence table against the figures of their sources, worked again by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from greenwright.base.evidence import evidence, look_up, value

INCH = 0.0254  # m, by definition
FOOT = 0.3048  # m, by definition
POUND_PER_1000_FT2 = 453.59237 / (1000 * FOOT**2)  # g/m2, by definition of the pound

CUSTOMARY = [
    # key, the trade's figure, its unit in SI
    ("effect.roll.green_speed", 9, INCH),  # middle of 6 to 12 in, club notes
    ("effect.mow_double.green_speed", 7, INCH),  # middle of 4 to 10 in, memory
    ("effect.topdress.green_speed.early", -0.2, FOOT),  # elicited
    ("effect.topdress.green_speed.late", 0.2, FOOT),  # elicited
    ("effect.verticut.green_speed.early", -0.2, FOOT),  # elicited
    ("effect.brush.green_speed", -0.1, FOOT),  # elicited
    ("effect.core.green_speed", -0.3, FOOT),  # elicited
    ("notice.speed_low", 6, INCH),  # common practice
    ("notice.speed_threshold", 7, INCH),  # elicited
    ("notice.speed_high", 8, INCH),  # common practice
    ("measure.end_span_repeat", 8, INCH),  # ramp procedure
    ("measure.sd_between_greens", 0.3, FOOT),  # talk of 2018
    ("measure.roll_sd_within_set", 2, INCH),  # planning figure
    ("roll.release_speed", 6, FOOT),  # memory
    ("roll.ball_diameter", 1.68, INCH),  # rules of the game, through a case study
    ("roll.hole_diameter", 4.25, INCH),  # rules of the game, through a case study
    ("roll.past_hole", 17, INCH),  # the trade's rule
    ("players.half_made.tour", 8, FOOT),
    ("players.half_made.90", 5, FOOT),
    ("rates.foliar_weekly", 0.1, POUND_PER_1000_FT2),
    ("rules.example.maryland.soluble_n", 0.7, POUND_PER_1000_FT2),
]


@pytest.mark.parametrize(("key", "figure", "unit"), CUSTOMARY)
def test_customary_figures_are_entered_in_si(key: str, figure: float, unit: float) -> None:
    assert value(key) == pytest.approx(figure * unit, rel=2e-5)


@pytest.mark.parametrize(
    ("setting", "low", "high"),
    # Green speed bands in ft, common practice.
    [("daily-fee", 8, 9.5), ("member", 9.5, 10.5), ("event", 10.5, 12)],
)
def test_default_speed_bands(setting: str, low: float, high: float) -> None:
    band = table(f"targets.default.{setting}.green_speed")
    assert band == pytest.approx({"low": low * FOOT, "high": high * FOOT})


def table(key: str) -> dict[str, float]:
    held = look_up(key).value
    assert isinstance(held, Mapping)
    return dict(held)  # type: ignore[arg-type]


def row(key: str) -> tuple[float, ...]:
    held = look_up(key).value
    assert isinstance(held, tuple)
    return held


def test_lower_height_is_the_published_gain_per_quarter_millimetre() -> None:
    # By hand: 4.8 to 3.2 mm gave 0.2 m and 0.4 m, so 0.03125 and 0.0625 m for 0.25 mm.
    entry = look_up("effect.mow_height.green_speed")
    assert (entry.low, entry.high) == (0.2 / 1.6 * 0.25, 0.4 / 1.6 * 0.25)
    assert entry.value == pytest.approx(0.3 / 1.6 * 0.25)


def test_one_roll_is_gone_by_two_days() -> None:
    # Published: gone by 48 h; a tenth or less left.
    assert 2 ** (-2 / value("effect.roll.half_life")) <= 0.1


def test_loss_numbers_are_the_fixed_ones() -> None:
    keys = (
        "roll_pass",
        "extra_cut",
        "crew_hours_per_18",
        "labour_weight",
        "complaint_weight",
        "cap",
    )
    # The loss that plans are judged by, fixed for every course.
    assert [value(f"loss.{key}") for key in keys] == [0.10, 0.03, 4.5, 0.1, 0.1, 4]


def test_complaints() -> None:
    # One in 200 rounds; doubling for each point under 8.
    assert value("complaints.base_rate") == 0.005
    assert value("complaints.doubling_score") == 1
    assert value("complaints.score_threshold") == 8


def test_noticing_curve_passes_through_its_quarter_points() -> None:
    half, spread = value("notice.speed_threshold"), value("notice.speed_spread")
    for key, share in (("notice.speed_low", 0.25), ("notice.speed_high", 0.75)):
        z = (value(key) - half) / spread
        # 6 and 8 in read as 25 and 75 %; the normal curve from the error function.
        assert 0.5 * (1 + math.erf(z / math.sqrt(2))) == pytest.approx(share, abs=1e-6)


def test_rolling_resistance_follows_from_the_release_speed() -> None:
    # By hand: (5/7) rho g = v0^2 / (2 S), so rho S = 0.7 v0^2 / g; printed as 0.7832 ft.
    rho_times_speed = 0.7 * value("roll.release_speed") ** 2 / 9.80665
    assert rho_times_speed == pytest.approx(value("roll.resistance_times_speed"), rel=1e-4)


def test_release_speed_follows_from_the_ramp() -> None:
    radius = value("roll.ball_diameter") / 2
    rolling = math.sqrt(radius**2 - (value("roll.groove_contact") / 2) ** 2)
    tilt = math.radians(value("roll.release_angle"))
    drop = 2 * 9.80665 * value("roll.ramp_notch") * math.sin(tilt)
    exit_speed = math.sqrt(drop / (1 + 0.4 * (radius / rolling) ** 2))
    speed = exit_speed * (5 / 7 * math.cos(tilt) + 2 / 7 * radius / rolling)
    # Worked example: 1.829 m/s at 20 degrees.
    assert speed == pytest.approx(value("roll.release_speed_derived"), abs=5e-4)


def test_free_fall_limit() -> None:
    ball, hole = value("roll.ball_diameter") / 2, value("roll.hole_diameter") / 2
    # By hand: sqrt(g / 2R) (2 Rh - R); printed as 1.313 m/s.
    limit = math.sqrt(9.80665 / (2 * ball)) * (2 * hole - ball)
    assert limit == pytest.approx(value("roll.capture.free_fall_limit"), abs=5e-4)


@pytest.mark.parametrize(
    ("curve", "t_mean", "growth"),
    # Printed growth-potential table.
    [("c3", 10, 0.1915), ("c3", 25, 0.6615), ("c4", 15, 0.0734), ("c4", 25, 0.6926)],
)
def test_growth_constants_give_the_printed_table(curve: str, t_mean: float, growth: float) -> None:
    distance = (t_mean - value(f"growth.{curve}.optimum")) / value(f"growth.{curve}.width")
    assert math.exp(-(distance**2) / 2) == pytest.approx(growth, abs=5e-5)


@pytest.mark.parametrize("element", ["K", "P", "Ca", "Mg", "S"])
def test_soil_minimum_is_the_tenth_percentile_of_its_curve(element: str) -> None:
    base = f"soil.mehlich3.{element}"
    tenth = value(f"{base}.scale") * (0.1 / 0.9) ** (1 / value(f"{base}.shape"))
    # Minimum = b (0.1/0.9)^(1/k); published rounded to whole mg/kg.
    assert tenth == pytest.approx(value(f"{base}.minimum"), abs=0.5)


def test_soil_index_of_the_published_example() -> None:
    b, k = value("soil.mehlich3.K.scale"), value("soil.mehlich3.K.shape")
    # Published: potassium 117 mg/kg has index 0.18.
    assert 1 - 117**k / (b**k + 117**k) == pytest.approx(0.18, abs=0.005)


def test_mass_balance_of_the_worked_example() -> None:
    per_mg_kg = value("soil.depth_default") * value("soil.bulk_density_default") / 1000
    use = 16 * value("leaf.ratio_to_n.K")
    need = use + (value("soil.mehlich3.K.minimum") - 50) * per_mg_kg
    # Worked example: 16 g N/m2, 50 mg/kg present: 6.05 g K/m2, 7.29 g K2O/m2.
    assert need == pytest.approx(6.05)
    assert need / value("oxide.K") == pytest.approx(7.29, abs=0.005)


@pytest.mark.parametrize(
    ("key", "share"),
    [  # By hand from standard atomic masses: P 30.974, K 39.098, Ca 40.078, Mg 24.305,
        # S 32.06, N 14.007, O 15.999, H 1.008.
        ("oxide.P", 2 * 30.974 / (2 * 30.974 + 5 * 15.999)),
        ("oxide.K", 2 * 39.098 / (2 * 39.098 + 15.999)),
        ("oxide.Ca", 40.078 / (40.078 + 15.999)),
        ("oxide.Mg", 24.305 / (24.305 + 15.999)),
        ("oxide.SO4_S", 32.06 / (32.06 + 4 * 15.999)),
        ("oxide.NO3_N", 14.007 / (14.007 + 3 * 15.999)),
        ("oxide.NH4_N", 14.007 / (14.007 + 4 * 1.008)),
    ],
)
def test_oxide_factors(key: str, share: float) -> None:
    assert value(key) == pytest.approx(share, abs=1e-4)


def test_pierre_acidity_of_ammonium_sulfate() -> None:
    nitrogen, sulfur = 20.5 * 1000 / 14.007, 23.4 * 1000 * 2 / 32.06
    charge = value("acidity.nitrogen_share") * nitrogen + sulfur
    # Worked example: 20.5 N, 23.4 S gives 109.7; published 110.
    assert value("acidity.caco3_per_meq") * charge == pytest.approx(109.7, abs=0.1)
    assert value("materials.ammonium_sulfate.caco3_equivalent") == -110


def test_dollar_spot_chance() -> None:
    base = "disease.dollar_spot"
    logit = (
        value(f"{base}.intercept")
        + value(f"{base}.humidity") * 75
        + value(f"{base}.temperature") * 20
    )
    # Printed table: humidity 75 %, 20 degC.
    assert 1 / (1 + math.exp(-logit)) == pytest.approx(0.3026, abs=5e-5)


def test_brown_patch_index() -> None:
    c = table("disease.brown_patch.coefficients")
    index = c["constant"] + c["humidity"] * 90 + c["temperature"] * 20
    # Printed table: humidity 90 %, minimum 20 degC.
    assert index + c["temperature_squared"] * 400 == pytest.approx(6.8)


def test_anthracnose_index() -> None:
    c = table("disease.anthracnose.coefficients")
    wet, t_mean = 15, 22
    index = c["constant"] + c["wet"] * wet + c["temperature"] * t_mean
    index += c["wet_squared"] * wet**2 + c["temperature_squared"] * t_mean**2
    # Printed table: 15 wet hours a day, 22 degC.
    assert index + c["wet_temperature"] * wet * t_mean == pytest.approx(3.2785, abs=5e-5)


def test_every_disease_model_names_its_host() -> None:
    models = {key.split(".")[1] for key in evidence() if key.startswith("disease.")}
    assert all(f"disease.{model}.host" in evidence() for model in models)


def test_regulator_top_up_at_the_short_half_life() -> None:
    entry = look_up("regulator.trinexapac_ethyl.creeping_bentgrass.half_life_gdd")
    assert entry.low is not None
    # Worked example: 7 units, 100 degree days, half-life 116.
    assert 7 * (1 - 0.5 ** (100 / entry.low)) == pytest.approx(3.149, abs=5e-4)


def test_seedhead_curve_peaks_where_worked_out() -> None:
    c = table("regulator.seedhead")
    peak = -c["b"] / (2 * c["a"])
    # Worked out beside the source: peak 0.802 at 1046 degree days.
    assert peak == pytest.approx(1046, abs=0.5)
    assert c["a"] * peak**2 + c["b"] * peak + c["c"] == pytest.approx(0.802, abs=5e-4)


def test_layer_density() -> None:
    organic, mineral = value("om.density_organic"), value("om.density_mineral")
    # Printed table: 4 % organic matter has 1.254 g/cm3.
    assert 100 / (4 / organic + 96 / mineral) == pytest.approx(1254, abs=0.5)


def test_monthly_crop_coefficients_average_as_noted() -> None:
    # By hand: the rows average 0.79 and 0.65, not the printed 0.80 and 0.60.
    for kind, mean in (("c3", 0.79), ("c4", 0.65)):
        months = row(f"crop_coefficient.{kind}.monthly")
        assert len(months) == 12
        assert sum(months) / 12 == pytest.approx(mean, abs=0.005)


def test_yearly_sand_depth() -> None:
    # By hand: 20.3 ft3 over 1000 ft2 is 20.3/1000 ft deep.
    assert value("sand.yearly") == pytest.approx(20.3 / 1000 * FOOT * 1000, abs=0.005)


def test_smallest_randomisation_p() -> None:
    # By hand: 2 / C(2n, n) for n = 3, 4, 5; sign-flip 2 / 2^n for n = 5, 6.
    exact = [2 / math.comb(2 * n, n) for n in (3, 4, 5)]
    assert row("trial.smallest_p") == pytest.approx(exact, abs=5e-4)
    assert row("trial.smallest_p_sign_flip") == pytest.approx([2 / 32, 2 / 64], abs=1e-3)


def test_material_formulas() -> None:
    # By hand from standard atomic masses: MgSO4.7H2O is 246.47, CaCO3 100.09, CaSO4.2H2O 172.17.
    assert table("materials.magnesium_sulfate.grade")["mg_pct"] == pytest.approx(9.86, abs=0.05)
    assert table("materials.lime.grade")["ca_pct"] == pytest.approx(40.04, abs=0.05)
    assert table("materials.gypsum.grade")["ca_pct"] == pytest.approx(23.28, abs=0.05)


def test_no_grade_adds_up_over_the_whole() -> None:
    names = {key.split(".")[1] for key in evidence() if key.startswith("materials.")}
    for name in names:
        assert sum(table(f"materials.{name}.grade").values()) <= 100


def test_nitrogen_forms_are_shares() -> None:
    forms = [key for key in evidence() if key.endswith(".nitrogen_form")]
    assert forms
    assert all(sum(table(key).values()) == pytest.approx(1) for key in forms)
