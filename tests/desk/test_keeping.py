"""Forecasts are kept when given, and the last one stands on Today."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import desk
from greenwright.base.errors import StoreError
from greenwright.base.estimate import normal_estimate
from greenwright.desk import keeping
from greenwright.desk.keeping import FRESH_D, days_ahead, keep
from greenwright.desk.looking_ahead import rounded
from greenwright.record import ForecastRow, Store, forecasts
from tests.desk.played import PLAYED_ON, load_played, opened

MODEL = "forecast 1"


def row(ahead: int, green: str = "course", *, on: date = PLAYED_ON, mean: float = 2.9):
    quantiles = {"0.05": mean - 0.16, "0.25": mean - 0.07, "0.5": mean, "0.75": mean + 0.07}
    return ForecastRow(
        date=on + timedelta(days=ahead),
        green=green,
        quantity="green_speed",
        mean=mean,
        sd=0.1,
        quantiles=quantiles | {"0.95": mean + 0.16},
        unit="m",
        n=40,
    )


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with opened(load_played(tmp_path, days=20)) as held:
        yield held


def given(store: Store, on: date, *ahead: int, mean: float = 2.9) -> bool:
    rows = [row(k, g, on=on, mean=mean) for k in ahead for g in ("course", "1")]
    return keep(store, rows, course=None, on=on, model=MODEL)


def test_today_shows_the_course_as_forecast_on_its_day(store: Store) -> None:
    assert given(store, PLAYED_ON, 1, 2, 14)
    told = desk.today(store, on=PLAYED_ON).more
    assert told["ahead_made_on"] == PLAYED_ON
    assert [(r["green"], (r["date"] - PLAYED_ON).days) for r in told["ahead"]] == [
        ("course", 1), ("course", 2), ("course", 14)
    ]  # fmt: skip
    first = told["ahead"][0]
    assert (first["estimate"].value, first["estimate"].low, first["estimate"].high) == (
        pytest.approx(2.9), pytest.approx(2.74), pytest.approx(3.06)
    )  # fmt: skip
    assert first["quantiles"]["0.25"] == pytest.approx(2.83) and first["estimate"].n == 40


def test_without_a_forecast_today_has_no_rows(store: Store) -> None:
    told = desk.today(store, on=PLAYED_ON).more
    assert told["ahead"] == [] and told["ahead_made_on"] is None


def test_an_earlier_forecast_stands_until_it_is_a_week_old(store: Store) -> None:
    given(store, PLAYED_ON, 1, 2, 14)
    for days, left in ((1, 2), (FRESH_D, 1)):
        rows, made_on = days_ahead(store, course=None, on=PLAYED_ON + timedelta(days=days))
        assert (len(rows), made_on) == (left, PLAYED_ON)
    late = PLAYED_ON + timedelta(days=FRESH_D + 1)
    assert days_ahead(store, course=None, on=late) == ([], None)


def test_the_latest_forecast_alone_counts_and_none_of_a_later_day(store: Store) -> None:
    given(store, PLAYED_ON - timedelta(days=2), 1, 5, mean=2.5)
    given(store, PLAYED_ON, 1, mean=3.0)
    given(store, PLAYED_ON + timedelta(days=1), 1, mean=9.0)
    rows, made_on = days_ahead(store, course=None, on=PLAYED_ON)
    assert made_on == PLAYED_ON and [r["estimate"].value for r in rows] == [3.0]


def test_a_record_that_cannot_be_written_gives_its_answer_all_the_same(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> int:
        raise StoreError("the record cannot be written", where="here", do="Allow writing")

    monkeypatch.setattr(keeping, "keep_forecast", refuse)
    assert given(store, PLAYED_ON, 1) is False


def test_keeping_leaves_every_answer_about_the_record_current(store: Store) -> None:
    before = store.stamp()
    given(store, PLAYED_ON, 1)
    assert store.stamp() == before
    assert len(forecasts(store, course=None, on=PLAYED_ON)) == 2


def test_digits_far_under_the_spread_are_not_told() -> None:
    held = replace(
        normal_estimate(2.97579799448, 0.0935567253, "m"), quantiles={"0.5": 2.97577740371}
    )
    told = rounded(held)
    # by hand: three places beyond the first digit of 0.09
    assert (told.value, told.sd, told.quantiles) == (2.9758, 0.09356, {"0.5": 2.97578})
    assert abs(told.low - held.low) <= held.sd / 1000
    sure = normal_estimate(1 / 3, 0.0, "m")
    assert rounded(sure) == sure
    # by hand: a spread of hundreds leaves tens in place
    assert rounded(normal_estimate(123456.789, 512.3, "mL/m2")).value == 123456.8
