"""The reckoner gives the tables that were worked out apart from this program.

Closed forms of a ball on a plane, checked there against an integrator of differential equations;
holing tables from a fit to an open table of 1,253,196 putts of a professional tour, integrated
there by another method. Feet as the tables print them.
"""

from __future__ import annotations

import math

import pytest

from greenwright.desk.reckon import reckon

FT = 0.3048


def results(name: str, **inputs: str | float) -> dict[str, float]:
    return {key: held.number for key, held in reckon(name, inputs).result.items()}


@pytest.mark.parametrize(
    ("slope", "up", "down"),
    # rolls of the ramp on a green of 10 ft, printed to a thousandth of a foot
    [(0.01, 8.868, 11.464), (0.02, 7.968, 13.432), (0.03, 7.234, 16.215), (0.04, 6.625, 20.454)],
)
def test_the_ramp_on_a_slope(slope: float, up: float, down: float) -> None:
    got = results("ramp-slope", speed="10ft", slope=f"{100 * slope:g}%")
    assert got["up"] / FT == pytest.approx(up, abs=6e-4)
    # the steepest row lies so near to never stopping that a last digit of g shows
    assert got["down"] / FT == pytest.approx(down, abs=2e-3)
    turned = results("ramp-slope", speed="10ft", slope=f"{-100 * slope:g}%")
    assert turned["up"] == pytest.approx(got["down"])


@pytest.mark.parametrize(
    ("slope", "over"),
    # how far the plain mean overstates a green of 10 ft, in feet
    [("1%", 0.17), ("2%", 0.70), ("3%", 1.72), ("4%", 3.54)],
)
def test_the_plain_mean_overstates(slope: str, over: float) -> None:
    got = results("ramp-slope", speed="10ft", slope=slope)
    assert (got["up"] + got["down"]) / 2 / FT - 10 == pytest.approx(over, abs=6e-3)


@pytest.mark.parametrize(("slope", "launch"), [("0", 1.8143), ("2%", 2.0326), ("-2%", 1.5655)])
def test_three_metres_dying_at_the_hole(slope: str, launch: float) -> None:
    got = results("putt-speed", distance="3 m", speed="10ft", slope=slope, past="0")
    assert got["launch_speed"] == pytest.approx(launch, abs=6e-5)
    assert got["arrival_speed"] == 0


@pytest.mark.parametrize(("feet", "arrival"), [(8, 0.770), (10, 0.688), (12, 0.628)])
def test_speed_at_the_hole_for_seventeen_inches_past(feet: int, arrival: float) -> None:
    for distance in ("1 m", "9 m"):
        got = results("putt-speed", distance=distance, speed=f"{feet}ft")
        assert got["arrival_speed"] == pytest.approx(arrival, abs=6e-4)


@pytest.mark.parametrize(
    ("feet", "seconds"), [(4, 1.333), (8, 2.667), (10, 3.333), (12, 4.0), (14, 4.667)]
)
def test_the_time_of_the_ramps_own_roll(feet: int, seconds: float) -> None:
    got = results("putt-speed", distance=f"{feet}ft", speed=f"{feet}ft", past="0")
    assert got["time"] == pytest.approx(seconds, abs=6e-4)
    assert got["launch_speed"] == pytest.approx(1.8288)


@pytest.mark.parametrize(
    ("feet", "steepest"), [(4, 0.196), (8, 0.0979), (10, 0.0783), (12, 0.0653), (14, 0.0560)]
)
def test_the_slope_at_which_a_ball_never_stops(feet: int, steepest: float) -> None:
    results("ramp-slope", speed=f"{feet}ft", slope=f"{steepest - 1e-3:.5f}")
    with pytest.raises(Exception, match="never stops"):
        results("ramp-slope", speed=f"{feet}ft", slope=f"{steepest + 1e-3:.5f}")


@pytest.mark.parametrize(
    ("feet", "slope", "speed", "degrees", "downhill", "across"),
    [
        (10, "2%", 1.8288, 90, 0.4164, 3.0991),
        (10, "2%", 1.0, 90, 0.1245, 0.9266),
        (10, "1%", 1.8288, 90, 0.1978, 3.0606),
        (12, "4%", 1.8288, 90, 1.7963, 4.0398),
        (10, "2%", 1.8288, 60, 2.1511, 2.8553),
    ],
)
def test_the_break_table(
    feet: int, slope: str, speed: float, degrees: int, downhill: float, across: float
) -> None:
    inputs = {"launch_speed": f"{speed} m/s", "speed": f"{feet}ft", "slope": slope}
    got = results("break", **inputs, angle=f"{degrees} deg")
    assert got["downhill"] == pytest.approx(downhill, abs=6e-5)
    assert got["across"] == pytest.approx(across, abs=6e-5)


@pytest.mark.parametrize(
    ("feet", "slope", "angle"), [(10, "2%", 7.65), (10, "1%", 3.70), (12, "4%", 23.97)]
)
def test_the_angle_to_the_resting_place(feet: int, slope: str, angle: float) -> None:
    got = results("break", launch_speed="1.3", speed=f"{feet}ft", slope=slope, angle="90")
    turned = math.degrees(math.atan2(got["downhill"], got["across"]))
    assert turned == pytest.approx(angle, abs=6e-3)


@pytest.mark.parametrize(
    ("part", "fit", "fall"),
    [(0, 1.630, 1.313), (0.25, 1.528, 1.243), (0.5, 1.2225, 0.987), (0.6, 1.043, 0.716),
     (0.75, 0.713, 0), (0.9, 0.310, 0), (1, 0, 0)],
)  # fmt: skip
def test_the_capture_table(part: float, fit: float, fall: float) -> None:
    got = results("capture", offset=f"{part * 53.98!r} mm")
    assert got["max_speed"] == pytest.approx(fit, abs=6e-4)
    assert got["free_fall_speed"] == pytest.approx(fall, abs=6e-4)


TOUR = [(2, 99.7), (3, 95.5), (5, 75.8), (8, 49.7), (10, 38.4), (15, 22.3), (20, 14.4),
        (30, 7.4), (40, 4.4)]  # fmt: skip


@pytest.mark.parametrize(("feet", "percent"), TOUR)
def test_the_tour_table(feet: int, percent: float) -> None:
    got = results("holing", distance=f"{feet}ft", speed="11ft", player="tour")
    assert 100 * got["chance"] == pytest.approx(percent, abs=0.06)
    assert got["chance"] == got["chance_perfect"]


ROUGH = [
    # player, green speed ft, distance ft, % for K = 0, 2e-5, 7.3e-5, 2e-4, 5.1e-4 m
    ("tour", 11, 5, (75.8, 75.5, 74.8, 73.2, 69.7)),
    ("tour", 11, 10, (38.4, 38.2, 37.9, 37.0, 35.2)),
    ("tour", 11, 20, (14.4, 14.4, 14.3, 14.1, 13.6)),
    ("90", 10, 5, (49.9, 49.8, 49.5, 48.9, 47.5)),
    ("90", 10, 10, (20.7, 20.7, 20.6, 20.4, 19.9)),
    ("90", 10, 20, (6.7, 6.7, 6.7, 6.7, 6.6)),
]


@pytest.mark.parametrize(("player", "feet", "distance", "percents"), ROUGH)
def test_the_roughness_table(
    player: str, feet: int, distance: int, percents: tuple[float, ...]
) -> None:
    rho = 0.23872 / (feet * FT)  # by hand: v0²/(2·(5/7)·g) over the green speed
    for walk, percent in zip((0, 2e-5, 7.3e-5, 2e-4, 5.1e-4), percents, strict=True):
        index = 4 * rho**2 * walk
        got = results(
            "holing", distance=f"{distance}ft", speed=f"{feet}ft", player=player,
            trueness=f"{index:.9g} m",
        )  # fmt: skip
        assert 100 * got["chance"] == pytest.approx(percent, abs=0.11)


def test_the_index_of_a_fair_surface() -> None:
    # side slopes of 1 % over 10 mm: T = 2·0.01²·0.01 = 2e-6 m, K = 8.150e-5 m at 10 ft, and
    # balls of the ramp end 15.76 mm apart (standard deviation)
    apart = 15.76 / math.sqrt(2)
    offsets = f"{-apart!r}, {apart!r} mm"
    got = results("trueness", offsets=offsets, length="3.048 m", speed="10ft")
    assert got["heading_k"] == pytest.approx(8.150e-5, rel=2e-3)
    assert got["trueness_t"] == pytest.approx(2e-6, rel=2e-3)


@pytest.mark.parametrize(
    ("rolls", "low", "high"),
    # 95 % intervals of a standard deviation, table of chi-square: x low, x high
    [(6, 0.62, 2.45), (10, 0.69, 1.83), (20, 0.76, 1.46), (30, 0.80, 1.34)],
)
def test_intervals_are_narrower_than_those_of_95_percent(
    rolls: int, low: float, high: float
) -> None:
    offsets = ",".join(["10", "-10"] * (rolls // 2)) + " mm"
    got = results("trueness", offsets=offsets, length="3 m", speed="3 m")
    middle = got["sideways_sd_per_length"]
    assert low < got["sideways_sd_per_length_low"] / middle < 1
    assert 1 < got["sideways_sd_per_length_high"] / middle < high


@pytest.mark.parametrize(("stations", "feet"), [(1, 0.31), (2, 0.22), (3, 0.18), (6, 0.13)])
def test_more_stations_beat_more_balls(stations: int, feet: float) -> None:
    got = results("speed-sample", stations=stations, rolls=6, sd_station="0.3ft", sd_roll="0.17ft")
    assert got["standard_error"] / FT == pytest.approx(feet, abs=6e-3)


@pytest.mark.parametrize(("sd", "n", "normal"), [("0.2", 4, 3), ("0.3", 7, 6), ("0.4", 12, 11)])
def test_greens_per_group(sd: str, n: int, normal: int) -> None:
    got = results("compare-sample", sd=f"{sd}ft", difference="0.5ft", power="0.8")
    assert (got["n"], got["n_normal"]) == (n, normal)
