"""The rows keep to the record's format, by a check written here from the format's text."""

from __future__ import annotations

import csv
import json
import re
import time
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from greenwright.simulate import Simulated, World, course, write_record, write_truth

TODAY = date(2026, 6, 12)
# All sets of words below are copied by hand from the text of the record format.
CHOICES: dict[str, dict[str, set[str]]] = {
    "course": {
        "display_units": {"metric", "us"},
        "speed_units": {"ft", "m"},
        "setting": {"daily-fee", "member", "resort", "event", "municipal", "other"},
    },
    "greens": {
        "grass": {"creeping bentgrass"},
        "rootzone": {"sand", "sand-topped soil", "soil"},
        "in_play": {"yes", "no"},
        "shade": {"open", "part", "heavy"},
    },
    "readings": {
        "kind": {
            "roll_distance", "green_speed", "smoothness_score", "trueness_score", "roll_score",
            "hops", "drifts", "clean_rolls", "end_offset", "profile_vertical", "path_wander",
            "firmness", "moisture", "soil_ec", "soil_temperature", "root_depth", "shear",
            "clippings", "height_of_cut", "quality", "cover", "annual_bluegrass", "seedheads",
            "disease", "weeds", "pitch_marks", "leaf_n",
        },
        "direction": {"", "a", "b"},
        "pass": {"", "along", "across"},
        "surface": {"", "dry", "damp", "wet"},
    },
    "work": {
        "status": {"done", "planned"},
        "practice": {
            "mow", "roll", "brush", "groom", "verticut", "topdress", "core", "solid_tine",
            "needle_tine", "slit", "feed", "lime", "regulator", "wetting_agent",
            "plant_protection", "irrigate", "hand_water", "syringe", "flush", "overseed",
            "hole_change", "mark_repair", "dew_removal", "cover", "other",
        },
    },
    "weather": {"kind": {"observed", "forecast", "typical"}},
    "lab": {
        "medium": {"soil", "leaf", "water", "mat"},
        "extractant": {"mehlich-3", "olsen", "bray-1", "ammonium-acetate", "water",
                       "loss-on-ignition", "other"},
        "analyte": {"K", "P", "Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B", "N",
                    "pH", "OM", "CEC", "EC", "SAR", "HCO3"},
    },
    "materials": {
        "form": {"granular", "soluble", "liquid"},
        "price_unit": {"per kg", "per L"},
        "material": {"urea", "ammonium sulfate", "potassium sulfate", "magnesium sulfate",
                     "iron sulfate", "sand", "growth regulator", "wetting agent"},
    },
    "feedback": {
        "topic": {"bumpy", "untrue", "slow", "fast", "uneven", "soft", "hard", "scarred",
                  "praise", "other"},
        "asked": {"yes", "no"},
    },
    "calendar": {"kind": {"event", "closure", "renovation", "holiday"}},
    "targets": {
        "quantity": {"green_speed", "smoothness", "trueness", "firmness", "moisture",
                     "clippings", "height_of_cut", "quality"},
    },
    "limits": {
        "limit": {"labour_h_day", "rolls_week", "min_height_mm", "max_height_step_mm",
                  "min_step_interval_d", "n_year_g_m2", "n_month_g_m2", "n_application_g_m2",
                  "p_allowed", "no_feed", "buffer_m", "no_core_days_before_event", "no_work",
                  "water_mm_day"},
        "weekday": {"", "mon", "tue", "wed", "thu", "fri", "sat", "sun"},
    },
}  # fmt: skip

# unit, low, high; from the text of the record format, windows not given there by sense
PLAUSIBLE: dict[str, tuple[str, float, float]] = {
    "smoothness_score": ("score", 0, 10), "trueness_score": ("score", 0, 10),
    "roll_score": ("score", 0, 10), "hops": ("count", 0, 10), "drifts": ("count", 0, 10),
    "clean_rolls": ("count", 0, 10), "end_offset": ("mm", -200, 200),
    "firmness": ("g", 30, 200), "moisture": ("%", 0, 70), "clippings": ("mL/m2", 0, 500),
    "height_of_cut": ("mm", 1.5, 12), "quality": ("rating", 1, 9),
    "pitch_marks": ("count/m2", 0, 20),
}  # fmt: skip
UNITS = {
    "mow": "mm", "brush": "mm", "verticut": "mm", "topdress": "L/m2", "core": "%",
    "needle_tine": "%", "feed": "g/m2", "regulator": "mL/m2", "wetting_agent": "mL/m2",
    "irrigate": "mm", "hand_water": "mm", "roll": "", "hole_change": "",
}  # fmt: skip
IDENTITY = {
    "course": ("course",), "greens": ("green",), "stations": ("green", "station"),
    "weather": ("date", "kind", "issued"), "materials": ("material",), "rounds": ("date",),
    "lab": ("date", "green", "medium", "depth_cm", "extractant", "analyte", "laboratory"),
    "work": ("date", "time", "green", "part", "practice", "material"),
    "limits": ("limit", "green", "weekday", "from", "until"),
    "targets": ("quantity", "green", "method", "from", "until"),
    "crew": ("practice", "group", "machine"), "calendar": ("start", "name"),
    "feedback": ("date", "topic", "green", "asked"),
    "putts": ("date", "green", "distance_m", "player"),
}  # fmt: skip
HEADERS = {
    "readings": "date, time, green, station, part, kind, value, unit, n, direction, pass, set, "
    "roll_length_m, hole_m, depth_mm, surface, method, instrument, observer, note",
    "rounds": "date, rounds, note",
    "putts": "date, green, distance_m, player, tried, made, note",
    "calendar": "start, end, name, kind, weight, rounds, note",
    "limits": "limit, green, weekday, from, until, value, unit, note",
    "crew": "practice, group, minutes, people, machine, count, cost_per_h, note",
    "targets": "from, until, quantity, green, method, low, high, unit, weight, note",
    "stations": "green, station, slope_pct, x_m, y_m, note",
    "lab": "date, green, medium, depth_cm, extractant, analyte, value, unit, laboratory, note",
}


def metres(value: str, unit: str) -> float:
    """Read a length as a person wrote it; 1 in = 0.0254 m (international inch)."""
    if found := re.fullmatch(r"(\d+)'(\d+)\"", value):
        return (12 * int(found[1]) + int(found[2])) * 0.0254
    return float(value) * {"m": 1.0, "in": 0.0254}[unit]


def test_all_tables_have_rows_and_the_stated_headers(demo: Simulated) -> None:
    assert set(demo.tables) == {
        "course", "greens", "stations", "readings", "work", "weather", "lab", "materials",
        "rounds", "feedback", "putts", "calendar", "targets", "crew", "limits",
    }  # fmt: skip
    assert all(demo.tables.values())
    for name, header in HEADERS.items():
        assert ", ".join(demo.columns[name]) == header
    for name, rows in demo.tables.items():
        assert {key for row in rows for key in row} <= set(demo.columns[name]), name


def test_words_are_the_records_words(demo: Simulated) -> None:
    for name, columns in CHOICES.items():
        for column, words in columns.items():
            found = {row.get(column, "") for row in demo.tables[name]}
            assert found <= words, (name, column, found - words)


def test_readings_are_plausible_in_their_units(demo: Simulated) -> None:
    for row in demo.tables["readings"]:
        if row["kind"] == "roll_distance":
            assert 0.6 <= metres(row["value"], row.get("unit", "")) <= 10  # record format
            continue
        unit, low, high = PLAUSIBLE[row["kind"]]
        assert row["unit"] == unit and low <= float(row["value"]) <= high, row


def test_counts_say_of_how_many(demo: Simulated) -> None:
    counts = [r for r in demo.tables["readings"] if r["kind"] in ("hops", "drifts", "clean_rolls")]
    assert counts and all(float(r["value"]) <= int(r["n"]) for r in counts)


def test_firmness_names_its_method(demo: Simulated) -> None:
    methods = {r["method"] for r in demo.tables["readings"] if r["kind"] == "firmness"}
    assert methods == {"impact deceleration"}


def test_greens_of_rows_exist(demo: Simulated) -> None:
    keys = {row["green"] for row in demo.tables["greens"]}
    scopes = keys | {"A", "B", "C", "all"}
    assert {row["green"] for row in demo.tables["readings"]} == keys
    assert {g for row in demo.tables["work"] for g in row["green"].split(";")} <= scopes
    assert Counter(row["group"] for row in demo.tables["greens"]) == {"A": 6, "B": 6, "C": 6}
    groups = "".join(row["group"] for row in demo.tables["greens"])
    assert "AAA" not in groups and "CCC" not in groups  # the groups are not blocks of play


def test_work_has_the_unit_of_its_practice(demo: Simulated) -> None:
    for row in demo.tables["work"]:
        assert row["unit"] == UNITS[row["practice"]], row
        assert bool(row["unit"]) == bool(row["amount"])
        assert row["practice"] not in ("topdress", "feed", "regulator") or row["material"]


def test_identity_tells_rows_apart(demo: Simulated) -> None:
    for name, key in IDENTITY.items():
        seen = Counter(tuple(row.get(c, "") for c in key) for row in demo.tables[name])
        assert max(seen.values()) == 1, (name, seen.most_common(1))


def test_a_set_is_three_rolls_each_way(demo: Simulated) -> None:
    sets = Counter(
        (r["date"], r["green"], r["set"], r["direction"])
        for r in demo.tables["readings"]
        if r["kind"] == "roll_distance"
    )
    assert set(sets.values()) == {3}  # three balls one way, three back: common practice


def test_nothing_done_or_read_lies_in_the_future(demo: Simulated) -> None:
    today = TODAY.isoformat()
    assert max(r["date"] for r in demo.tables["readings"]) == today
    assert all(
        (r["date"] <= today) if r["status"] == "done" else (r["date"] >= today)
        for r in demo.tables["work"]
    )
    weather = demo.tables["weather"]
    assert all(r["date"] < today for r in weather if r["kind"] == "observed")
    forecast = [r for r in weather if r["kind"] == "forecast"]
    assert {r["issued"] for r in forecast} == {today}
    assert len(forecast) == 11  # today and the ten days after


def test_a_week_is_planned_and_an_event_is_coming(demo: Simulated) -> None:
    planned = {r["date"] for r in demo.tables["work"] if r["status"] == "planned"}
    assert planned & {f"2026-06-{d}" for d in range(13, 20)}
    events = [date.fromisoformat(r["start"]) for r in demo.tables["calendar"] if
              r["kind"] == "event"]  # fmt: skip
    assert min((e - TODAY).days for e in events if e > TODAY) in range(8, 16)
    assert sum(e < TODAY for e in events) >= 4


@pytest.mark.parametrize("day", [date(2026, 1, 5), date(2024, 2, 29), date(2026, 10, 31)])
def test_any_day_can_be_today(day: date) -> None:
    made = course(11, today=day, world=World(greens=5, days=30))
    assert made.truth.days[-1] == day and len(made.truth.days) == 30
    assert all(row["value"] for row in made.tables["readings"])


def test_files_hold_the_tables(small: Simulated, tmp_path: Path) -> None:
    paths = write_record(small, tmp_path / "record")
    for path in paths:
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        want = [{c: r.get(c, "") for c in small.columns[path.stem]} for r in
                small.tables[path.stem]]  # fmt: skip
        assert rows == want
    # a record without rows of some table has no such file
    assert {p.stem for p in paths} == {n for n, rows in small.tables.items() if rows}


def test_truth_file_is_plain_json(small: Simulated, tmp_path: Path) -> None:
    write_truth(small, tmp_path / "truth.json")

    def no_constant(name: str) -> Callable[[], None]:
        raise AssertionError(f"{name} is no JSON number")

    text = (tmp_path / "truth.json").read_text("utf-8")
    told = json.loads(text, parse_constant=no_constant)
    assert told["invented"] is True and told["seed"] == 3
    assert len(told["course_means"]["green_speed"]) == len(told["days"]) == 60
    assert told["effects"]["roll:green_speed"][0] == 0.16  # stated parameter of the world


def test_the_full_course_is_quick_and_of_fair_size() -> None:
    start = time.perf_counter()
    made = course(21, today=TODAY)
    assert time.perf_counter() - start < 5  # s, the stated budget
    assert 15_000 < len(made.tables["readings"]) < 40_000


def test_no_two_seeds_alike_and_one_seed_always_alike(small: Simulated) -> None:
    world = World(greens=6, days=60)
    again = course(3, today=TODAY, world=world)
    other = course(4, today=TODAY, world=world)
    assert dict(again.tables) == dict(small.tables)
    assert again.acts == small.acts
    for name in ("readings", "work", "weather", "stations"):
        assert other.tables[name] != small.tables[name]


def test_bad_requests_are_refused() -> None:
    with pytest.raises(ValueError, match="seed: -1"):
        course(-1)
    with pytest.raises(ValueError, match="greens: 2"):
        World(greens=2)
    with pytest.raises(ValueError, match="days: 1"):
        World(days=1)
