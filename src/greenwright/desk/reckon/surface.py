"""Calculators about the ball and the grass: two-way speed and growth potential."""

from __future__ import annotations

from greenwright.base.evidence import value
from greenwright.base.tables import vocabulary
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.roll import two_way_speed
from greenwright.weather import curve_of, growth_potential


def _speed(given: Inputs) -> Inputs:
    got = two_way_speed(given["up"].number, given["down"].number)
    return {
        "level_speed": Given(float(got.level_speed_m), "m"),
        "slope": Given(float(got.slope), "1"),
    }


def _speed_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    up, down = given["up"].number, given["down"].number
    if up > down:
        return ("the roll called up ran farther than the roll called down: were they swapped?",)
    if down > value("roll.slope_ratio_steep") * up:
        return ("a steep line: read on a flatter one if there is any",)
    return ()


def _roll(name: str, label: str, text: str) -> Argument:
    return Argument(name=name, label=label, help=text, units=("m",), bare="m", low=0.6, high=15.0)


TWO_WAY_SPEED = Calculator(
    name="two-way-speed",
    title="Two-way speed",
    question="How fast would this green be if it were level here?",
    arguments=(
        _roll("up", "Uphill roll", "mean of the rolls up the slope"),
        _roll("down", "Downhill roll", "mean of the rolls back down the same line"),
    ),
    outcomes=(
        Outcome(
            key="level_speed",
            label="Speed on the level",
            unit="m",
            display="speed",
            low=1.0,
            high=5.5,
            beyond="No green is read so: check the unit (a number alone is metres: write up=8ft)",
        ),
        Outcome(key="slope", label="Slope of the line", unit="1", display="slope"),
    ),
    equation="level speed = 2·U·D / (U + D);  slope from 1/U − 1/D and the release speed",
    validity="balls released alike, up and down one plane line; exact up to 1/cos of the slope",
    evidence=("roll.release_speed", "roll.slope_ratio_steep"),
    examples=(
        WorkedExample(
            inputs={"up": "8ft", "down": "12ft"},
            expected={"level_speed": 2.92608, "slope": 0.0163},
            within=5e-5,
            origin="by hand: 2·8·12/20 = 9.6 ft = 2.92608 m; "
            "0.7·(6 ft/s)²/(2·32.174 ft/s2)·(1/8 − 1/12 per ft) = 0.0163",
        ),
        WorkedExample(
            inputs={"up": "9'0\"", "down": "11 ft"},
            expected={"level_speed": 3.01752, "slope": 0.0079},
            within=5e-5,
            origin="by hand: 2·9·11/20 = 9.9 ft = 3.01752 m; 0.7·36/64.348·(1/9 − 1/11) = 0.0079",
        ),
    ),
    compute=_speed,
    remarks=_speed_remarks,
)


def _growth(given: Inputs) -> Inputs:
    share = growth_potential(given["t_mean"].number, given["grass"].word)
    return {"growth_potential": Given(float(share), "1")}


GROWTH_POTENTIAL = Calculator(
    name="growth-potential",
    title="Growth potential",
    question="How much of its best growth does the temperature allow the grass?",
    arguments=(
        Argument(
            name="t_mean",
            label="Mean air temperature",
            help="mean of the day, week or month",
            units=("degC",),
            bare="degC",
            low=-40.0,
            high=55.0,
        ),
        Argument(
            name="grass",
            label="Grass",
            help="what grows on the green; c3 is any cool-season, c4 any warm-season grass",
            kind="choice",
            choices=("c3", "c4", *vocabulary("grass"), "c4_wide", "c4_uncapped"),
            default="creeping bentgrass",
        ),
    ),
    outcomes=(
        Outcome(key="growth_potential", label="Growth potential", unit="1", display="share"),
    ),
    equation="GP = exp(−½·((T − T0)/v)²);  warm-season grass: 1 above its optimum",
    validity="temperature only: light, water and humidity can take growth away, never add to it",
    more_evidence=lambda given: curve_of(given["grass"].word).evidence_keys,
    examples=(
        WorkedExample(
            inputs={"t_mean": "15", "grass": "c3"},
            expected={"growth_potential": 0.6615},
            within=5e-5,
            origin="by hand: exp(−½·(5/5.5)²) = exp(−0.41322) = 0.6615",
        ),
        WorkedExample(
            inputs={"t_mean": "77 degF", "grass": "c4"},
            expected={"growth_potential": 0.6926},
            within=5e-5,
            origin="by hand: 77 °F is 25 °C; exp(−½·(6/7)²) = exp(−0.36735) = 0.6926",
        ),
    ),
    compute=_growth,
)
