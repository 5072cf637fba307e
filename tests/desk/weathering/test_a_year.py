"""A year of daily weather from a GHCN-Daily file to the answer; every number invented."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.answer import Answer
from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import write_csv
from tests.desk.weathering.records import COURSE, GREENS

ON = date(2026, 9, 30)
FIRST = date(2025, 1, 1)
STATION = "XXA00000001"


def ends(day: date) -> tuple[float, float]:
    """Return the day's ends [degC]: a wave of 12 either side of 9, ten between them, in tenths."""
    middle = 9 - 12 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365)
    return round(middle - 5, 1), round(middle + 5, 1)


def rain(day: date) -> float:
    """Return rain [mm]: 21 mm each seventh day."""
    return 21.0 if day.toordinal() % 7 == 0 else 0.0


def growth(day: date) -> float:
    """Return growth potential by hand: exp(-½((T - 20)/5.5)²)."""
    return math.exp(-0.5 * ((sum(ends(day)) / 2 - 20) / 5.5) ** 2)


def fixed_columns(gap: frozenset[date]) -> str:
    """Return the .dly text of all days to ON but a gap."""
    lines = []
    month = FIRST
    while month <= ON:
        held = [month + timedelta(days=k) for k in range(31)]
        held = [d for d in held if d.month == month.month]
        for element, number in (
            ("TMAX", lambda d: ends(d)[1]), ("TMIN", lambda d: ends(d)[0]), ("PRCP", rain),
        ):  # fmt: skip
            cells = [
                f"{round(10 * number(d)):5d}   " if d <= ON and d not in gap else "-9999   "
                for d in held
            ]
            cells += ["-9999   "] * (31 - len(cells))
            lines.append(f"{STATION}{month:%Y%m}{element}{''.join(cells)}")
        month = (month.replace(day=28) + timedelta(days=4)).replace(day=1)
    return "\n".join(lines) + "\n"


GAP = frozenset({date(2026, 9, 10), date(2026, 9, 11)})


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    folder: Path = tmp_path_factory.mktemp("year")
    write_csv(folder, "course", COURSE)
    write_csv(folder, "greens", GREENS)
    (folder / f"{STATION}.dly").write_text(fixed_columns(GAP), encoding="utf-8")
    with books.open_book(tmp_path_factory.mktemp("book") / "book.db", create=True) as held:
        report = books.load_paths(held, [folder], on=ON)
        assert report.total.refused == 0 and tuple(report.ignored) == ()
        yield held


@pytest.fixture(scope="module")
def answer(store: Store) -> Answer:
    return desk.ask("weather", store, on=ON)


def values(answer: Answer, quantity: str) -> dict[date, float]:
    """Return one quantity by day."""
    return {r["date"]: r["value"] for r in answer.findings if r["quantity"] == quantity}


def test_growth_of_every_day_seen(answer: Answer) -> None:
    found = values(answer, "growth_potential")
    days = [ON - timedelta(days=k) for k in range(60) if ON - timedelta(days=k) not in GAP]
    assert [found[d] for d in days] == pytest.approx([growth(d) for d in days], abs=1e-9)


def test_the_gap_is_bridged_between_its_neighbours(answer: Answer) -> None:
    found = values(answer, "growth_potential")
    # the wave is nearly straight over four days: neighbours come within a hundredth
    assert [found[d] for d in sorted(GAP)] == pytest.approx(
        [growth(d) for d in sorted(GAP)], abs=0.01
    )
    filled = {r["date"] for r in answer.findings if r["filled"] and r["date"] <= ON}
    assert filled == set(GAP)


def test_warmth_since_the_year_began(answer: Answer) -> None:
    rows = {r["date"]: r for r in answer.findings if r["quantity"] == "degree_days"}
    days = [date(2026, 1, 1) + timedelta(days=k) for k in range((ON - date(2026, 1, 1)).days + 1)]
    expected = sum(max(0.0, sum(ends(d)) / 2) for d in days)
    assert rows[ON]["total"] == pytest.approx(expected, rel=1e-3)  # two days of it were bridged


def test_growing_days_of_the_year(answer: Answer) -> None:
    (told,) = answer.more["growing_days"]
    days = [date(2026, 1, 1) + timedelta(days=k) for k in range((ON - date(2026, 1, 1)).days + 1)]
    assert told["sum"] == pytest.approx(sum(growth(d) for d in days), rel=1e-3)
    assert told["days"] == len(days)


def test_the_days_ahead_are_those_of_last_year_s_season(answer: Answer) -> None:
    found = values(answer, "growth_potential")
    ahead = ON + timedelta(days=7)
    kinds = {r["date"]: r["kind"] for r in answer.findings}
    assert kinds[ahead] == "typical"
    # a mean of 15 days of two years about that day of the year: near the wave itself
    assert found[ahead] == pytest.approx(growth(ahead), abs=0.12)


def test_what_is_usual_comes_from_the_year_before(answer: Answer) -> None:
    week = next(r for r in answer.more["year"] if r["date"] <= date(2026, 7, 15) <= r["until"])
    assert week["kind"] == "observed"
    same = growth(date(2025, 7, 15))
    assert week["usual"]["low"] <= same <= week["usual"]["high"]
    assert week["usual"]["value"] == pytest.approx(week["value"], abs=0.05)  # the waves are alike


def test_rain_that_soaks_each_week_leaves_little_missing(answer: Answer) -> None:
    water = answer.more["water"]
    by_day = {r["date"]: r for r in water["daily"]}
    soaked = [d for d in by_day if d <= ON and rain(d) and d not in GAP]
    assert len(soaked) >= 7
    for day in soaked:
        # 21 mm read, nine tenths of it enters; a week uses less than that in September
        assert by_day[day]["rain"] == pytest.approx(18.9)
        before = by_day.get(day - timedelta(days=1))
        if before and day >= date(2026, 9, 12):
            assert by_day[day]["deficit"] <= before["deficit"]
    assert by_day[max(soaked)]["deficit"] < 8
    assert sum(r["drained"] for r in water["daily"]) > 0


def test_temperature_alone_gives_no_disease_and_says_so(answer: Answer) -> None:
    assert not [r for r in answer.findings if r["quantity"].startswith("risk:")]
    told = " ".join(g["text"] for g in answer.gaps)
    for lacking in ("humidity", "leaf wetness", "the hours over 90 % humidity"):
        assert lacking in told


def test_water_use_is_wide_where_so_much_stands_in(answer: Answer) -> None:
    row = next(r for r in answer.findings if r["quantity"] == "eto" and r["date"] == ON)
    # by hand: ±1.645·0.2020 of it, humidity, wind and radiation all stood in for
    assert (row["high"] - row["low"]) / row["value"] == pytest.approx(0.6646, abs=0.002)


def test_loading_the_same_file_again_changes_nothing(store: Store, tmp_path: Path) -> None:
    (tmp_path / "again.dly").write_text(fixed_columns(GAP), encoding="utf-8")
    report = books.load_paths(store, [tmp_path / "again.dly"], on=ON)
    assert report.total.refused == 0 and report.total.new == 0
