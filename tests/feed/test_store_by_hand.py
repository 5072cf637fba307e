"""The store, the label, programmes side by side, studies and sand: sums on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import look_up, value
from greenwright.base.values import CrewRow, LabResult, Material, Work
from greenwright.feed import (
    caco3_per_100kg,
    clippings_nitrogen,
    combined_om,
    generic_names,
    holes,
    leaf_range,
    nitrogen_by_month,
    nozzle_flow,
    om_after,
    outside_guideline,
    oxide_factor,
    per_area,
    product_rate,
    published_acidity,
    sand_by_growth,
    sand_to_reach,
    soil_need,
    tank_load,
)
from greenwright.feed.claims import every_claim, touched
from greenwright.feed.dressing import sand_year
from greenwright.feed.materials import TRACE, Feedstuff, feedstuffs, shares_of
from greenwright.feed.plan import FeedPlan
from greenwright.feed.problem import Line
from greenwright.feed.program import solve
from greenwright.feed.programmes import as_advised, as_recorded, excess
from greenwright.feed.record import groups
from greenwright.feed.season import year_growth
from greenwright.feed.year import feed_year
from tests.feed.test_program import POTASH, SULFATE, UREA, plot, problem
from tests.feed.test_year import UREA as UREA_ROW
from tests.feed.test_year import feed, lab, record, touch

# -- elements and oxides

# Standard atomic weights, abridged (IUPAC 2021): O 15.999, P 30.974, K 39.098, Ca 40.078,
# Mg 24.305, S 32.06; each oxide's mass over that of the element in it.
OXIDES = {
    "P": (2 * 30.974 + 5 * 15.999) / (2 * 30.974),
    "K": (2 * 39.098 + 15.999) / (2 * 39.098),
    "Ca": (40.078 + 15.999) / 40.078,
    "Mg": (24.305 + 15.999) / 24.305,
    "S": (32.06 + 3 * 15.999) / 32.06,
}


@pytest.mark.parametrize("element", OXIDES)
def test_oxides_by_molar_masses(element: str) -> None:
    assert oxide_factor(element) == pytest.approx(OXIDES[element], rel=1e-6)


@pytest.mark.parametrize(
    ("element", "share"),
    # printed the other way round in tables of fertilisers: element in a gram of its oxide
    [("P", 0.4364), ("K", 0.8301), ("Ca", 0.7147), ("Mg", 0.6030)],
)
def test_elements_in_their_oxides_as_printed(element: str, share: float) -> None:
    assert 1 / oxide_factor(element) == pytest.approx(share, abs=1e-4)


@given(st.floats(0, 46), st.floats(0, 52), st.floats(0, 60), st.floats(0, 24))
def test_a_label_becomes_elements_and_goes_back(n: float, p: float, k: float, s: float) -> None:
    label = Material(material="x", n_pct=n, p2o5_pct=p, k2o_pct=k, s_pct=s)
    held = shares_of(label)
    assert 100 * held.get("N", 0.0) == pytest.approx(n)
    assert 100 * held.get("P", 0.0) * OXIDES["P"] == pytest.approx(p, abs=1e-6)
    assert 100 * held.get("K", 0.0) * OXIDES["K"] == pytest.approx(k, abs=1e-6)
    assert 100 * held.get("S", 0.0) == pytest.approx(s)


@pytest.mark.parametrize(
    ("rows", "name", "share"),
    [
        ({"fe_pct": 20.1, "s_pct": 11.5}, "Fe", 0.201),  # iron sulfate with seven waters
        ({"mn_pct": 32.5, "s_pct": 19.0}, "Mn", 0.325),  # manganese sulfate with one
        ({"mg_pct": 9.9, "s_pct": 13.0}, "Mg", 0.099),  # magnesium sulfate with seven
        ({"ca_pct": 23.3, "s_pct": 18.6}, "Ca", 0.233),  # gypsum with two: all by molar masses
    ],
)
def test_salts_by_their_share(rows: dict, name: str, share: float) -> None:
    assert shares_of(Material(material="x", **rows))[name] == pytest.approx(share)


# -- the store


@pytest.mark.parametrize(
    ("rate", "unit", "grams"),
    [
        (5.0, "g/m2", 5.0),
        (50.0, "kg/ha", 5.0),  # by hand: 10 kg/ha is 1 g/m2
        (1.0, "lb/1000ft2", 4.8824),  # by hand: 453.592 g on 92.903 m2
        (20.0, "L/ha", 2.6),  # by hand: 2 mL/m2 at 1.3 kg/L
        (3.0, "floz/1000ft2", 1.2415),  # by hand: 0.3183 mL/m2 each, at 1.3
        (None, "g/m2", None),
    ],
)
def test_the_label_s_rate_in_grams(rate: float | None, unit: str, grams: float | None) -> None:
    row = Material(
        material="x", n_pct=20, price=1.0, price_unit="per kg", density_kg_l=1.3,
        max_rate=rate, max_rate_unit=unit,
    )  # fmt: skip
    ((one,), _) = feedstuffs((row,))
    assert one.max_rate == (None if grams is None else pytest.approx(grams, rel=1e-4))


def test_a_price_per_litre_without_a_density_is_no_price() -> None:
    row = Material(material="liquid", n_pct=20, price=2.0, price_unit="per L")
    assert feedstuffs((row,)) == ((), ("liquid",))
    ((one,), none) = feedstuffs((replace(row, density_kg_l=1.25, stock=8.0),))
    assert none == () and one.stock_kg == pytest.approx(10.0)  # by hand: 8 L at 1.25


def test_a_trace_is_no_source_and_no_clash() -> None:
    trace = Feedstuff("x", {"N": 0.2, "Ca": TRACE / 2, "S": TRACE / 2}, 1.0)
    assert trace.share("Ca") == 0 == trace.share("Mg") and trace.clashes == ""
    assert Feedstuff("y", {"Ca": 0.19, "S": 0.1}, 1.0).clashes == "calcium"
    assert {SULFATE.clashes, POTASH.clashes, UREA.clashes} == {"sulfate", ""}
    assert Feedstuff("z", {"P": 0.2}, 1.0).clashes == "sulfate"  # phosphate, the same side


def test_what_the_label_says_goes_before_the_table() -> None:
    own = Material(
        material="urea", n_pct=46, price=1.0, price_unit="per kg", caco3_equivalent=-70.0,
        salt_index=60.0,
    )  # fmt: skip
    ((told,), _) = feedstuffs((own,))
    assert (told.caco3, told.salt_index) == (-70.0, 60.0)
    ((table,), _) = feedstuffs((UREA_ROW,))
    # "fertilizer acidity", extension ANR-174: urea -81; salt index list of 2001 values: 74.4
    assert (table.caco3, table.salt_index) == (-81.0, 74.4)
    ((strange,), _) = feedstuffs((replace(own, material="no such thing", caco3_equivalent=None),))
    assert strange.caco3 is None


@pytest.mark.parametrize(("form", "soluble"), [("granular", False), ("soluble", True), ("", True)])
def test_what_is_not_granular_is_sprayed(form: str, soluble: bool) -> None:
    ((one,), _) = feedstuffs((replace(UREA_ROW, form=form),))
    assert one.soluble is soluble


# -- programmes


def test_a_programme_as_given_by_hand() -> None:
    rows = (
        feed(date(2025, 7, 1), 2.0),
        feed(date(2025, 8, 1), 3.0, green="A", material="potassium sulfate"),
    )
    crew = (CrewRow(practice="feed", minutes=60.0, people=1.0, cost_per_h=20.0),)
    held = record(work=rows, crew=crew)
    stuff, _ = feedstuffs(held.materials)
    years = feed_year(held, 2026, stuff)
    days = (date(2025, 6, 11), date(2025, 12, 31))
    got = as_recorded(held, years, stuff, days=days, planned=False)
    # by hand over 1500 m2: 2 g everywhere of 46 %; 3 g on 1000 m2 of 50 % K2O and 18 % S
    assert got.supplies["N"] == pytest.approx(0.92)
    assert got.supplies["K"] == pytest.approx(3 * 0.5 / OXIDES["K"] * 1000 / 1500)
    assert got.supplies["S"] == pytest.approx(3 * 0.18 * 1000 / 1500)
    # 3 kg of each at 0.85 and 1.4; an hour for each of two passes on A and one on B
    assert got.cost == pytest.approx(3 * 0.85 + 3 * 1.4 + 3 * 20)
    assert got.passes == pytest.approx((2 * 1000 + 1 * 500) / 1500) and got.materials == 2
    # urea -81 kg CaCO3 per 100 kg: 2 g sour 1.62; salts 2 x 0.744 and 2 x 0.426
    assert got.caco3_g_m2 == pytest.approx(-1.62)
    assert got.salt_g_m2 == pytest.approx(2 * 0.744 + 2 * 0.426)
    assert as_recorded(held, years, stuff, days=days, planned=True) is None


def test_a_nutrient_told_by_name_is_paid_as_its_product() -> None:
    held = record(work=(feed(date(2025, 7, 1), 0.92, detail="as N"),))
    stuff, _ = feedstuffs(held.materials)
    days = (date(2025, 6, 11), date(2025, 12, 31))
    crewless = as_recorded(held, feed_year(held, 2026, stuff), stuff, days=days, planned=False)
    plain = record(work=(feed(date(2025, 7, 1), 2.0),))
    same = as_recorded(plain, feed_year(plain, 2026, stuff), stuff, days=days, planned=False)
    assert crewless.cost == pytest.approx(same.cost)  # by hand: 0.92 g of N is 2 g of urea
    assert crewless.supplies == pytest.approx(same.supplies)


def test_a_material_without_a_price_leaves_the_cost_unknown() -> None:
    held = record(work=(feed(date(2025, 7, 1), 2.0, material="kelp"),))
    stuff, _ = feedstuffs(held.materials)
    days = (date(2025, 6, 11), date(2025, 12, 31))
    got = as_recorded(held, feed_year(held, 2026, stuff), stuff, days=days, planned=False)
    assert got.cost is None and got.supplies["N"] == 0.0 and got.salt_g_m2 == 0.0


def test_the_advice_beside_it_by_hand() -> None:
    plots = (plot("A"), plot("B", area_m2=500.0, pass_cost=5.0))
    held = problem(UREA, SULFATE, plots=plots)
    lines = (Line("A", 0, "urea", 1.0, 2), Line("A", 0, "ammonium sulfate", 2.0, 2),
             Line("B", 1, "urea", 1.5, 1))  # fmt: skip
    plan = FeedPlan(held, lines, {}, (), (), 0.0, {}, 0.0)
    got = as_advised(plan, (date(2026, 6, 1), date(2026, 6, 30)))
    # by hand over 1500 m2: A 2 g urea and 4 g sulfate, B 1.5 g urea
    assert got.supplies["N"] == pytest.approx((1000 * (0.92 + 0.84) + 500 * 0.69) / 1500)
    assert got.supplies["S"] == pytest.approx(1000 * 0.96 / 1500)
    # 2.75 kg at 0.85, 4 kg at 0.6, two passes at 10 with both in the tank and one at 5
    assert got.cost == pytest.approx(2.75 * 0.85 + 4 * 0.6 + 20 + 5)
    assert got.passes == pytest.approx((2 * 1000 + 500) / 1500) and got.materials == 2
    assert got.caco3_g_m2 == pytest.approx(-(2750 * 0.81 + 4000 * 1.10) / 1500)
    assert as_advised(replace(plan, lines=()), got and (got.first, got.last)) is None


def test_what_rides_along_is_told_over_the_need_alone() -> None:
    held = problem(UREA, POTASH, plots=(plot(elements={"K": 0.83, "S": 0.1}),))
    lines = (Line("A", 0, "potassium sulfate", 2.0, 1),)
    plan = FeedPlan(held, lines, {}, (), (), 0.0, {}, 0.0)
    # by hand: 2 g bring 0.83 K, just the need, and 0.36 S where 0.1 is asked
    assert excess(plan) == {("A", "S"): pytest.approx(0.26)}


def test_the_same_need_costs_no_more_with_a_richer_store() -> None:
    one = plot(elements={"K": 1.0})
    poor = solve(problem(UREA, POTASH, plots=(one,)), gap=0.0)
    half = replace(POTASH, name="cheaper", price_kg=POTASH.price_kg / 2)
    rich = solve(problem(UREA, POTASH, half, plots=(one,)), gap=0.0)
    # by hand: 1/0.415 g/m2 on 1000 m2 are 2.41 kg, and each costs 0.70 less
    assert poor.objective - rich.objective == pytest.approx(1 / 0.415 * 0.7)
    assert not poor.short and not rich.short


# -- studies


@pytest.mark.parametrize(
    ("mg_kg", "told"),
    # "Potassium nutrition affects anthracnose", abstract: under 43 mg/kg; models 43 to 70
    [(30.0, True), (60.0, True), (70.0, False), (None, False)],
)
def test_low_potassium_under_annual_bluegrass(mg_kg: float | None, told: bool) -> None:
    grass = frozenset({"annual bluegrass"})
    keys = {c.key for c in touched(touch(grasses=grass, potassium_mg_kg=mg_kg))}
    assert ("claims.low_potassium_anthracnose" in keys) is told
    bent = {c.key for c in touched(touch(potassium_mg_kg=mg_kg))}
    assert "claims.low_potassium_anthracnose" not in bent  # the studies are of another grass


@pytest.mark.parametrize(("year", "text"), [(9.0, "comes to 9.0"), (12.0, "gives nitrogen")])
def test_poor_years_are_told_with_their_number(year: float, text: str) -> None:
    held = touch(grasses=frozenset({"annual bluegrass"}), elements=frozenset({"N"}),
                 nitrogen_year=year)  # fmt: skip
    (one,) = [c for c in touched(held) if c.key == "claims.low_nitrogen_anthracnose"]
    assert text in one.here


def test_what_conflicts_is_said_to_conflict() -> None:
    both = touch(grasses=frozenset({"bentgrass-bluegrass mix"}), elements=frozenset({"K"}))
    strengths = {c.key: c.strength for c in touched(both)}
    # strong on bentgrass; on annual bluegrass one thesis against a two-year trial
    assert strengths["claims.potassium_snow_mould"].startswith("strong")
    assert "conflict" in strengths["claims.potassium_snow_mould_bluegrass"]


def test_no_claim_advises_a_product() -> None:
    for key in every_claim():
        entry = look_up(key)
        told = " ".join([entry.label, *(str(v) for v in entry.value.values())]).lower()
        assert "fungicide" not in told and " apply " not in f" {told} "
        assert entry.value["study"] not in ("", "none read")


# -- sand and organic matter of a record


def om(percent: float, **more: object) -> LabResult:
    return lab("OM", percent, **({"unit": "%", "depth_cm": 2.0, "extractant": ""} | more))


def sand(*work: Work, rows: tuple[LabResult, ...] = ()) -> object:
    held = record(work=work, lab=rows)
    group = groups(held)[0]
    return sand_year(held, group, year_growth(held, 2026, group.grass), 2026)


def test_holes_are_taken_from_their_grid_where_no_area_is_written() -> None:
    core = Work(date=date(2026, 4, 1), green="A", practice="core", diameter_mm=12.0,
                spacing_mm=50.0, depth_mm=60.0)  # fmt: skip
    got = sand(core)
    # by hand: pi 12^2/(4 x 50 x 50) = 4.524 % and 2.714 L/m2 to 60 mm
    assert got.cored_pct == pytest.approx(4.524, abs=5e-4)
    assert got.fill_l_m2 == pytest.approx(2.714, abs=5e-4)
    blind = sand(replace(core, depth_mm=None))
    assert blind.fill_l_m2 is None and blind.cored_pct == got.cored_pct
    unmeasured = sand(replace(core, diameter_mm=None))
    assert unmeasured.cored_pct == 0.0


def test_only_this_year_s_finished_sand_counts() -> None:
    rows = [
        feed(day, 0.5, practice="topdress", status=status, green=green)
        for day, status, green in (
            (date(2026, 5, 1), "done", "all"), (date(2026, 5, 9), "done", "1"),
            (date(2025, 5, 1), "done", "all"), (date(2026, 5, 20), "declined", "all"),
            (date(2026, 7, 1), "planned", "all"),
        )
    ]  # fmt: skip
    got = sand(*rows)
    assert got.given == pytest.approx(0.5 + 0.25)  # by hand: green 1 is one of two


def test_sand_that_dilutes_is_solved_from_the_mixture() -> None:
    got = sand(rows=(om(6.0, date=date(2026, 2, 1)), om(9.0, date=date(2025, 2, 1))))
    assert got.om_pct == 6.0 and got.om_day == date(2026, 2, 1)
    # by hand: layer 100/(6/0.22 + 94/1.56) = 1.1425; t = 20 x 1.1425 x 2.7/(1.1425 x 2.7 +
    # 3.3 x 1.56) = 7.494 mm to come to 3.3 %
    assert got.dilute_mm == pytest.approx(7.494, abs=5e-3)
    assert om_after(6.0, 20.0, got.dilute_mm) == pytest.approx(3.3)
    assert sand(rows=(om(3.0),)).dilute_mm == 0.0
    assert sand().om_pct is None and sand().dilute_mm is None


def test_the_year_s_sand_by_growth_is_half_a_millimetre_a_full_month() -> None:
    months = sand_by_growth([0.0, 0.2, 0.61, 1.0])
    # "sand and GP", note, 2017: 75 kg/100 m2 at most, 0.5 mm; light dressings of 0.3 mm
    assert [m.sand_mm for m in months] == pytest.approx([0.0, 0.1, 0.305, 0.5])
    assert sum(m.sand_mm for m in months) * 1.5 == pytest.approx(1.3575)  # kg/m2 at 1.5


# -- refusals say what, where and what was expected


@pytest.mark.parametrize(
    ("call", "what", "expected"),
    [
        (lambda: nitrogen_by_month((1.0,) * 11, 2.0, "c3"), "11 monthly", "12, January first"),
        (lambda: nitrogen_by_month((1.0,) * 12, 11.0, "c3"), "11 g/m2", "0 to 10 g/m2"),
        (lambda: clippings_nitrogen(-3.0), "volume of -3", "0 or more mL/m2"),
        (lambda: clippings_nitrogen(1.0, "", 9.0), "9 % nitrogen", "0 to 8 %"),
        (lambda: caco3_per_100kg({"Fe": 20.0}), "Fe is not", "N, S, P, Cl"),
        (lambda: caco3_per_100kg({"N": 70.0, "S": 50.0}), "120 %", "at most 100 %"),
        (lambda: published_acidity("kelp"), "kelp", "urea"),
        (lambda: per_area(-1.0, depth_m=0.1, density_kg_m3=1500), "-1", "zero or more"),
        (lambda: soil_need("N", 1, 1, depth_m=0.1, density_kg_m3=1500), "'N'", "K | P | Ca"),
        (lambda: product_rate(1.0, 0.0), "grade of 0 %", "over 0, at most 100 %"),
        (lambda: tank_load(0.0, 400.0, 1.0), "tank cannot be 0", "more than zero"),
        (lambda: nozzle_flow(400.0, 0.0, 0.5), "speed cannot be 0", "more than zero"),
        (lambda: om_after(6.0, 20.0, 21.0), "21 mm of sand", "at most that depth"),
        (lambda: sand_to_reach(6.0, 20.0, 0.0), "of 0 %", "above 0"),
        (lambda: combined_om([(3.0, 0.0)]), "thickness", "at least one layer"),
        (lambda: holes(60.0, 50.0, 50.0), "60 mm at 50 x 50", "not wider"),
        (lambda: sand_by_growth([-0.1]), "growth potential", "0 to 1"),
    ],
)
def test_bad_input_says_what_and_what_was_expected(call: object, what: str, expected: str) -> None:
    with pytest.raises((BadInput, UnknownKey)) as caught:
        call()  # type: ignore[operator]
    assert what in caught.value.what and expected in caught.value.expected


@pytest.mark.parametrize(
    ("ph", "cec", "part"),
    [(5.4, None, "pH of 5.4"), (8.6, None, "pH of 8.6"), (7.0, 61.0, "exchange capacity")],
)
def test_where_the_guideline_is_silent_it_says_why(ph: float, cec: float | None, part: str) -> None:
    # the soils behind it: pH 5.5 to 8.5, at most 60 mmolc/kg (preprint, 2016)
    assert part in outside_guideline(ph, cec)
    assert outside_guideline(5.5, 60.0) == "" == outside_guideline(8.5, None)


def test_a_leaf_range_that_nobody_read_is_none() -> None:
    assert leaf_range("Mo", "creeping bentgrass") is None
    own = leaf_range("N", "creeping bentgrass")
    assert (own.verdict(own.low), own.verdict(own.high)) == ("usual", "usual")
    assert leaf_range("Fe", "creeping bentgrass").unit == "mg/kg"


def test_every_plain_material_of_the_table_has_a_salt_that_can_be_weighed() -> None:
    for name in generic_names():
        key = f"materials.{name.replace(' ', '_')}.salt_index"
        row = Material(material=name.upper(), n_pct=10, price=1.0, price_unit="per kg")
        ((one,), _) = feedstuffs((row,))
        try:
            assert one.salt_index == value(key)
        except UnknownKey:
            assert one.salt_index == 0.0
