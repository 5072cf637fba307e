"""The parts of the answer of feeding: gaps, cautions, choices and log from records made by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from greenwright.base.evidence import evidence, value
from greenwright.base.values import CrewRow, Limit, Material, WeatherDay, Work
from greenwright.desk.feeding import needs, planning, told
from greenwright.feed.arrange import problem_of
from greenwright.feed.materials import feedstuffs
from greenwright.feed.plan import FeedPlan, feed_plan
from greenwright.feed.problem import FAMILIES
from greenwright.feed.year import GroupYear, feed_year
from tests.feed.test_year import ON, POTASH, UREA, feed, lab, record

Known = tuple[object, tuple[GroupYear, ...], FeedPlan, tuple[str, ...]]


def known(**more: object) -> Known:
    held = record(**more)
    stuff, unpriced = feedstuffs(held.materials)
    years = feed_year(held, 2026, stuff)
    return held, years, feed_plan(problem_of(held, years, stuff), seconds=3.0), unpriced


@pytest.fixture(scope="module")
def usual() -> Known:
    return known(lab=(lab("K", 30.0), lab("K", 30.0, "2"), lab("K", 250.0, "3")))


def texts(rows: object) -> str:
    return " ".join(row["text"] for row in rows)  # type: ignore[attr-defined]


def test_every_family_of_limits_has_words() -> None:
    assert set(FAMILIES) <= set(planning.WORDS)
    assert all("_" not in words for words in planning.WORDS.values())


def test_every_key_that_is_named_exists(usual: Known) -> None:
    _, years, plan, _ = usual
    claims = told.claim_rows(years, plan)
    assert (needs.keys_of(years) | told.keys_of(plan, claims)) <= set(evidence())


def test_a_line_is_for_what_it_brings(usual: Known) -> None:
    held, years, plan, _ = usual
    reasons = {r["material"]: r["reason"] for r in planning.choice_rows(held, years, plan)}
    assert reasons["urea"] == "nitrogen for the month's growth"
    assert reasons["potassium sulfate"] == "K that the soil does not hold"


def test_what_is_bought_is_what_is_used_less_the_store() -> None:
    packed = replace(UREA, pack=25.0, stock=10.0)
    _, _, plan, _ = known(materials=(packed, POTASH))
    (urea,) = [r for r in planning.shopping(plan) if r["material"] == "urea"]
    assert urea["buy_kg"] == 25.0 * urea["packs"]
    assert urea["buy_kg"] + 10.0 >= urea["mass_kg"] > urea["buy_kg"] + 10.0 - 25.0


def test_the_carrier_is_the_last_recorded_else_common_practice() -> None:
    assert planning.carrier_of(record()) == (value("feed.carrier"), True)
    rows = (
        feed(date(2026, 4, 1), 1.0, carrier_l_ha=300.0),
        feed(date(2026, 5, 1), 1.0, carrier_l_ha=500.0),
    )
    assert planning.carrier_of(record(work=rows)) == (500.0, False)


def test_last_year_and_what_is_planned_stand_beside_the_advice() -> None:
    rows = (feed(date(2025, 8, 1), 2.0), feed(date(2026, 7, 1), 1.0, status="planned"))
    held, years, plan, _ = known(work=rows)
    names = [row["name"] for row in planning.programme_rows(held, years, plan)]
    assert names == ["advised", "planned in the record", "as given"]


def test_a_leap_day_has_a_day_before_it_last_year() -> None:
    assert planning._earlier(date(2028, 2, 29)) == date(2027, 2, 28)


def test_gaps_name_what_the_course_can_enter(usual: Known) -> None:
    held, years, plan, _ = usual
    said = texts(told.gap_rows(held, years, ("kelp",), plan))
    for part in ("phosphorus is allowed", "distance to water", "kelp", "No target for clippings"):
        assert part in said
    entered = (
        Limit(limit="p_allowed", value=1),
        Limit(limit="buffer_m", value=5),
        Limit(limit="n_application_g_m2", value=0.8),
    )
    held, years, plan, _ = known(limits=entered)
    said = texts(told.gap_rows(held, years, (), plan))
    assert "phosphorus is allowed" not in said and "distance to water" not in said
    assert "at least 5 m" in texts(told.caution_rows(held, years, plan))


def test_heavy_rain_ahead_holds_feeding() -> None:
    wet = WeatherDay(
        date=date(2026, 6, 12), kind="forecast", issued=ON, t_mean_c=18.0, rain_mm=22.0
    )
    held, years, plan, _ = known(weather=(*record().weather, wet))
    rows = told.caution_rows(held, years, plan)
    assert "Rain is forecast on 2026-06-12" in texts(rows)
    assert {"weather", "safety", "data"} >= {row["kind"] for row in rows}


def test_heat_is_a_caution_and_halves_the_default() -> None:
    from tests.feed.test_year import weather

    held, years, plan, _ = known(weather=weather(27.0), limits=())
    assert "leaves burn" in texts(told.caution_rows(held, years, plan))
    assert {o.n_pass for p in plan.problem.plots for o in p.openings} == {0.5}


def test_ratios_are_warned_of_only_where_cations_were_tested(usual: Known) -> None:
    held, years, plan, _ = usual
    assert "Ratios between" in texts(told.caution_rows(held, years, plan))
    held, years, plan, _ = known()
    assert "Ratios between" not in texts(told.caution_rows(held, years, plan))


def test_leaves_are_held_against_their_range() -> None:
    leaf = lab("K", 1.8, medium="leaf", unit="%", depth_cm=None, extractant="")
    held, years, _, _ = known(lab=(leaf,))
    (row,) = needs.leaf_rows(held, years)
    assert (row["element"], row["verdict"]) == ("K", "low")  # bentgrass 2.2 to 2.6 % (memory)


def test_the_log_holds_product_registration_and_licence() -> None:
    product = Material(material="regulator", active="trinexapac-ethyl", registration="R-1")
    spray = Work(
        date=date(2026, 5, 4), green="A", practice="regulator", material="regulator",
        amount=0.04, unit="mL/m2", operator="Ida", licence="L-7", carrier_l_ha=400.0,
    )  # fmt: skip
    held = record(materials=(product,), work=(spray, replace(spray, practice="mow")))
    (row,) = told.log_rows(held, 2026)
    assert (row["active"], row["registration"]) == ("trinexapac-ethyl", "R-1")
    assert (row["operator"], row["licence"], row["amount_unit"]) == ("Ida", "L-7", "L")
    assert row["amount"] == pytest.approx(0.04)  # by hand: 0.04 mL on 1000 m2, in litres
    assert row["weather"] is None  # nothing was observed that day


def test_hours_of_a_line_are_the_crew_s() -> None:
    crew = (CrewRow(practice="feed", minutes=30.0, people=1.0, cost_per_h=20.0),)
    held, years, plan, _ = known(crew=crew)
    for row in planning.choice_rows(held, years, plan):
        assert row["labour_h"] == pytest.approx(0.5 * row["passes"])


def test_the_conditions_of_a_feeding_day_end_with_the_law() -> None:
    assert "law" in told.holds()[-1] and any("rain" in text for text in told.holds())
