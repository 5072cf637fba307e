"""The question weather from records made up for it: every key, every day, every empty state."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from jsonschema.validators import validator_for

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer, UnknownKey
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.weathering.records import GREENS, ON, WEATHER, ahead, fill, line, seen

SHAPE = validator_for(answer_schema())(answer_schema())
SOAKED = "11,18,60,90,2.1,8,"
HUMID = "15,25,0,80,2.1,20,"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with books.open_book(tmp_path / "book.db", create=True) as held:
        yield held


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A month of fine days after a soaking, five forecast days, a regulator, a little water."""
    with books.open_book(tmp_path_factory.mktemp("month") / "b.db", create=True) as held:
        yield a_month(held, tmp_path_factory.mktemp("files"))


def a_month(store: Store, folder: Path) -> Store:
    """Load the month into a record."""
    weather = WEATHER + line(-30, SOAKED) + seen(range(-29, 1)) + ahead(range(1, 6), HUMID)
    work = (
        "date,green,practice,amount,unit,material,time\n"
        f"{ON - timedelta(days=3)},all,irrigate,5,mm,,21:00\n"
        f"{ON - timedelta(days=8)},all,regulator,0.04,mL/m2,shield,\n"
    )
    return fill(
        store,
        folder,
        weather=weather,
        work=work,
        materials="material,form,active\nshield,liquid,trinexapac-ethyl\n",
        readings=f"date,green,kind,value,unit,n\n{ON - timedelta(days=1)},1,moisture,17,%,5\n",
    )


def asked(store: Store, on: date = ON, **options) -> Answer:
    """Return the answer, checked against the published schema."""
    answer = desk.ask("weather", store, on=on, **options)
    SHAPE.validate(answer.as_dict())
    return answer


def rows(answer: Answer, quantity: str) -> dict[date, dict]:
    """Return the findings of one quantity by day."""
    return {r["date"]: r for r in answer.findings if r["quantity"] == quantity}


def test_the_keys_that_programs_rely_on(month: Store) -> None:
    answer = asked(month)
    wanted = {"growth_potential", "eto", "deficit", "degree_days", "regulator_left",
              "risk:dollar_spot"}  # fmt: skip
    assert wanted <= {r["quantity"] for r in answer.findings}
    for row in answer.findings:
        assert {"date", "kind", "quantity", "value", "unit", "above_threshold"} <= set(row)
    assert answer.made_by["model"] == "weather 1"


def test_numbers_by_hand(month: Store) -> None:
    answer = asked(month)
    # (11 + 23) / 2 = 17 degC: exp(-½·(3/5.5)²) = 0.8618; 17 degree days
    assert rows(answer, "growth_potential")[ON]["value"] == pytest.approx(0.8618, abs=5e-5)
    warmth = rows(answer, "degree_days")
    assert warmth[ON]["value"] == 17.0
    # a first day of 14.5, then thirty of 17
    assert warmth[ON]["total"] == pytest.approx(14.5 + 30 * 17.0)
    left = rows(answer, "regulator_left")[ON]
    # 8 days of 17 = 136 degree days: 0.5^(136/145.5) = 0.5231
    assert left["total"] == pytest.approx(136.0)
    assert left["value"] == pytest.approx(0.5231, abs=5e-5)
    assert left["state"] == "suppressed" and left["above_threshold"] is False
    # five days of 80 % and 20 degC: the table's 0.4042, over 0.20
    risk = rows(answer, "risk:dollar_spot")[ON + timedelta(days=5)]
    assert risk["value"] == pytest.approx(0.4042, abs=5e-5) and risk["above_threshold"] is True
    assert risk["kind"] == "forecast"


def test_the_days_told_reach_from_sixty_behind_to_fourteen_ahead(month: Store) -> None:
    days = rows(asked(month), "growth_potential")
    assert min(days) == ON - timedelta(days=30)  # where the record begins: nothing stands in before
    assert max(days) == ON + timedelta(days=14)
    kinds = {d: r["kind"] for d, r in days.items()}
    assert kinds[ON] == "observed" and kinds[ON + timedelta(days=5)] == "forecast"
    assert kinds[ON + timedelta(days=6)] == "typical"
    few = rows(asked(month, days=3), "growth_potential")
    assert max(few) == ON + timedelta(days=3)


def test_ranges_widen_from_seen_to_forecast_to_typical(month: Store) -> None:
    eto = rows(asked(month), "eto")
    widths = [
        (r["high"] - r["low"]) / r["value"]
        for r in (eto[ON], eto[ON + timedelta(days=2)], eto[ON + timedelta(days=9)])
    ]
    # these days are all alike: a season without spread is as wide as its forecast
    assert widths[0] < widths[1] <= widths[2] + 1e-9


def test_no_disease_is_told_of_days_without_forecast(month: Store) -> None:
    risk = rows(asked(month), "risk:dollar_spot")
    assert max(risk) == ON + timedelta(days=5)


def test_the_water_of_each_green(month: Store) -> None:
    water = asked(month).more["water"]
    one, two = water["greens"]
    assert one["last_read"] == ON - timedelta(days=1) and two["last_read"] is None
    assert one["deficit"].sd < two["deficit"].sd
    assert water["watered"] is True
    given = {row["date"]: row["given"] for row in water["daily"]}
    assert given[ON - timedelta(days=3)] == 5.0 and sum(given.values()) == 5.0
    last = water["daily"][-1]
    assert last["date"] == ON + timedelta(days=14) and last["deficit"] > one["deficit"].value


def test_days_left_are_soonest_best_and_latest(month: Store) -> None:
    left = asked(month).more["water"]["course"]["days_left"]
    assert left["low"] <= left["value"]
    assert left["high"] is None or left["high"] >= left["value"]


def test_the_course_s_own_settings(month: Store) -> None:
    plain, dry = asked(month), asked(month, crop_coefficient=0.4, root_depth_m=0.1)
    assert all(g["own_coefficient"] for g in dry.more["water"]["greens"])
    assert {g["depth_from"] for g in dry.more["water"]["greens"]} == {"entered"}
    used = [sum(r["use"] for r in a.more["water"]["daily"][:10]) for a in (plain, dry)]
    assert used[1] < used[0]
    strict = asked(month, threshold="dollar_spot=0.5")
    assert not any(r["above_threshold"] for r in rows(strict, "risk:dollar_spot").values())
    told = {r["name"]: r for r in strict.more["risks"]}
    assert told["dollar_spot"]["own_threshold"] and told["dollar_spot"]["threshold"] == 0.5


@pytest.mark.parametrize(
    ("options", "error"),
    [
        ({"days": 0}, BadInput),
        ({"days": 15}, BadInput),
        ({"days": "soon"}, BadInput),
        ({"crop_coefficient": 2.85}, BadInput),
        ({"crop_coefficient": float("nan")}, BadInput),
        ({"root_depth_m": -1.0}, BadInput),
        ({"root_depth_m": 20.0}, BadInput),
        ({"threshold": "dollar_spot"}, BadInput),
        ({"threshold": "dollar_spot=7"}, BadInput),
        ({"threshold": "snow_mould=1"}, UnknownKey),
        ({"green": "1"}, UnknownKey),
    ],
)
def test_slips_are_refused(month: Store, options, error) -> None:
    with pytest.raises(error):
        desk.ask("weather", month, on=ON, **options)


# -- what was known on a day


def test_later_news_changes_nothing_earlier(store: Store, tmp_path: Path) -> None:
    month = a_month(store, tmp_path / "files")
    before = asked(month)
    later = ON + timedelta(days=2)
    text = WEATHER + f"{ON + timedelta(days=1)},observed,,2,6,30,95,5,3,\n"
    text += f"{ON + timedelta(days=3)},forecast,{later},2,6,30,95,5,3,\n"
    folder = tmp_path / "later"
    folder.mkdir()
    (folder / "weather.csv").write_text(text, encoding="utf-8")
    assert books.load_paths(month, [folder], on=later).total.refused == 0
    again = asked(month)
    assert again.findings == before.findings and again.more == before.more
    assert rows(asked(month, later), "growth_potential") != rows(before, "growth_potential")


# -- records with little weather


def test_no_weather_at_all_cannot_be_answered(store: Store, tmp_path: Path) -> None:
    fill(store, tmp_path / "files")
    with pytest.raises(CannotAnswer, match="no temperature") as caught:
        desk.ask("weather", store, on=ON)
    assert caught.value.exit_code == 1 and "GHCN-Daily" in str(caught.value)


def test_a_day_or_two_of_weather_is_told_for_what_it_is(store: Store, tmp_path: Path) -> None:
    fill(store, tmp_path / "files", weather=WEATHER + seen(range(-1, 1)))
    answer = asked(store)
    assert answer.more["weather"]["unknown"] == 14
    assert any("nothing is known" in g["text"] for g in answer.gaps)
    assert max(rows(answer, "growth_potential")) == ON


def test_only_a_forecast(store: Store, tmp_path: Path) -> None:
    fill(store, tmp_path / "files", weather=WEATHER + ahead(range(1, 5)))
    answer = asked(store)
    assert set(rows(answer, "growth_potential")) == {ON + timedelta(days=k) for k in range(1, 5)}
    assert answer.more["water"] is None


def test_weather_that_ended_long_ago(store: Store, tmp_path: Path) -> None:
    fill(store, tmp_path / "files", weather=WEATHER + seen(range(-300, -200)))
    answer = asked(store)
    assert answer.more["water"] is None
    assert not any(r["kind"] == "observed" for r in rows(answer, "growth_potential").values())


def test_without_latitude_there_is_no_water_use(store: Store, tmp_path: Path) -> None:
    course = "course,name\nfen,Fen\n"
    fill(store, tmp_path / "files", course=course, weather=WEATHER + seen(range(-20, 1)))
    answer = asked(store)
    assert answer.more["water"] is None and not rows(answer, "eto")
    assert any(g["about"] == "latitude" for g in answer.gaps)
    assert rows(answer, "growth_potential")


def test_temperatures_alone_will_do(store: Store, tmp_path: Path) -> None:
    weather = "date,t_min_c,t_max_c,rain_mm\n"
    weather += "".join(f"{ON - timedelta(days=k)},11,23,1\n" for k in range(20))
    fill(store, tmp_path / "files", weather=weather)
    answer = asked(store)
    eto = rows(answer, "eto")[ON]
    # what stands in for humidity, wind and radiation is wide: by hand ±1.645·0.2020
    assert (eto["high"] - eto["low"]) / eto["value"] == pytest.approx(2 * 1.645 * 0.2020, rel=0.01)
    risks = {g["about"] for g in answer.gaps if str(g["about"]).startswith("risk:")}
    assert risks == {"risk:dollar_spot", "risk:brown_patch", "risk:anthracnose", "risk:pythium"}


def test_anthracnose_only_with_leaf_wetness(store: Store, tmp_path: Path) -> None:
    wet = "18,26,0,85,2,18,12"
    fill(store, tmp_path / "files", weather=WEATHER + seen(range(-8, 1), wet))
    index = rows(asked(store), "risk:anthracnose")
    # three-day means of 12 h and 22 degC, by hand: 4.0233 - 2.7396 - 11.6776 - 0.1872 + 9.5348
    # + 4.092 = 3.0457
    assert index[ON]["value"] == pytest.approx(3.0457, abs=5e-4)
    assert index[ON]["above_threshold"] is True and min(index) == ON - timedelta(days=6)


def test_each_grass_has_its_own_curve(store: Store, tmp_path: Path) -> None:
    greens = GREENS + "3,B,ultradwarf bermudagrass,sand\n"
    fill(store, tmp_path / "files", greens=greens, weather=WEATHER + seen(range(-8, 1)))
    answer = asked(store)
    found = {r["grass"]: r["value"] for r in answer.findings
             if r["quantity"] == "growth_potential" and r["date"] == ON}  # fmt: skip
    # 17 degC: 0.8618 cool-season; exp(-½·(14/7)²) = 0.1353 warm-season
    assert found["creeping bentgrass"] == pytest.approx(0.8618, abs=5e-5)
    assert found["ultradwarf bermudagrass"] == pytest.approx(0.1353, abs=5e-5)
    uses = {g["green"]: g["crop_coefficient"] for g in answer.more["water"]["greens"]}
    assert uses == {"1": 0.8, "2": 0.8, "3": 0.6}


def test_every_outside_number_is_named(month: Store) -> None:
    keys = {s["key"] for s in asked(month).sources}
    assert {"growth.c3.optimum", "eto.albedo", "water.rain_effective", "water.unexplained_sd",
            "crop_coefficient.c3.mean", "disease.dollar_spot.threshold",
            "regulator.trinexapac_ethyl.creeping_bentgrass.half_life_gdd"} <= keys  # fmt: skip
