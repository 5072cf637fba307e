"""The picture of putts: which green, which slope, a height grid, and the same chance twice."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.estimate import normal_estimate
from greenwright.base.evidence import value
from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import levels
from greenwright.desk.golfing.picture import (
    PATHS,
    PUTTS,
    Scene,
    check_slope,
    on_grid,
    putts_row,
    read_heights,
    scene,
)
from greenwright.desk.golfing.players import chosen_player, named, players
from greenwright.desk.golfing.simulated import roll_putts
from greenwright.golfers import holing_chance, player
from greenwright.roll.roughness import heading_walk
from tests.desk.golfing.made import record, speed, station, surface, trueness


def speeds(*values: float) -> dict:
    each = tuple(normal_estimate(v, 0.05, "m") for v in values)
    return {
        "green_speed": surface("green_speed", normal_estimate(3.0, 0.05, "m"), each),
        "trueness": trueness(),
    }


def placed(held=None, surfaces=None, **options) -> Scene:
    asked = Asked(**options)
    surfaces = speeds(2.8, 3.02, 3.3) if surfaces is None else surfaces
    held = held or record(stations=(station("2", 1.6), station("2", 0.4), station("3", None)))
    return scene(held, surfaces, levels(held, surfaces, asked), asked)


def grid_file(tmp_path: Path, *, rows: int = 41, slope: float = 0.02) -> Path:
    """Write an ESRI ASCII grid of 0.25 m cells that rises towards the east."""
    line = " ".join(f"{0.25 * column * slope:.5f}" for column in range(41))
    head = f"ncols 41\nnrows {rows}\nxllcenter 100\nyllcenter 200\ncellsize 0.25\n"
    path = tmp_path / "green-2.asc"
    path.write_text(head + "\n".join([line] * rows) + "\n", encoding="utf-8")
    return path


def test_the_green_nearest_the_course_and_its_own_slope() -> None:
    place = placed()
    # by hand: 3.02 m is nearest 3.0; the mean of 1.6 and 0.4 % is 1 %
    assert (place.green, place.speed_m) == ("2", 3.02)
    assert place.slope == pytest.approx(0.01)
    assert place.hole == (0.0, value("putts.picture_distance"))
    assert place.assumed == {"putts.picture_distance"}


def test_a_green_without_a_slope_takes_the_usual_one_and_says_so() -> None:
    place = placed(green="3", distance_m=2.0)
    assert place.slope == value("putts.picture_slope")
    assert place.assumed == {"putts.picture_slope"} and place.speed_m == 3.3


def test_levels_asked_for_hold_on_the_pictured_green() -> None:
    place = placed(speed_m=3.4, trueness_t=7e-6)
    assert (place.speed_m, place.trueness_t) == (3.4, 7e-6)


def test_a_course_never_read_rolls_at_its_prior() -> None:
    place = placed(surfaces={})
    assert place.green == "1" and place.speed_m == value("measure.green_speed.level")


def test_an_unknown_green_or_player_is_refused_with_the_list() -> None:
    with pytest.raises(UnknownKey, match="1, 2, 3"):
        placed(green="19")
    with pytest.raises(UnknownKey, match="tour, 90"):
        chosen_player(players(()), "pro")
    assert chosen_player(players(()), "").name == "90"


def test_a_slope_on_which_no_ball_stops_is_refused() -> None:
    with pytest.raises(BadInput, match="too steep to putt on"):
        placed(held=record(stations=(station("2", 9.0),)))
    # by hand: nine tenths of 0.2387/3 = 7.2 %
    check_slope(0.0716, 3.0)
    with pytest.raises(BadInput, match=r"7\.2 %"):
        check_slope(0.0717, 3.0)


@pytest.mark.parametrize("name", ["tour", "90"])
def test_as_many_drop_as_the_integral_says(name: str) -> None:
    who = player(name)
    asked = Asked(distance_m=1.5)
    row = putts_row(Scene("2", 3.0, 2e-6, 0.0, None, (0, 0), (0, 1.5)), who, asked)
    walk = heading_walk(2e-6, 3.0)
    chance = holing_chance(1.5, green_speed_m=3.0, heading_k=walk, player=who)
    sd = math.sqrt(PUTTS * chance * (1 - chance))
    # the holing integral, another way to the same chance; four standard errors
    assert row["holed"] == pytest.approx(PUTTS * chance, abs=4 * sd)


def test_the_row_is_drawn_from_what_was_rolled() -> None:
    row = putts_row(placed(), player("90"), Asked())
    assert (row["green"], row["n"], row["player"]) == ("2", PUTTS, "90")
    assert len(row["ends"]) == len(row["perfect_ends"]) == PUTTS
    assert len(row["paths"]) == PATHS
    assert sum(holed for _, _, holed in row["ends"]) == row["holed"]
    assert sum(holed for _, _, holed in row["perfect_ends"]) == row["holed_perfect"]
    assert row["heights"] is None and row["distance_m"] == pytest.approx(3.048)
    for path, end in zip(row["paths"], row["ends"], strict=False):
        assert path[0] == [0.0, 0.0] and path[-1] == end[:2]
        assert np.hypot(*np.diff(path, axis=0).T).max() < 0.2
    for x, y, holed in row["ends"]:
        assert not holed or (x, y) == pytest.approx(row["hole"], abs=1e-4)


def test_a_perfect_surface_asked_for_is_the_perfect_picture() -> None:
    row = putts_row(placed(trueness_t=0.0), player("90"), Asked())
    assert row["ends"] == row["perfect_ends"] and row["holed"] == row["holed_perfect"]


def test_the_ball_breaks_down_the_slope() -> None:
    row = putts_row(Scene("2", 3.0, 0.0, 0.02, None, (0, 0), (0, 3)), player("90"), Asked())
    # higher on the right: those that miss end more often on the left
    sideways = [x for x, _, holed in row["ends"] if not holed]
    assert np.mean(sideways) < 0


def test_a_height_grid_is_putted_across_its_middle(tmp_path: Path) -> None:
    place = placed(heights=grid_file(tmp_path), distance_m=4.0)
    # by hand: 41 nodes of 0.25 m from 100 and 200: the middle is (105, 205)
    assert place.start == (105.0, 203.0) and place.hole == (105.0, 207.0)
    assert place.slope == pytest.approx(0.02, abs=1e-6)
    row = putts_row(place, player("tour"), Asked(heights=grid_file(tmp_path)))
    assert row["heights"] == "green-2.asc" and row["start"] == [105.0, 203.0]
    flat = putts_row(
        Scene("2", place.speed_m, place.trueness_t, 0.02, None, (105, 203), (105, 207)),
        player("tour"),
        Asked(),
    )
    assert row["holed"] == pytest.approx(flat["holed"], abs=4)


def test_a_putt_that_does_not_fit_its_grid_is_refused(tmp_path: Path) -> None:
    grid = read_heights(grid_file(tmp_path, rows=13))
    with pytest.raises(BadInput, match="does not fit"):
        on_grid(grid, 3.0)


@pytest.mark.parametrize(
    ("text", "name", "says"),
    [
        ("ncols 2\n", "g.asc", "header lacks"),
        ("x_m,y_m\n1,2\n", "g.csv", "no column z_m"),
        ("", "g.asc", "header lacks"),
    ],
)
def test_a_file_that_is_no_grid_is_refused(tmp_path: Path, text: str, name: str, says: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=says):
        read_heights(path)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file") as caught:
        read_heights(tmp_path / "none.asc")
    assert "none.asc" in caught.value.where


def test_heights_in_csv_are_read_too(tmp_path: Path) -> None:
    path = tmp_path / "g.csv"
    nodes = [f"{x},{y},{0.01 * x:.3f}" for y in range(8) for x in range(8)]
    path.write_text("\ufeffx_m,y_m,z_m\n" + "\n".join(nodes), encoding="utf-8")
    assert read_heights(path).heights_m.shape == (8, 8)


@pytest.mark.parametrize(
    ("who", "says"),
    [({"angle_sd": 0.02}, "not said"), ({"name": "pro"}, "tour, 90")],
)
def test_half_a_player_is_refused(who: dict, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        named(**who)
    assert named(angle_sd=0.02, distance_sd=0.1).angle_sd == 0.02


def test_putts_by_the_thousand_agree_with_the_integral() -> None:
    who = named("90")
    ends = roll_putts(1.5, who, green_speed_m=3.0, trueness_t=2e-6, n=4000, seed=5)
    chance = holing_chance(1.5, green_speed_m=3.0, heading_k=heading_walk(2e-6, 3.0), player=who)
    # four standard errors of 4,000 putts
    assert ends.holed.mean() == pytest.approx(chance, abs=4 * math.sqrt(0.25 / 4000))
    again = roll_putts(1.5, who, green_speed_m=3.0, trueness_t=2e-6, n=4000, seed=5)
    assert (ends.x == again.x).all()


@pytest.mark.parametrize(("distance", "n"), [(0.0, 10), (3.0, 0), (3.0, 6_000_000)])
def test_putts_that_cannot_be_are_refused(distance: float, n: int) -> None:
    with pytest.raises(BadInput, match="cannot roll"):
        roll_putts(distance, named(), n=n)


def test_a_speed_surface_of_one_course_is_enough() -> None:
    assert placed(surfaces={"green_speed": speed(3.1)}).speed_m == 3.1
