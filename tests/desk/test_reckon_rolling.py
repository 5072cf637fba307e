"""The reckoner of the rolling ball: how its arguments are read, and what it refuses."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.desk.reckon import calculators, reckon
from greenwright.desk.reckon.display import displayed
from greenwright.desk.reckon.fitting import fits, turned
from greenwright.desk.reckon.reading import list_parts
from greenwright.desk.reckon.shape import Given

speeds = st.floats(1.5, 4.5)


def value(name: str, key: str, **inputs: str | float) -> float:
    return reckon(name, inputs).result[key].number


def notes(name: str, **inputs: str | float) -> str:
    return " | ".join(reckon(name, inputs).notes)


@pytest.mark.parametrize("slope", ["2%", "2 %", "0.02", "20 mm/m", 0.02, "2 percent"])
def test_a_slope_is_read_in_every_spelling(slope: str | float) -> None:
    got = reckon("ramp-slope", {"speed": "10ft", "slope": slope})
    assert got.inputs["slope"] == Given(0.02, "1")


@pytest.mark.parametrize(
    ("angle", "rad"),
    # by hand: a circle is 360 degrees, 2 pi rad, 6283.185 mrad
    [("90 deg", math.pi / 2), ("90", math.pi / 2), ("90°", math.pi / 2), ("180 degrees", math.pi),
     ("1 rad", 1.0), ("500 mrad", 0.5), (60, math.pi / 3)],
)  # fmt: skip
def test_an_angle_is_read_in_every_spelling(angle: str | float, rad: float) -> None:
    inputs = {"launch_speed": "1.5 m/s", "speed": "10ft", "slope": "2%", "angle": angle}
    assert reckon("break", inputs).inputs["angle"].number == pytest.approx(rad, abs=1e-12)


@pytest.mark.parametrize(
    ("offsets", "metres"),
    [
        ("12, -5, 8 mm", (0.012, -0.005, 0.008)),
        ("12mm,-5mm,8mm", (0.012, -0.005, 0.008)),
        ("0.012,-0.005,0.008", (0.012, -0.005, 0.008)),
        ("1 cm, 0.5 in, 0.02", (0.01, 0.0127, 0.02)),  # by hand: an inch is 25.4 mm
        ("12,-5,8mm", (0.012, -0.005, 0.008)),
    ],
)
def test_a_list_of_offsets_is_read_in_any_unit(offsets: str, metres: tuple[float, ...]) -> None:
    got = reckon("trueness", {"offsets": offsets, "length": "3 m", "speed": "3 m"})
    assert got.inputs["offsets"].numbers == pytest.approx(metres)
    row = got.as_dict()["inputs"]["offsets"]
    assert row["unit"] == "m" and row["value"] == pytest.approx(list(metres))


def test_a_unit_holds_for_a_whole_list_only_from_its_end() -> None:
    assert list_parts("1 mm, 2, 3 mm") == ["1 mm", "2", "3 mm"]
    assert list_parts("1 mm, 2") == ["1 mm", "2"]
    assert list_parts("7 mm") == ["7 mm"]


def test_what_was_assumed_of_a_bare_number_is_told_once() -> None:
    told = notes("ramp-slope", speed="3", slope="0.02")
    assert "speed: 3 read as m" in told and "slope: 0.02 read as a fraction, not percent" in told
    assert "read as" not in notes("putt-speed", distance="3 m", speed="10ft", slope="0")
    assert "numbers alone read as m" in notes(
        "trueness", offsets="0.01,-0.01", length="3 m", speed="3 m"
    )


REFUSED = [
    ("ramp-slope", {"speed": "10ft", "slope": "8%"}, "never stops downhill"),
    ("ramp-slope", {"speed": "10ft", "slope": "2"}, "outside the range"),
    ("ramp-slope", {"speed": "10ft", "slope": "2 deg"}, "'deg' is no unit of this"),
    ("ramp-slope", {"speed": "10", "slope": "2%"}, "write speed=10ft"),
    ("putt-speed", {"distance": "3 m", "speed": "10ft", "slope": "-8%"}, "never stops"),
    ("putt-speed", {"distance": "0", "speed": "10ft"}, "outside the range"),
    ("putt-speed", {"distance": "3 m", "speed": "10ft", "past": "-1"}, "outside the range"),
    ("break", {"launch_speed": "1.8", "speed": "10ft", "slope": "8%", "angle": "90"},
     "never stops"),
    ("break", {"launch_speed": "1.8", "speed": "10ft", "slope": "2%", "angle": "190"},
     "0 to 180 deg"),
    ("break", {"launch_speed": "1.8", "speed": "10ft", "slope": "2%", "angle": "50 %"},
     "'%' is no unit of this"),
    ("break", {"launch_speed": "9 m", "speed": "10ft", "slope": "2%", "angle": "90"},
     "'m' is no unit of this"),
    ("capture", {"offset": "54 mm"}, "misses the hole"),
    ("capture", {"offset": "20"}, "misses the hole"),
    ("holing", {"distance": "3 m", "speed": "10ft"}, "not said who putts"),
    ("holing", {"distance": "3 m", "speed": "10ft", "player": "90", "angle_sd": "1deg",
                "distance_sd": "10%"}, "both given"),
    ("holing", {"distance": "3 m", "speed": "10ft", "angle_sd": "1deg"}, "not said who putts"),
    ("holing", {"distance": "3 m", "speed": "10ft", "angle_sd": "1.2", "distance_sd": "10%"},
     "degrees are written 1.2deg"),
    ("holing", {"distance": "3 m", "speed": "10ft", "player": "pro"}, "tour | 90"),
    ("holing", {"distance": "3 m", "speed": "10ft", "player": "90", "trueness": "-1e-6 m"},
     "outside the range"),
    ("trueness", {"offsets": "12mm", "length": "3 m", "speed": "3 m"}, "no spread"),
    ("trueness", {"offsets": "12, -5, 8", "length": "3 m", "speed": "3 m"},
     "millimetres are written"),
    ("trueness", {"offsets": "5,5,5 mm", "length": "3 m", "speed": "3 m"}, "all offsets are alike"),
    ("trueness", {"offsets": "1,,3 mm", "length": "3 m", "speed": "3 m"}, "is not a number"),
    ("trueness", {"offsets": ",".join(["1"] * 1001) + " mm", "length": "3 m", "speed": "3 m"},
     "too many"),
    ("speed-sample", {"stations": "0", "rolls": "6"}, "outside the range"),
    ("speed-sample", {"stations": "2.5", "rolls": "6"}, "not a whole number"),
    ("compare-sample", {"sd": "0.3ft", "difference": "0"}, "outside the range"),
    ("compare-sample", {"sd": "0.3ft", "difference": "1 score"}, "the same kind of unit"),
    ("compare-sample", {"sd": "10 m", "difference": "1 mm"}, "more than 100000"),
    ("compare-sample", {"sd": "0.3ft", "difference": "0.5ft", "design": "split"},
     "two groups | paired"),
    ("compare-sample", {"sd": "0.3ft", "difference": "0.5ft", "power": "80"}, "outside the range"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "inputs", "says"), REFUSED)
def test_outside_the_range_is_refused_in_words(
    name: str, inputs: dict[str, str], says: str
) -> None:
    with pytest.raises(BadInput) as caught:
        reckon(name, inputs)
    assert says in str(caught.value) and caught.value.exit_code == 2


def test_a_stranger_is_told_the_nearest_argument() -> None:
    with pytest.raises(UnknownKey, match="Did you mean speed"):
        reckon("ramp-slope", {"sped": "10ft", "slope": "2%"})


@given(speeds, st.floats(-0.03, 0.03))
def test_the_ramp_both_ways_gives_speed_and_slope_back(speed: float, slope: float) -> None:
    rolls = reckon("ramp-slope", {"speed": speed, "slope": slope}).result
    up, down = rolls["up"].number, rolls["down"].number
    if max(up, down) > 15:  # the two-way form takes rolls up to 15 m
        return
    back = reckon("two-way-speed", {"up": up, "down": down}).result
    # the two-way form is exact up to 1/cos of the slope: 0.05 % at 3 %
    assert back["level_speed"].number == pytest.approx(speed, rel=6e-4)
    assert back["slope"].number == pytest.approx(slope, abs=1e-9)


@given(speeds, st.floats(0.5, 12), st.floats(0, 1.5))
def test_a_level_putt_keeps_its_energy(speed: float, distance: float, past: float) -> None:
    got = reckon("putt-speed", {"distance": distance, "speed": speed, "past": past}).result
    launch, arrival = got["launch_speed"].number, got["arrival_speed"].number
    slowing = 1.8288**2 / (2 * speed)  # by hand: a = v0²/(2S)
    assert launch**2 - arrival**2 == pytest.approx(2 * slowing * distance)
    assert got["time"].number == pytest.approx((launch - arrival) / slowing)


@given(speeds, st.floats(0.3, 2.5), st.floats(5, 175))
def test_break_goes_with_the_square_of_the_speed(speed: float, launch: float, deg: float) -> None:
    def at(v: float) -> tuple[float, float]:
        inputs = {"launch_speed": v, "speed": speed, "slope": 0.02, "angle": f"{deg!r} deg"}
        got = reckon("break", inputs).result
        return got["downhill"].number, got["across"].number

    one, two = at(launch), at(2 * launch)
    assert two == (pytest.approx(4 * one[0]), pytest.approx(4 * one[1]))
    assert one[1] > 0


def test_a_level_break_is_a_straight_roll() -> None:
    across = value("break", "across", launch_speed="1.8288", speed="3 m", slope="0", angle="90")
    assert across == pytest.approx(3.0, abs=1e-6)  # the ramp's ball rolls the green speed


@given(st.floats(0, 0.0539))
def test_capture_falls_from_the_centre_to_the_rim(offset: float) -> None:
    limit = value("capture", "max_speed", offset=offset)
    assert 0 <= limit <= 1.63 and value("capture", "free_fall_speed", offset=offset) <= 1.3131
    assert limit >= value("capture", "max_speed", offset=min(offset + 1e-4, 0.05398))


@pytest.mark.parametrize("player", ["tour", "90"])
def test_roughness_takes_putts_and_says_whose_limit_counts(player: str) -> None:
    chances = [
        value("holing", "chance", distance="5ft", speed="11ft", player=player, trueness=t)
        for t in ("0", "2e-6 m", "8e-6 m")
    ]
    assert chances == sorted(chances, reverse=True)
    told = notes("holing", distance="5ft", speed="11ft", player=player, trueness="8e-6 m")
    assert "own limit of capture is used, 1.32 m/s" in told
    # by hand: 1000·√(T·S)/(2·0.23872) = 1000·√(8e-6·3.3528)/0.47744 = 10.8 mm/m
    assert "10.8 mm/m sideways" in told


def test_the_players_behind_a_chance_are_sources() -> None:
    got = reckon("holing", {"distance": "3 m", "speed": "10ft", "player": "tour"})
    assert "players.tour.angle_sd" in {s["key"] for s in got.sources}


def test_few_rolls_are_remarked_upon() -> None:
    told = notes("trueness", offsets="5,-3,8 mm", length="3 m", speed="3 m")
    assert "only 3 rolls" in told and "launcher" in told


def test_paired_greens_need_about_half() -> None:
    inputs = {"sd": "0.4ft", "difference": "0.5ft"}
    two, paired = (
        value("compare-sample", "n", **inputs, design=d) for d in ("two groups", "paired")
    )
    # exact: 12 for two groups; tables of the one-sample t for d = 1.25 and 80 % power give 8
    assert (two, paired) == (12, 8)
    assert "number of pairs" in notes("compare-sample", **inputs, design="paired")


def test_a_comparison_of_scores_is_as_good_as_one_of_speeds() -> None:
    got = reckon("compare-sample", {"sd": "0.6 score", "difference": "1 score"}).result["n"]
    assert got == Given(7.0, "count")  # as 0.3 against 0.5


@pytest.mark.parametrize(
    ("key", "feet", "metric"),
    [("standard_error", "3.7 in", "9.4 cm"), ("half_width", "6.1 in", "15.4 cm")],
)
def test_errors_are_shown_in_inches_or_centimetres(key: str, feet: str, metric: str) -> None:
    # by hand: 0.308 ft = 3.70 in = 9.386 cm; times 1.645 = 6.08 in = 15.44 cm
    inputs = {"stations": "1", "rolls": "6", "sd_station": "0.3ft", "sd_roll": "0.17ft"}
    assert reckon("speed-sample", inputs).display[key] == feet
    assert reckon("speed-sample", inputs, speed_units="m").display[key] == metric


@pytest.mark.parametrize(
    ("key", "number", "text"),
    [
        ("heading_k", 8.15e-5, "8.2 × 10⁻⁵ m"),
        ("heading_k", 0.0, "0 m"),
        ("trueness_t", 2e-6, "2.0 × 10⁻⁶ m"),
        ("sideways_sd_per_length", 0.0052, "5.2 mm/m"),
    ],
)
def test_small_indices_are_shown_with_their_power_of_ten(
    key: str, number: float, text: str
) -> None:
    chosen = calculators()["trueness"]
    result = {o.key: Given(number, o.unit) for o in chosen.outcomes}
    assert displayed(chosen, result, display_units="metric", speed_units="ft")[key] == text


def test_a_ball_that_climbs_is_shown_with_a_true_minus() -> None:
    inputs = {"launch_speed": "6 ft/s", "speed": "10ft", "slope": "2%", "angle": "170"}
    got = reckon("break", inputs)
    assert got.result["downhill"].number < 0 and got.display["downhill"].startswith("−")
    assert reckon("break", inputs, speed_units="m").display["downhill"].startswith("−")


def test_customary_courses_read_feet_a_second() -> None:
    inputs = {"distance": "3 m", "speed": "10ft", "past": "0"}
    got = reckon("putt-speed", inputs, display_units="us").display["launch_speed"]
    assert got == "5.95 ft/s"  # by hand: 1.8143 / 0.3048


def test_angles_and_shares_are_told_apart() -> None:
    assert fits("°", "rad") and fits("mrad", "rad") and not fits("%", "rad")
    assert fits("mm/m", "1") and not fits("rad", "1") and not fits("m", "1")
    assert not fits("deg", "m")
    assert turned(90, "°", "rad") == math.pi / 2
