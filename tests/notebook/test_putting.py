"""Golfers and simulated putts from a notebook."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import greenwright.notebook as gw
from greenwright.base.errors import BadInput, UnknownKey
from greenwright.desk import books
from greenwright.golfers import holing_chance, player

SMALL = Path(__file__).resolve().parents[1] / "data" / "record-small"


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("notebook") / "small.db"
    with books.open_book(made, create=True) as store:
        books.load_paths(store, [SMALL], on=books.today(store))
    return made


def test_a_book_answers_what_golfers_meet(path: Path) -> None:
    with gw.open(path) as book:
        got = book.golfers(on="2026-06-05", speed_m=3.1, player="tour")
    assert got.answer.more["what_if"]["given"] == ["speed_m"]
    table = got.table
    assert set(table["what"]) == {"notice", "complaints", "holing"}
    made = table.query("what == 'holing' and player == 'tour' and distance_m > 0")
    assert len(made) == 9 and made["chance"].is_monotonic_decreasing
    assert {"estimate", "estimate_low", "estimate_high"} <= set(table.columns)


def test_a_frame_has_one_row_for_each_ball() -> None:
    got = gw.putts(2.0, player="tour", green_speed_m=3.2, n=500, seed=3)
    assert list(got.columns) == ["x_m", "y_m", "holed", "rested"] and len(got) == 500
    assert got["rested"].all()
    assert np.allclose(got.loc[got["holed"], ["x_m", "y_m"]], [0.0, 2.0])
    same = gw.putts(2.0, player="tour", green_speed_m=3.2, n=500, seed=3)
    assert got.equals(same)
    assert not got.equals(gw.putts(2.0, player="tour", green_speed_m=3.2, n=500, seed=4))


@pytest.mark.parametrize("name", ["tour", "90"])
def test_the_made_share_is_that_of_the_integral(name: str) -> None:
    share = gw.putts(2.0, player=name, green_speed_m=3.2, n=8000)["holed"].mean()
    chance = holing_chance(2.0, green_speed_m=3.2, player=player(name))
    # the holing integral is another way to the same chance; four standard errors
    assert share == pytest.approx(chance, abs=4 * math.sqrt(0.25 / 8000))


def test_a_steady_player_on_a_true_level_green_holes_everything() -> None:
    got = gw.putts(2.0, angle_sd=1e-4, distance_sd=0.01, n=200)
    assert got["holed"].all()


def test_a_height_grid_takes_the_place_of_the_slope(tmp_path: Path) -> None:
    rows = "\n".join([" ".join(f"{0.005 * c:.3f}" for c in range(33))] * 33)
    path = tmp_path / "g.asc"
    head = "ncols 33\nnrows 33\nxllcorner 0\nyllcorner 0\ncellsize 0.25\n"
    path.write_text(head + rows, encoding="utf-8")
    on_grid = gw.putts(2.0, heights=str(path), n=4000)["holed"].mean()
    on_plane = gw.putts(2.0, slope=0.02, n=4000)["holed"].mean()
    assert on_grid == pytest.approx(on_plane, abs=4 * math.sqrt(0.5 / 4000))


@pytest.mark.parametrize(
    ("options", "error", "says"),
    [
        ({"player": "pro"}, UnknownKey, "tour, 90"),
        ({"angle_sd": 0.02}, BadInput, "both angle_sd"),
        ({"slope": 0.2}, BadInput, "too steep"),
        ({"n": 0}, BadInput, "1 to"),
        ({"heights": "none.asc"}, BadInput, "no such file"),
    ],
)
def test_what_cannot_be_rolled_is_refused(options: dict, error: type[Exception], says: str) -> None:
    with pytest.raises(error, match=says):
        gw.putts(2.0, **options)
