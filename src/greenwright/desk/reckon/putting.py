"""Calculators about a true surface: the chance to hole, and trueness from sideways offsets."""

from __future__ import annotations

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Estimate
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.desk.reckon.words import distance_argument, speed_argument
from greenwright.golfers.holing import holing_chance
from greenwright.golfers.players import PLAYERS, custom_player, player, player_keys
from greenwright.golfers.stroke import Player
from greenwright.roll.roughness import heading_walk, sideways_per_metre

_OWN = ("angle_sd", "distance_sd")


def _who(given: Inputs) -> Player:
    own = [name for name in _OWN if name in given]
    if "player" in given and not own:
        return player(given["player"].word)
    if "player" not in given and len(own) == len(_OWN):
        return custom_player(given["angle_sd"].number, given["distance_sd"].number)
    raise BadInput(
        "a player and errors of one's own are both given"
        if "player" in given
        else "it is not said who putts",
        where="player",
        expected="player=tour or player=90, or both angle_sd and distance_sd",
        do="Give one or the other",
    )


def _holing(given: Inputs) -> Inputs:
    distance, speed = given["distance"].number, given["speed"].number
    who = _who(given)
    walk = float(heading_walk(given["trueness"].number, speed))
    chances = (
        holing_chance(distance, green_speed_m=speed, player=who, heading_k=k) for k in (walk, 0.0)
    )
    now, perfect = (float(chance) for chance in chances)
    return {
        "chance": Given(now, "1"),
        "chance_perfect": Given(perfect, "1"),
        "difference": Given(perfect - now, "1"),
    }


def _holing_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    who, index = _who(given), given["trueness"].number
    limit = (
        f"the player's own limit of capture is used, {who.capture_speed:.2f} m/s at the centre of "
        "the hole (the capture calculation uses 1.63)"
    )
    fit = "what wander the player's own fit was made on counts as the player's"
    if not index:
        return (limit, "without trueness the surface is perfectly true", fit)
    sideways = 1000 * float(sideways_per_metre(index, given["speed"].number))
    return (limit, f"at this speed that surface sends a ball {sideways:.1f} mm/m sideways", fit)


HOLING = Calculator(
    name="holing",
    title="Holing",
    question="What is the chance to hole this putt, here and on a perfectly true surface?",
    arguments=(
        distance_argument("from ball to hole"),
        speed_argument(),
        Argument(
            name="player",
            label="Player",
            help="tour or 90 (one who goes round in about 90); or give the two errors below",
            kind="choice",
            choices=PLAYERS,
            optional=True,
        ),
        Argument(
            name="angle_sd",
            label="Error of direction",
            help="standard deviation of the line, as 1.2 deg or 0.021 rad, with distance_sd",
            units=("rad",),
            bare="rad",
            low=0.0005,
            high=0.2,
            optional=True,
            beyond="Check the unit: a number alone is in rad, degrees are written 1.2deg",
        ),
        Argument(
            name="distance_sd",
            label="Error of distance",
            help="standard deviation over the distance, as 10% or 0.10, with angle_sd",
            units=("1",),
            bare="1",
            low=0.005,
            high=0.5,
            optional=True,
            beyond="Check it: a number alone is a fraction, 10 percent is written 10%",
        ),
        Argument(
            name="trueness",
            label="Trueness",
            help="index T of the surface, as 2e-6 m; 0 = perfectly true",
            units=("m",),
            bare="m",
            low=0.0,
            high=1e-3,
            default="0 m",
        ),
    ),
    outcomes=(
        Outcome(key="chance", label="Chance to hole it", unit="1", display="chance"),
        Outcome(
            key="chance_perfect",
            label="The same on a perfectly true surface",
            unit="1",
            display="chance",
        ),
        Outcome(key="difference", label="What the surface takes", unit="1", display="chance"),
    ),
    equation="P = ∫ φ(u)·[2Φ(w(v)/√(angle²·d² + Var y)) − 1] du over how far the ball would roll; "
    "Var y = K·[L − 2r·ln(L/r) − r²/L], K = T / (4·rho²)",
    validity="level putts up to about 20 m, the line read rightly on average",
    more_evidence=lambda given: player_keys(
        given["player"].word if "player" in given else PLAYERS[-1]
    ),
    examples=(
        WorkedExample(
            inputs={"distance": "10ft", "speed": "11ft", "player": "tour"},
            expected={"chance": 0.384, "chance_perfect": 0.384, "difference": 0.0},
            within=1e-3,
            origin="fit to an open table of 1,253,196 tour putts, worked out apart from this "
            "program: 38.4 %",
        ),
        WorkedExample(
            inputs={"distance": "5ft", "speed": "11ft", "player": "tour", "trueness": "4.056e-6 m"},
            expected={"chance": 0.732, "chance_perfect": 0.758},
            within=1e-3,
            origin="as above with K = 2e-4 m: 73.2 %; T = 4·(0.23872/3.3528)²·2e-4 = 4.056e-6 m",
        ),
        WorkedExample(
            inputs={
                "distance": "20ft",
                "speed": "10ft",
                "angle_sd": "1.87 deg",
                "distance_sd": "15%",
            },
            expected={"chance": 0.067},
            within=1e-3,
            origin="as above, half made from 5 ft (the 90-shooter): 6.7 %",
        ),
    ),
    compute=_holing,
    remarks=_holing_remarks,
)


def _trueness(given: Inputs) -> Inputs:
    # The exact interval brings scipy, which no other calculation here needs at its start.
    from greenwright.measure.trueness_offsets import trueness_from_offsets

    got = trueness_from_offsets(
        given["offsets"].numbers, given["length"].number, given["speed"].number
    )
    parts = ("sideways_sd_per_length", "heading_k", "trueness_t")
    made: dict[str, Given] = {}
    for part in parts:
        held: Estimate = getattr(got, part)
        unit = "1" if part == parts[0] else "m"
        made[part] = Given(held.value, unit)
        made[f"{part}_low"] = Given(held.low, unit)
        made[f"{part}_high"] = Given(held.high, unit)
    return made


def _trueness_remarks(given: Inputs, result: Inputs) -> tuple[str, ...]:
    from greenwright.measure.trueness_offsets import LAUNCHER_INSIDE

    n, speed = len(given["offsets"].numbers), given["speed"].number
    own = 1000 * float(sideways_per_metre(result["trueness_t"].number, speed))
    few = (f"only {n} rolls: the interval is wide, roll at least ten",) if n < FEW_ROLLS else ()
    return (
        LAUNCHER_INSIDE,
        f"over a roll of the ramp's own length that is {own:.1f} mm/m at this speed",
        *few,
    )


FEW_ROLLS = 10
"""Equal rolls under which the interval says little."""


def _three(key: str, label: str, unit: str, display: str) -> tuple[Outcome, ...]:
    ends = (("", ""), ("_low", ", low end of 90 %"), ("_high", ", high end of 90 %"))
    return tuple(
        Outcome(key=f"{key}{end}", label=f"{label}{words}", unit=unit, display=display)  # type: ignore[arg-type]
        for end, words in ends
    )


TRUENESS = Calculator(
    name="trueness",
    title="Trueness",
    question="How true is the surface, from where equal rolls came to rest sideways?",
    arguments=(
        Argument(
            name="offsets",
            label="Sideways offsets",
            help="where equal rolls stopped, left below zero, as 12, -5, 8 mm (at least two)",
            kind="list",
            units=("m",),
            bare="m",
            low=-2.0,
            high=2.0,
            beyond="Check the unit: numbers alone are metres, millimetres are written 12,-5,8mm",
        ),
        Argument(
            name="length",
            label="Length of the rolls",
            help="from the launcher to where they stop, as 3 m or 10ft",
            units=("m",),
            bare="m",
            low=0.3,
            high=15.0,
        ),
        speed_argument("read beside them"),
    ),
    outcomes=(
        *_three("sideways_sd_per_length", "Sideways spread", "1", "wander"),
        *_three("heading_k", "Heading walk K", "m", "index"),
        *_three("trueness_t", "Trueness index T", "m", "index"),
    ),
    equation="K = s²/length, T = 4·rho²·K, s² = variance of the offsets;  "
    "rho = 0.2387 m / green speed;  (n − 1)·s²/σ² is χ² with n − 1 degrees of freedom",
    validity="equal rolls that come to rest on ground without strong slope, one line, one speed",
    examples=(
        WorkedExample(
            inputs={"offsets": "-20, 20 mm", "length": "10ft", "speed": "10ft"},
            expected={
                "sideways_sd_per_length": 0.00927962,
                "heading_k": 2.6247e-4,
                "trueness_t": 6.4400e-6,
                "heading_k_low": 6.8324e-5,
            },
            within=2e-8,
            origin="by hand: s² = 2·0.02² = 8e-4 m²; √8e-4/3.048; 8e-4/3.048; "
            "4·(0.23872/3.048)²·K; χ² table, 1 degree of freedom, 95 %: 3.8415",
        ),
        WorkedExample(
            inputs={
                "offsets": "0.010,-0.010,0.010,-0.010,0.010,-0.010,0.010,-0.010,0.010,-0.010",
                "length": "3 m",
                "speed": "3 m",
            },
            expected={"heading_k": 3.7037e-5, "heading_k_low": 1.9702e-5, "trueness_t": 9.381e-7},
            within=5e-9,
            origin="by hand: s² = 10·1e-4/9; K = s²/3; χ² table, 9 degrees of freedom, 95 %: "
            "16.919, so low = 9·K/16.919; T = 4·(0.23872/3)²·K",
        ),
    ),
    compute=_trueness,
    remarks=_trueness_remarks,
)
