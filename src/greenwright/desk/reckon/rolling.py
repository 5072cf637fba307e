"""Calculators about one rolling ball: the ramp on a slope, a putt, its break, the hole."""

from __future__ import annotations

import math

from greenwright.base.evidence import value
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.desk.reckon.words import (
    distance_argument,
    length_outcome,
    slope_argument,
    speed_argument,
)
from greenwright.roll import HOLE_RADIUS_M, ramp_rolls
from greenwright.roll.capture import capture_speed, free_fall_speed
from greenwright.roll.plane import break_on_plane
from greenwright.roll.straight import straight_putt

_RHO = "rho = 0.2387 m / green speed"


def _ramp(given: Inputs) -> Inputs:
    up, down = ramp_rolls(given["speed"].number, given["slope"].number)
    return {"up": Given(float(up), "m"), "down": Given(float(down), "m")}


def _ramp_remarks(given: Inputs, result: Inputs) -> tuple[str, ...]:
    up, down = result["up"].number, result["down"].number
    over = (up + down) / 2 - given["speed"].number
    told = f"the plain mean of the two would overstate the speed by {over / 0.0254:.1f} in"
    ratio = max(up / down, down / up)
    steep = ratio > value("roll.slope_ratio_steep")
    return (told, "a steep line: read on a flatter one if there is any") if steep else (told,)


RAMP_SLOPE = Calculator(
    name="ramp-slope",
    title="Ramp on a slope",
    question="How far will the ramp's ball run up and down this slope?",
    arguments=(
        speed_argument("of the green where it is level"),
        slope_argument("a negative slope swaps up and down"),
    ),
    outcomes=(
        Outcome(key="up", label="Uphill roll", unit="m", display="speed"),
        Outcome(key="down", label="Downhill roll", unit="m", display="speed"),
    ),
    equation=f"up, down = speed / (cos θ ± sin θ / rho);  {_RHO}",
    validity="one plane slope, less than rho: on a steeper one the ball never stops downhill",
    evidence=("roll.release_speed", "roll.slope_ratio_steep"),
    examples=(
        WorkedExample(
            inputs={"speed": "10ft", "slope": "2%"},
            expected={"up": 7.968 * 0.3048, "down": 13.432 * 0.3048},
            within=2e-4,
            origin="by hand: rho = 0.7832/10 = 0.07832; cos and sin of 2 % are 0.99980 and "
            "0.019996; 10/(0.99980 + 0.25531) = 7.968 ft, 10/(0.99980 − 0.25531) = 13.432 ft",
        ),
        WorkedExample(
            inputs={"speed": "3.048 m", "slope": "0.04"},
            expected={"up": 6.625 * 0.3048, "down": 20.454 * 0.3048},
            within=4e-4,
            origin="by hand: cos and sin of 4 % are 0.99920 and 0.039968; "
            "10/(0.99920 + 0.51032) = 6.625 ft, 10/(0.99920 − 0.51032) = 20.455 ft",
        ),
    ),
    compute=_ramp,
    remarks=_ramp_remarks,
)


def _putt(given: Inputs) -> Inputs:
    got = straight_putt(
        given["distance"].number,
        given["speed"].number,
        slope=given["slope"].number,
        past_m=given["past"].number,
    )
    return {
        "launch_speed": Given(float(got.launch_speed), "m/s"),
        "arrival_speed": Given(float(got.arrival_speed), "m/s"),
        "time": Given(float(got.time_s), "s"),
    }


def _putt_remarks(_: Inputs, result: Inputs) -> tuple[str, ...]:
    rolling = "speeds of a ball that rolls: a struck ball slides first and starts 7/5 as fast"
    limit, arrival = value("roll.capture.centre_limit"), result["arrival_speed"].number
    if arrival > limit:
        return (rolling, f"too fast for the hole: its centre holds up to {limit:g} m/s")
    return (rolling,)


PUTT_SPEED = Calculator(
    name="putt-speed",
    title="Speed of a putt",
    question="How fast must a straight putt start, and how fast does it reach the hole?",
    arguments=(
        distance_argument("from ball to hole"),
        speed_argument(),
        slope_argument("uphill above zero, downhill below", default="0"),
        Argument(
            name="past",
            label="Past the hole",
            help="how far beyond the hole it would stop, had it missed; 0 = it dies at the hole",
            units=("m",),
            bare="m",
            low=0.0,
            high=10.0,
            default=f"{value('roll.past_hole'):g} m",
        ),
    ),
    outcomes=(
        Outcome(key="launch_speed", label="Speed at the start", unit="m/s", display="velocity"),
        Outcome(key="arrival_speed", label="Speed at the hole", unit="m/s", display="velocity"),
        Outcome(key="time", label="Time to the hole", unit="s", display="time"),
    ),
    equation=f"v² at the hole = v0² − (10/7)·g·(rho·cos θ + sin θ)·distance;  {_RHO}",
    validity="a straight putt on one plane slope; downhill less steep than rho",
    evidence=("roll.release_speed", "roll.past_hole", "roll.capture.centre_limit"),
    examples=(
        WorkedExample(
            inputs={"distance": "3 m", "speed": "10ft", "past": "0"},
            expected={"launch_speed": 1.8143, "arrival_speed": 0.0, "time": 3.307},
            within=5e-4,
            origin="by hand: a = 1.8288²/(2·3.048) = 0.54864 m/s²; √(2·0.54864·3) = 1.8143 m/s; "
            "1.8143/0.54864 = 3.307 s",
        ),
        WorkedExample(
            inputs={"distance": "3 m", "speed": "10ft", "slope": "-2%", "past": "0"},
            expected={"launch_speed": 1.5655, "arrival_speed": 0.0},
            within=5e-4,
            origin="by hand: (10/7)·9.80665·(0.07832·0.99980 − 0.019996)·3 = 2.4508; √ = 1.5655",
        ),
        WorkedExample(
            inputs={"distance": "10ft", "speed": "12ft"},
            expected={"arrival_speed": 0.628},
            within=5e-4,
            origin="by hand: a = 1.8288²/(2·3.6576) = 0.4572 m/s²; √(2·0.4572·0.4318) = 0.628",
        ),
    ),
    compute=_putt,
    remarks=_putt_remarks,
)


def _break(given: Inputs) -> Inputs:
    got = break_on_plane(
        given["launch_speed"].number,
        given["speed"].number,
        given["slope"].number,
        given["angle"].number,
    )
    return {
        "downhill": Given(float(got.downhill_m), "m"),
        "across": Given(float(got.across_m), "m"),
    }


def _break_remarks(_: Inputs, result: Inputs) -> tuple[str, ...]:
    down, across = result["downhill"].number, result["across"].number
    turned = math.degrees(math.atan2(down, across)) if across > 0 else None
    both = "at rest; both grow with the square of the launch speed"
    if turned is None:
        return (both,)
    return (both, f"it comes to rest {turned:.1f}° below straight across the slope")


BREAK = Calculator(
    name="break",
    title="Break",
    question="Where does a ball come to rest on a plane slope?",
    arguments=(
        Argument(
            name="launch_speed",
            label="Launch speed",
            help="of the ball once it rolls, as 1.83 m/s or 6 ft/s",
            units=("m/s",),
            bare="m/s",
            low=0.05,
            high=6.0,
        ),
        speed_argument(),
        Argument(
            name="slope",
            label="Slope",
            help="rise over run of the plane at its steepest, as 2% or 0.02",
            units=("1",),
            bare="1",
            low=0.0,
            high=0.25,
            beyond="Check it: a number alone is a fraction, 2 percent is written 2%",
        ),
        Argument(
            name="angle",
            label="Angle",
            help="from straight downhill: 0 = down, 90 = across, 180 = up the slope",
            units=("rad",),
            bare="deg",
            low=0.0,
            high=math.pi,
        ),
    ),
    outcomes=(
        length_outcome("downhill", "Rest, downhill of the start"),
        length_outcome("across", "Rest, across the slope"),
    ),
    equation="x = (A/4)·[u⁻²/(2k−2) − u²/(2k+2)], y = (A/2)·[u⁻¹/(2k−1) + u/(2k+1)];  "
    "u = tan(angle/2), k = rho / slope, A = v²·sin²(angle) / ((5/7)·g·sin θ)",
    validity="one plane, less steep than rho = 0.2387 m / green speed: else it never stops",
    evidence=("roll.release_speed",),
    examples=(
        WorkedExample(
            inputs={"launch_speed": "6 ft/s", "speed": "10ft", "slope": "2%", "angle": "90 deg"},
            expected={"downhill": 0.4164, "across": 3.0991},
            within=2e-4,
            origin="by hand: k = 0.07832/0.02 = 3.9160; A = 3.34451/(7.00475·0.019996) = 23.878; "
            "x = 5.9694·(1/5.832 − 1/9.832) = 0.4164, y = 11.939·(1/6.832 + 1/8.832) = 3.0993",
        ),
        WorkedExample(
            inputs={"launch_speed": "1.8288", "speed": "12ft", "slope": "0.04", "angle": "90"},
            expected={"downhill": 1.7963, "across": 4.0398},
            within=2e-4,
            origin="closed form against an ODE solver, printed to four places in the project's "
            "own notes on ball roll; by hand k = 0.06527/0.04 = 1.6317, "
            "x = 2.9874·(1/1.2634 − 1/5.2634) = 1.797",
        ),
        WorkedExample(
            inputs={"launch_speed": "1.8288", "speed": "10ft", "slope": "2%", "angle": "60 deg"},
            expected={"downhill": 2.1511, "across": 2.8553},
            within=2e-4,
            origin="by hand: u = 0.57735, A = 23.878·0.75 = 17.908; "
            "x = 4.4771·(3/5.832 − 0.33333/9.832) = 2.1512; y = 8.954·(1.73205/6.832 + "
            "0.57735/8.832) = 2.8554",
        ),
    ),
    compute=_break,
    remarks=_break_remarks,
)


def _capture(given: Inputs) -> Inputs:
    offset, limit = given["offset"].number, given["centre_limit"].number
    return {
        "max_speed": Given(float(capture_speed(offset, centre_limit=limit)), "m/s"),
        "free_fall_speed": Given(float(free_fall_speed(offset)), "m/s"),
    }


CAPTURE = Calculator(
    name="capture",
    title="Capture",
    question="How fast may a ball be that the hole still takes?",
    arguments=(
        Argument(
            name="offset",
            label="Offset",
            help="of the ball's path from the centre of the hole, as 20 mm or 1 in",
            units=("m",),
            bare="m",
            low=0.0,
            high=HOLE_RADIUS_M,
            beyond="Past the rim the ball misses the hole at any speed",
        ),
        Argument(
            name="centre_limit",
            label="Limit at the centre",
            help="fastest ball that the hole's centre takes",
            units=("m/s",),
            bare="m/s",
            low=0.5,
            high=3.0,
            default=f"{value('roll.capture.centre_limit'):g} m/s",
        ),
    ),
    outcomes=(
        Outcome(key="max_speed", label="Fastest ball taken", unit="m/s", display="velocity"),
        Outcome(
            key="free_fall_speed",
            label="Fastest by free fall alone (no help of the rim)",
            unit="m/s",
            display="velocity",
        ),
    ),
    equation="max = limit·(1 − (offset/R)²), R = 53.98 mm;  "
    "free fall: √(g/2r)·(√(R² − offset²) + √((R − r)² − offset²))",
    validity="level ground about the hole; near the rim the outcome hangs on a hair",
    evidence=("roll.capture.centre_limit", "roll.hole_diameter", "roll.ball_diameter"),
    examples=(
        WorkedExample(
            inputs={"offset": "0 mm"},
            expected={"max_speed": 1.63, "free_fall_speed": 1.313},
            within=5e-4,
            origin="by hand: √(9.80665/0.04268)·(0.05398 + 0.03264) = 15.158·0.08662 = 1.313",
        ),
        WorkedExample(
            inputs={"offset": "26.99 mm"},
            expected={"max_speed": 1.2225, "free_fall_speed": 0.987},
            within=5e-4,
            origin="by hand: half the radius: 1.63·0.75; 15.158·(0.046748 + 0.018356) = 0.987",
        ),
        WorkedExample(
            inputs={"offset": "0.048582 m", "centre_limit": "1.32 m/s"},
            expected={"max_speed": 0.2508, "free_fall_speed": 0.0},
            within=5e-4,
            origin="by hand: 0.9 of the radius: 1.32·0.19; by falling alone it never drops",
        ),
    ),
    compute=_capture,
)
