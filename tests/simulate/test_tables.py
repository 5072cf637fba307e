"""Rows of the smaller tables: work merged and costed, weather, limits, targets, lab, crew."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.simulate import Act, Climate, Crew, Observer, Simulated, World, course
from greenwright.simulate.materials import MATERIALS, NITROGEN_PCT
from greenwright.simulate.readings import write_length
from greenwright.simulate.tables import work_rows

TODAY = date(2026, 6, 12)


def test_like_work_on_all_groups_is_one_row(demo: Simulated) -> None:
    site = demo.stage.site
    a, b, c = (site.members(g) for g in range(3))
    acts = tuple(Act("mow", g, "05:30", 3.6) for g in (a, b, c))
    (row,) = work_rows(site, TODAY, acts, "done")
    assert (row["green"], row["amount"], row["unit"], row["passes"]) == ("all", "3.6", "mm", "1")
    # by hand: three groups of 60 min, one person
    assert row["labour_h"] == "3.00"


def test_unlike_work_stays_apart(demo: Simulated) -> None:
    site = demo.stage.site
    a, b, c = (site.members(g) for g in range(3))
    acts = (
        Act("mow", a, "05:30", 3.5),
        Act("mow", b, "05:30", 3.5),
        Act("mow", c, "05:30", 3.6, 2),
    )
    rows = {row["green"]: row for row in work_rows(site, TODAY, acts, "done")}
    assert set(rows) == {"A", "B", "C"}
    # by hand: 60 min twice over
    assert (rows["C"]["passes"], rows["C"]["labour_h"]) == ("2", "2.00")


def test_labour_of_some_greens_goes_by_their_share(demo: Simulated) -> None:
    site = demo.stage.site
    (row,) = work_rows(site, TODAY, (Act("roll", (0, 1, 2), "06:00"),), "done")
    # by hand: 40 min * 3 of 6 greens
    assert row["labour_h"] == "0.33" and row["green"] == "1;2;3" and row["unit"] == ""


def test_planned_work_has_no_hours_yet(demo: Simulated) -> None:
    planned = [r for r in demo.tables["work"] if r["status"] == "planned"]
    assert planned and not any(r.get("labour_h") or r.get("operator") for r in planned)


def test_what_the_plan_decides_is_left_open(demo: Simulated) -> None:
    ahead = {
        r["practice"]
        for r in demo.tables["work"]
        if r["status"] == "planned" and r["date"] > TODAY.isoformat()
    }
    assert ahead and not ahead & set(demo.stage.site.world.manager.left_open)
    manager = replace(demo.stage.site.world.manager, left_open=())
    small = course(7, today=TODAY, world=World(greens=3, days=20, manager=manager))
    assert {"mow", "roll"} <= {
        r["practice"] for r in small.tables["work"] if r["status"] == "planned"
    }


def test_a_days_rows_are_in_order_of_time(demo: Simulated) -> None:
    past = [r for r in demo.tables["work"] if r["status"] == "done"]
    stamps = [(r["date"], r["time"]) for r in past]
    assert stamps == sorted(stamps)


def test_weather_rows_tell_the_stage(demo: Simulated) -> None:
    rows = [r for r in demo.tables["weather"] if r["kind"] == "observed"]
    assert [r["date"] for r in rows] == [d.isoformat() for d in demo.truth.days[:-1]]
    for row, day in zip(rows, demo.stage.weather[1:], strict=False):
        assert float(row["rain_mm"]) == day.rain_mm and float(row["t_max_c"]) == day.t_max_c
        assert row["issued"] == "" and row["wind_height_m"] == "2"


def test_more_mornings_of_forecasts_can_be_kept() -> None:
    world = World(greens=3, days=20, climate=Climate(forecast_issues=5))
    rows = [r for r in course(1, today=TODAY, world=world).tables["weather"]
            if r["kind"] == "forecast"]  # fmt: skip
    assert sorted({r["issued"] for r in rows}) == [f"2026-06-{d:02d}" for d in range(8, 13)]
    assert len(rows) == 5 * 11  # each: its own day and ten more
    assert all(r["date"] >= r["issued"] for r in rows)


def test_limits_say_what_the_manager_keeps_to(demo: Simulated) -> None:
    limits = {(r["limit"], r.get("green", ""), r.get("weekday", "")): r for r in
              demo.tables["limits"]}  # fmt: skip
    assert limits["rolls_week", "C", ""]["value"] == "3"  # native soil: common practice
    assert limits["max_height_step_mm", "", ""]["value"] == "0.13"  # 0.005 in: common practice
    assert float(limits["labour_h_day", "", "sun"]["value"]) > 0


def test_targets_are_bands_and_the_trophy_has_its_own(demo: Simulated) -> None:
    rows = demo.tables["targets"]
    assert all(float(r["low"]) < float(r["high"]) for r in rows)
    special = [r for r in rows if r.get("from")]
    assert [(r["from"], r["until"]) for r in special] == [("2026-06-20", "2026-06-20")]
    assert [r["method"] for r in rows if r["quantity"] == "firmness"] == ["impact deceleration"]


def test_the_lab_found_plausible_soil(demo: Simulated) -> None:
    rows = demo.tables["lab"]
    assert {r["date"] for r in rows} == {"2026-02-10"}  # the only February of the record
    assert len({r["green"] for r in rows}) == 3
    for row in rows:
        value = float(row["value"])
        if row["analyte"] == "pH":
            assert 5 < value < 8 and row["unit"] == ""
        elif row["analyte"] == "K":
            assert 20 < value < 200 and row["unit"] == "mg/kg"


def test_the_crew_covers_every_practice_that_takes_labour(demo: Simulated) -> None:
    labour = {(r["practice"], r["group"]) for r in demo.tables["crew"] if r.get("practice")}
    done = {r["practice"] for r in demo.tables["work"] if r.get("labour_h")}
    assert {(p, g) for p in done for g in "ABC"} <= labour
    machines = {r["machine"] for r in demo.tables["crew"] if not r.get("practice")}
    assert {"mower", "roller", "spreader"} <= machines


def test_materials_are_generic_and_feed_what_they_say(demo: Simulated) -> None:
    used = {r["material"] for r in demo.tables["work"] if r["material"]}
    assert used <= {row["material"] for row in MATERIALS}
    # grades of the trade: urea 46-0-0, ammonium sulfate 21-0-0, potassium sulfate 0-0-50
    assert NITROGEN_PCT == {"urea": 46, "ammonium sulfate": 21, "potassium sulfate": 0}
    cautioned = [r for r in MATERIALS if r["material"] == "growth regulator"]
    assert "label" in cautioned[0]["note"]


def test_nitrogen_of_a_year_keeps_the_limit(demo: Simulated) -> None:
    feeds = [r for r in demo.tables["work"] if r["practice"] == "feed" and r["status"] == "done"
             and r["date"] < "2026"]  # fmt: skip
    nitrogen = sum(float(r["amount"]) * 0.46 for r in feeds)  # urea is 46 % nitrogen
    limits = {r["limit"]: float(r["value"]) for r in demo.tables["limits"]}
    assert 4 < nitrogen < limits["n_year_g_m2"]
    assert all(float(r["amount"]) * 0.46 <= limits["n_application_g_m2"] for r in feeds)


@given(metres=st.floats(0.6, 9.9), habit=st.sampled_from(["cm", "ft", "in"]))
def test_a_written_length_is_off_by_half_its_last_unit(metres: float, habit: str) -> None:
    value, unit = write_length(metres, habit)
    if habit == "ft":
        feet, inches = value.rstrip('"').split("'")
        assert 0 <= int(inches) < 12
        read = (12 * int(feet) + int(inches)) * 0.0254
    else:
        read = float(value) * {"m": 1.0, "in": 0.0254}[unit]
    assert abs(read - metres) <= (0.005 if habit == "cm" else 0.0127) + 1e-9


def test_an_observers_leniency_can_drift() -> None:
    def mean_score(drift: float) -> float:
        crew = replace(Crew(), observers=(Observer("Ida", 0, 0, "cm", 0.1, 0.3, drift),) * 2)
        made = course(2, today=TODAY, world=World(greens=9, days=365, crew=crew))
        late = [float(r["value"]) for r in made.tables["readings"]
                if r["kind"] == "roll_score" and r["date"] >= "2026-05-01"]  # fmt: skip
        return float(np.mean(late))

    # by hand: 1 point a year, and 1 May to 12 June is 0.88 to 1 of the record's year
    assert mean_score(0.0) - mean_score(-1.0) == pytest.approx(0.94, abs=0.03)
