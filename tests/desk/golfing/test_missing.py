"""What is missed: rows of each player, now and perfectly true, and what a what-if changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from greenwright.desk.golfing.asked import Asked
from greenwright.desk.golfing.levels import levels
from greenwright.desk.golfing.missing import PUTTS, holing_rows
from greenwright.desk.golfing.players import players
from greenwright.golfers import HOLING_DISTANCES_M, holing_chance, player
from greenwright.roll.roughness import heading_walk
from tests.desk.golfing.made import record, speed, trueness

SURFACES = {"green_speed": speed(), "trueness": trueness()}


def rows(distance_m: float | None = None, **options: float) -> list[dict]:
    met = levels(record(), SURFACES, Asked(**options))
    return [dict(row) for row in holing_rows(players(()), met, distance_m=distance_m)]


def test_two_players_at_nine_distances_and_their_putts() -> None:
    found = rows()
    assert [r["player"] for r in found] == ["tour"] * 10 + ["90"] * 10
    assert tuple(r["distance_m"] for r in found[:9]) == HOLING_DISTANCES_M
    assert found[9]["about"] == PUTTS and found[9]["distance_m"] is None
    for row in found:
        assert (
            row["capture_speed"] == 1.32 and f"players.{row['player']}.angle_sd" in row["sources"]
        )


def test_a_perfect_surface_never_holes_fewer() -> None:
    for row in rows():
        if row["about"] == PUTTS:
            assert row["estimate"].value == pytest.approx(
                row["putts_now"].value - row["putts_perfect"].value
            )
            assert row["estimate"].low >= 0 and row["chance"] is None
            continue
        assert row["chance_perfect"] >= row["chance"] and row["difference"].low >= 0
        assert row["difference"].value == pytest.approx(row["chance_perfect"] - row["chance"])
        assert row["estimate"].value == pytest.approx(row["chance"])
        assert row["putts_to_tell"] > 1000


def test_a_perfect_surface_asked_for_takes_nothing() -> None:
    for row in rows(trueness_t=0.0):
        lost = row["estimate"] if row["about"] == PUTTS else row["difference"]
        assert lost.value == pytest.approx(0, abs=1e-12) and row["putts_to_tell"] is None


def test_levels_asked_for_are_those_reckoned_with() -> None:
    met = levels(record(), SURFACES, Asked(speed_m=3.3528, trueness_t=4e-6))
    sure = replace(player("tour"), spread=((0.0,) * 3,) * 3)
    row = next(r for r in holing_rows((sure,), met) if r["distance_m"] == HOLING_DISTANCES_M[3])
    walk = heading_walk(4e-6, 3.3528)
    expected = holing_chance(1.524, green_speed_m=3.3528, heading_k=walk, player=sure)
    assert row["chance"] == pytest.approx(expected, abs=1e-9)
    # the tour table holds 75.8 % from 5 ft on a green of 11 ft
    assert row["chance_perfect"] == pytest.approx(0.758, abs=1e-3)


def test_one_distance_more_takes_its_place() -> None:
    distances = [r["distance_m"] for r in rows(distance_m=2.0) if r["player"] == "90"][:-1]
    assert distances == sorted([*HOLING_DISTANCES_M, 2.0])
    assert len(rows(distance_m=HOLING_DISTANCES_M[0])) == len(rows())


def test_players_of_the_club_are_told_from_the_common_ones() -> None:
    own = replace(player("90"), name="90", n_putts=300)
    who = players((own, replace(own, name="")))
    assert [one.name for one in who] == ["tour", "90", "90 here", "club here"]
    met = levels(record(), SURFACES, Asked())
    last = holing_rows(who[2:3], met)[-1]
    assert last["player"] == "90 here" and last["n_putts"] == 300
    assert "players.own.angle_spread" in last["sources"]
    assert "players.90.first_putt" in last["sources"]
    assert last["putts_to_tell"] == round(last["rounds_to_tell"] * last["putts_now"].value)
