"""A year of feeding from a hand-made record: growth, limits, what was given, balances, the plan."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from greenwright.base.evidence import look_up, value
from greenwright.base.values import (
    Course,
    CrewRow,
    Green,
    LabResult,
    Limit,
    Material,
    Reading,
    Snapshot,
    Target,
    WeatherDay,
    Work,
)
from greenwright.feed.arrange import pass_cost, problem_of, still_needed
from greenwright.feed.check import broken
from greenwright.feed.claims import Touch, every_claim, touched
from greenwright.feed.dressing import sand_year
from greenwright.feed.limits import feed_limits
from greenwright.feed.materials import feedstuffs, shares_of, supplied
from greenwright.feed.plan import feed_plan
from greenwright.feed.programmes import as_advised, as_recorded, excess
from greenwright.feed.record import brought_by, clipped, feedings, groups, soil_tests, wanted_yield
from greenwright.feed.season import known_days, year_growth
from greenwright.feed.windows import half_months, opening
from greenwright.feed.year import feed_year

ON = date(2026, 6, 10)
UREA = Material(material="urea", form="soluble", n_pct=46, price=0.85, price_unit="per kg")
POTASH = Material(
    material="potassium sulfate",
    form="soluble",
    k2o_pct=50,
    s_pct=18,
    price=1.4,
    price_unit="per kg",
)
GREENS = (
    Green(green="1", group="A", area_m2=400.0, grass="creeping bentgrass"),
    Green(green="2", group="A", area_m2=600.0, grass="creeping bentgrass"),
    Green(green="3", group="B", area_m2=500.0, grass="bentgrass-bluegrass mix", rootzone="soil"),
)


def weather(t_c: float = 20.0, *, year: int = 2025, days: int = 365) -> tuple[WeatherDay, ...]:
    first = date(year, 1, 1)
    return tuple(
        WeatherDay(date=first + timedelta(days=k), t_min_c=t_c - 5, t_max_c=t_c + 5)
        for k in range(days)
    )


def lab(analyte: str, number: float, green: str = "1", **more) -> LabResult:
    held = {"date": date(2026, 3, 1), "medium": "soil", "unit": "mg/kg", "depth_cm": 10.0}
    return LabResult(
        analyte=analyte, value=number, green=green, **(held | {"extractant": "mehlich-3"} | more)
    )


def record(**more) -> Snapshot:
    held = {
        "greens": GREENS, "weather": weather(), "materials": (UREA, POTASH),
        "limits": (Limit(limit="n_application_g_m2", value=0.8),),
    } | more  # fmt: skip
    return Snapshot(course=Course(course="fen", name="Sedge Hill"), as_of=ON, **held)


def feed(day: date, amount: float, **more) -> Work:
    held = {"green": "all", "practice": "feed", "material": "urea", "unit": "g/m2"} | more
    return Work(date=day, amount=amount, **held)


# -- growth


def test_a_year_at_the_optimum_grows_fully_and_is_unseen_where_it_was_not() -> None:
    months = year_growth(record(), 2026, "creeping bentgrass")
    assert [m.growth for m in months] == pytest.approx([1.0] * 12)  # 20 degC is the optimum
    assert {m.unseen for m in months} == {1.0}  # all of it is last year's weather
    seen = year_growth(record(), 2025, "creeping bentgrass")
    assert {m.unseen for m in seen} == {0.0}
    assert seen[6].t_mean_c == pytest.approx(20.0) and seen[6].t_max_c == pytest.approx(25.0)


def test_growth_is_the_mean_of_the_days_not_of_their_mean() -> None:
    days = (*weather(9.5, days=15), *weather(20.5, year=2025, days=31)[15:])
    (january, *rest) = year_growth(record(weather=days), 2025, "creeping bentgrass")
    # by hand: exp(-1/2(10.5/5.5)^2) = 0.1617 on 15 days, exp(-1/2(0.5/5.5)^2) = 0.9959 on 16
    assert january.growth == pytest.approx((15 * 0.16165 + 16 * 0.99588) / 31, abs=1e-4)
    assert rest == [None] * 11


def test_a_forecast_is_used_and_an_observation_goes_before_it() -> None:
    day = date(2026, 6, 12)
    rows = [
        WeatherDay(date=day, kind="forecast", issued=date(2026, 6, 1), t_mean_c=5.0),
        WeatherDay(date=day, kind="forecast", issued=date(2026, 6, 9), t_mean_c=12.0),
        WeatherDay(date=day, kind="forecast", issued=date(2026, 6, 11), t_mean_c=30.0),  # not yet
    ]
    assert known_days(record(weather=tuple(rows)))[day].t_mean == 12.0
    assert known_days(record(weather=(WeatherDay(date=day, t_mean_c=1.0),))) == {}  # in the future


# -- what the record holds


def test_groups_and_their_areas() -> None:
    a, b = groups(record())
    assert (a.key, a.greens, a.area_m2, a.assumed) == ("A", ("1", "2"), 1000.0, False)
    assert b.grass == "bentgrass-bluegrass mix" and b.rootzone == "soil"
    bare = groups(record(greens=(Green(green="9"),)))[0]
    assert bare.assumed and bare.area_m2 == pytest.approx(value("labour.greens_area_18") / 18)


def test_what_was_given_is_spread_over_the_group() -> None:
    held = record(
        work=(
            feed(date(2026, 4, 1), 2.0),
            feed(date(2026, 5, 1), 1.0, green="1"),
            feed(date(2026, 5, 2), 0.5, detail="as N"),
            feed(date(2026, 5, 3), 9.0, status="declined"),
            feed(date(2026, 7, 1), 2.0, status="planned"),
        )
    )
    a, b = groups(held)
    year = (date(2026, 1, 1), date(2026, 12, 31))
    # by hand: 2 x 0.46 + 1 x 0.46 x 400/1000 + 0.5 + planned 2 x 0.46
    assert brought_by(feedings(held, a, *year), "N") == pytest.approx(0.92 + 0.184 + 0.5 + 0.92)
    assert brought_by(feedings(held, b, *year), "N") == pytest.approx(0.92 + 0.5 + 0.92)
    assert [g.planned for g in feedings(held, b, *year)] == [False, False, True]


def test_a_mehlich_test_is_not_put_aside_for_one_without_thresholds() -> None:
    later = lab("K", 9.0, extractant="olsen", date=date(2026, 5, 1))
    (one,) = soil_tests(record(lab=(lab("K", 50.0), later)), "K")
    assert (one.mg_kg, one.extractant) == (50.0, "mehlich-3")


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({}, ""),
        ({"work": (feed(ON, 1.0, practice="regulator"),)}, "regulator"),
        ({"work": (feed(ON - timedelta(days=40), 1.0, practice="regulator"),)}, ""),
        ({"dry": 6.0}, "drought"),
        ({"sick": 4.0}, "disease"),
    ],
)
def test_what_suspends_the_correction_by_clippings(more: dict, why: str) -> None:
    def read(kind: str, number: float) -> Reading:
        return Reading(date=ON, green="1", kind=kind, value=number, unit="")

    kinds = {"dry": "moisture", "sick": "disease"}
    rows = [read(kinds[name], more[name]) for name in kinds if name in more]
    held = record(readings=(read("clippings", 12.0), *rows), work=more.get("work", ()))
    got = clipped(held, groups(held)[0])
    assert got.yield_ml_m2 == 12.0 and (why in got.suspended) and bool(got.suspended) == bool(why)


def test_the_wanted_yield_is_the_course_s_own() -> None:
    held = record(targets=(Target(quantity="clippings", low=10.0, high=20.0),))
    assert wanted_yield(held, groups(held)[0]) == 15.0
    assert wanted_yield(record(), groups(record())[0]) is None


def test_materials_as_elements() -> None:
    assert shares_of(POTASH)["K"] == pytest.approx(0.5 * 0.8301, abs=1e-4)  # K in K2O
    used, unpriced = feedstuffs((UREA, POTASH, Material(material="sand", price=0.03),
                                 Material(material="kelp", n_pct=3)))  # fmt: skip
    assert [m.name for m in used] == ["urea", "potassium sulfate"] and unpriced == ("kelp",)
    assert used[0].salt_index == value("materials.urea.salt_index")
    assert used[0].caco3 == value("materials.urea.caco3_equivalent")
    assert supplied(used[0], 2.0) == {"N": pytest.approx(0.92)}
    liquid = Material(
        material="liquid", n_pct=20, price=2.0, price_unit="per L", density_kg_l=1.25,
        max_rate=10, max_rate_unit="L/ha", pack=20,
    )  # fmt: skip
    (one,), _ = feedstuffs((liquid,))
    # by hand: 2/1.25 a kg; 10 L/ha is 1 mL/m2, 1.25 g; 20 L are 25 kg
    assert (one.price_kg, one.max_rate, one.pack_kg) == pytest.approx((1.6, 1.25, 25.0))


# -- limits and windows


def test_the_strictest_limit_of_a_day_holds() -> None:
    rows = (
        Limit(limit="n_application_g_m2", value=0.8),
        Limit(
            limit="n_application_g_m2", value=0.5, from_=date(2026, 7, 1), until=date(2026, 8, 31)
        ),
        Limit(limit="p_allowed", value=0, green="B"),
        Limit(limit="buffer_m", value=5),
    )
    held = record(limits=rows)
    a, b = (feed_limits(held, g.greens) for g in groups(held))
    assert a.application(date(2026, 6, 1), hot=True) == (0.8, False)
    assert a.application(date(2026, 7, 5), hot=False) == (0.5, False)
    assert (a.p_allowed, b.p_allowed, a.buffer_m) == (None, False, 5)


def test_the_default_of_one_pass_is_halved_in_heat() -> None:
    held = feed_limits(record(limits=()), ("1",))
    assert held.application(ON, hot=False) == (1.0, True)  # common practice: 1 g, half in heat
    assert held.application(ON, hot=True) == (0.5, True)


def test_a_shut_window_has_no_pass() -> None:
    (window,) = half_months(date(2026, 7, 1), date(2026, 7, 15), {7: (1.0, 31.0)})
    assert window.hot and window.month == 7
    shut = Limit(limit="no_feed", from_=date(2026, 7, 1), until=date(2026, 7, 12))
    got = opening(window, feed_limits(record(limits=(shut,)), ("1",)))
    assert (got.first, got.last, got.passes, got.shut) == (date(2026, 7, 13), window.last, 1, 12)
    closed = Limit(limit="no_work", from_=date(2026, 7, 1), until=date(2026, 7, 31))
    assert opening(window, feed_limits(record(limits=(closed,)), ("1",))).passes == 0
    assert half_months(date(2026, 8, 2), date(2026, 8, 1), {8: (1, None)}) == ()


# -- the year


def test_the_year_of_a_full_summer() -> None:
    a, b = feed_year(record(work=(feed(date(2026, 4, 1), 2.0),)), 2026)
    assert a.nitrogen.value == pytest.approx(24.0)  # by hand: 12 x 2 at full growth
    assert b.nitrogen.value == pytest.approx(30.0)  # by hand: 12 x 2.5, the mean of 2 and 3
    assert a.months[3].given == pytest.approx(0.92)
    assert {h.need.verdict for h in a.elements} == {"test first"}


def test_a_balance_is_use_and_reserve_less_the_soil_and_what_was_given() -> None:
    rows = (lab("K", 50.0, date=date(2025, 12, 31)), lab("K", 50.0, "2", date=date(2025, 12, 31)))
    held = record(lab=rows, work=(feed(date(2026, 5, 1), 4.0, material="potassium sulfate"),))
    stuff, _ = feedstuffs(held.materials)
    potassium = next(h for h in feed_year(held, 2026, stuff)[0].elements if h.need.element == "K")
    # by hand: 24 g of nitrogen at half is 12; 37 and 50 mg/kg at 0.15; 4 g of K2O half: 1.66
    assert potassium.need.use.value == pytest.approx(12.0)
    assert potassium.need.balance.value == pytest.approx(12 + 5.55 - 7.5 - 4 * 0.41507, abs=1e-3)
    assert potassium.need.verdict == "needed" and not potassium.borrowed


def test_a_grass_without_a_ceiling_takes_the_limit_that_was_entered() -> None:
    green = (Green(green="1", group="A", area_m2=500.0, grass="seashore paspalum"),)
    assert feed_year(record(greens=green), 2026)[0].months == ()
    limits = (Limit(limit="n_month_g_m2", value=3.0),)
    entered = feed_year(record(greens=green, limits=limits, weather=weather(32.0)), 2026)[0]
    assert entered.ceiling.g_m2 == 3.0 and entered.nitrogen.value == pytest.approx(36.0)


def test_a_foreign_extractant_is_said_and_sour_soil_is_outside() -> None:
    rows = (lab("K", 50.0, extractant="olsen"), lab("pH", 5.0, extractant="water", unit=""))
    year = feed_year(record(lab=rows), 2026)[0]
    potassium = next(h for h in year.elements if h.need.element == "K")
    assert potassium.need.verdict == "test first" and "olsen" in potassium.need.reason
    assert "pH of 5" in potassium.outside and year.soil_ph == 5.0


def test_the_plan_keeps_every_limit_and_starts_tomorrow() -> None:
    held = record(lab=(lab("K", 30.0), lab("K", 30.0, "2"), lab("K", 200.0, "3")),
                  limits=(Limit(limit="n_application_g_m2", value=1.2),))  # fmt: skip
    stuff, _ = feedstuffs(held.materials)
    years = feed_year(held, 2026, stuff)
    problem = problem_of(held, years, stuff)
    got = feed_plan(problem, seconds=4.0)
    assert broken(problem, got.lines) == ()
    assert min(w.first for w in problem.windows) == ON + timedelta(days=1)
    assert {one.material for one in got.lines} == {"urea", "potassium sulfate"}
    days = (ON + timedelta(days=1), date(2026, 12, 31))
    advised = as_advised(got, days)
    # by hand: A 6 months and the rest of June at 2 g, B at 2.5 g, by their areas
    assert advised.supplies["N"] == pytest.approx((1000 * 14 + 500 * 17.5) / 1500, rel=0.02)
    assert advised.cost == pytest.approx(got.cost) and advised.caco3_g_m2 < 0
    assert ("A", "S") in excess(got)
    assert as_recorded(held, years, stuff, days=days, planned=True) is None


def test_what_was_given_this_month_is_taken_off() -> None:
    (a, _) = feed_year(record(work=(feed(date(2026, 6, 2), 2.0),)), 2026)
    assert still_needed(a, 6) == pytest.approx(2.0 - 0.92)  # by hand
    assert still_needed(a, 7) == pytest.approx(2.0)


def test_a_pass_costs_what_the_crew_sheet_says_else_common_practice() -> None:
    crew = (CrewRow(practice="feed", group="A", minutes=30.0, people=2.0, cost_per_h=20.0),)
    a, b = groups(record())
    assert pass_cost(record(crew=crew), a) == (20.0, 1.0, ())  # by hand: 2 x half an hour at 20
    _, hours, keys = pass_cost(record(crew=crew), b)
    assert hours == pytest.approx(3 * 500 / 9100) and "labour.cost_per_h" in keys


# -- studies, sand


def touch(**more) -> Touch:
    held = {"grasses": frozenset({"creeping bentgrass"}), "elements": frozenset(),
            "materials": frozenset(), "nitrogen_year": 12.0, "acid": False,
            "potassium_mg_kg": None} | more  # fmt: skip
    return Touch(**held)


@pytest.mark.parametrize(
    ("more", "keys"),
    [
        ({}, set()),
        ({"elements": frozenset({"K"})}, {"claims.potassium_snow_mould"}),
        ({"elements": frozenset({"N"})}, {"claims.nitrogen_dollar_spot"}),
        ({"acid": True}, {"claims.acidifying_nitrogen_summer_patch"}),
        (
            {"materials": frozenset({"ammonium sulfate"})},
            {"claims.nitrogen_form_anthracnose", "claims.manganese_take_all"},
        ),
        (
            {"grasses": frozenset({"annual bluegrass"}), "potassium_mg_kg": 40.0},
            {"claims.low_potassium_anthracnose"},
        ),
        (
            {"grasses": frozenset({"annual bluegrass"}), "elements": frozenset({"N", "K"})},
            {
                "claims.low_nitrogen_anthracnose",
                "claims.nitrogen_dollar_spot",
                "claims.potassium_snow_mould_bluegrass",
            },
        ),
    ],
)
def test_only_what_the_plan_touches_is_told(more: dict, keys: set[str]) -> None:
    assert {c.key for c in touched(touch(**more))} == keys


def test_each_claim_keeps_its_true_strength() -> None:
    for key in every_claim():
        held = look_up(key).value
        assert held["strength"] and held["conflict"] and held["study"]
    (one,) = touched(touch(elements=frozenset({"N"})))
    assert "impractical" in one.strength  # only 29.3 kg N/ha in 14 days was consistent


def test_sand_of_a_year() -> None:
    held = record(
        work=(
            feed(date(2026, 5, 1), 0.4, practice="topdress", unit="L/m2", material="sand"),
            Work(date=date(2026, 3, 3), green="1", practice="core", amount=5.0, depth_mm=50.0),
        ),
        lab=(lab("OM", 6.0, unit="%", depth_cm=2.0, extractant="loss-on-ignition"),),
    )
    group = groups(held)[0]
    got = sand_year(held, group, year_growth(held, 2026, group.grass), 2026)
    assert sum(m.sand_mm for m in got.months) == pytest.approx(6.0)  # by hand: 12 x 0.5 mm
    assert got.given == pytest.approx(0.4) and got.cored_pct == pytest.approx(2.5)  # half the group
    assert got.fill_l_m2 == pytest.approx(1.25)  # by hand: 2.5 % of 50 mm
    assert got.om_pct == 6.0 and 0 < got.dilute_mm < 20
