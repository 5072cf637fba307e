"""Calculators about how many readings: the error of a mean, and groups for a comparison."""

from __future__ import annotations

from greenwright.base.errors import BadInput
from greenwright.base.estimate import Z90
from greenwright.base.evidence import value
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)

TWO_GROUPS = "two groups"
PAIRED = "paired"


def _error(given: Inputs) -> Inputs:
    # The sample sizes bring scipy, which no other calculation here needs at its start.
    from greenwright.stats.sample_size import standard_error_of_mean

    error = standard_error_of_mean(
        given["stations"].number,
        given["rolls"].number,
        spot_sd=given["sd_station"].number,
        repeat_sd=given["sd_roll"].number,
    )
    return {"standard_error": Given(error, "m"), "half_width": Given(Z90 * error, "m")}


def _error_remarks(given: Inputs, result: Inputs) -> tuple[str, ...]:
    m, k = given["stations"].number, given["rolls"].number
    spots = given["sd_station"].number ** 2
    whole = spots + given["sd_roll"].number ** 2 / k
    if not whole:
        return ()
    share = 100 * spots / whole
    best = given["sd_station"].number / m**0.5
    return (
        f"{share:.0f} % of its square comes from the stations",
        f"more rolls at these stations can bring it down to {best / 0.0254:.1f} in at the best",
    )


def _sd(name: str, label: str, help_: str, key: str) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=f"{help_}, as 0.3ft or 9 cm",
        units=("m",),
        bare="m",
        low=0.0,
        high=1.5,
        default=f"{value(key):g} m",
    )


def _counted(name: str, label: str, help_: str, high: float) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=help_,
        units=("count",),
        bare="count",
        low=1.0,
        high=high,
        whole=True,
    )


SPEED_SAMPLE = Calculator(
    name="speed-sample",
    title="Sample for speed",
    question="How sure is a green's mean speed from so many stations and rolls?",
    arguments=(
        _counted("stations", "Stations", "spots read on the green", 200.0),
        _counted("rolls", "Rolls", "rolls at each station, both ways together", 200.0),
        _sd(
            "sd_station",
            "Spread between stations",
            "standard deviation of the speed from spot to spot",
            "measure.sd_within_green",
        ),
        _sd(
            "sd_roll",
            "Spread of single rolls",
            "standard deviation of single rolls at one spot",
            "measure.roll_sd_within_set",
        ),
    ),
    outcomes=(
        Outcome(
            key="standard_error", label="Standard error of the mean", unit="m", display="spread"
        ),
        Outcome(
            key="half_width",
            label="The mean is so sure, either way (90 %)",
            unit="m",
            display="spread",
        ),
    ),
    equation="standard error = √(sd_station²/stations + sd_roll²/(rolls·stations))",
    validity="stations chosen so that they stand for the green; one reader, one ramp, one morning",
    more_evidence=lambda _: ("measure.sd_within_green", "measure.roll_sd_within_set"),
    examples=tuple(
        WorkedExample(
            inputs={"stations": str(m), "rolls": "6", "sd_station": "0.3ft", "sd_roll": "0.17ft"},
            expected={"standard_error": feet * 0.3048},
            within=0.005 * 0.3048,
            origin=f"by hand: √(0.09/{m} + 0.0289/(6·{m})) = {feet} ft",
        )
        for m, feet in ((1, 0.308), (2, 0.218), (3, 0.178), (6, 0.126))
    ),
    compute=_error,
    remarks=_error_remarks,
)


def _groups(given: Inputs) -> Inputs:
    from greenwright.stats.sample_size import groups_to_detect

    sd, difference = given["sd"], given["difference"]
    if sd.unit != difference.unit:
        raise BadInput(
            f"the sd is in {sd.unit}, the difference in {difference.unit}",
            where="difference",
            expected="both in the same kind of unit",
            do="Correct one of the two",
        )
    got = groups_to_detect(
        sd.number,
        difference.number,
        power=given["power"].number,
        alpha=given["alpha"].number,
        paired=given["design"].word == PAIRED,
    )
    return {
        "n": Given(float(got.n), "count"),
        "n_normal": Given(float(got.n_normal), "count"),
        "power_reached": Given(got.power, "1"),
    }


def _groups_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    if given["design"].word == PAIRED:
        return (
            "n is the number of pairs; sd is that of the differences within pairs, which is "
            "smaller than that of single greens where the two of a pair are alike",
        )
    return (
        "n is for each of the two groups; sd is that of greens (or green-days) within a group, "
        "not of single rolls",
    )


def _sized(name: str, label: str, help_: str) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=help_,
        units=("m", "score"),
        bare="m",
        low=0.001,
        high=10.0,
    )


def _chance(
    name: str, label: str, help_: str, *, default: str, ends: tuple[float, float]
) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=help_,
        units=("1",),
        bare="1",
        low=ends[0],
        high=ends[1],
        default=default,
    )


COMPARE_SAMPLE = Calculator(
    name="compare-sample",
    title="Sample for a comparison",
    question="How many greens must each group have to show a difference?",
    arguments=(
        _sized("sd", "Spread", "standard deviation within a group; paired: of the differences"),
        _sized("difference", "Difference", "smallest one worth showing, as 0.5ft or 1 score"),
        _chance(
            "power",
            "Power",
            "chance to show it if it is there",
            default=f"{value('trial.power'):g}",
            ends=(0.5, 0.999),
        ),
        Argument(
            name="design",
            label="Design",
            help="two groups of different greens, or pairs (each green its own control)",
            kind="choice",
            choices=(TWO_GROUPS, PAIRED),
            default=TWO_GROUPS,
        ),
        _chance(
            "alpha",
            "Level",
            "chance to show what is not there, two-sided",
            default=f"{value('trial.alpha'):g}",
            ends=(0.001, 0.4),
        ),
    ),
    outcomes=(
        Outcome(key="n", label="In each group (or pairs)", unit="count", display="count"),
        Outcome(
            key="n_normal",
            label="By the normal approximation (a little too few)",
            unit="count",
            display="count",
        ),
        Outcome(key="power_reached", label="Power reached", unit="1", display="chance"),
    ),
    equation="smallest n whose two-sided t test reaches the power;  "
    "approximately 2·(z₁₋α⸝₂ + z_power)²·(sd/difference)², half of it for pairs",
    validity="levels close to normal, groups drawn by lot, one value for each green",
    evidence=("trial.power", "trial.alpha"),
    examples=tuple(
        WorkedExample(
            inputs={"sd": sd, "difference": "0.5ft", "power": "0.8", "design": TWO_GROUPS},
            expected={"n": n, "n_normal": normal},
            within=1e-9,
            origin=f"by hand: 2·(1.960 + 0.842)²·({sd}/0.5 ft)² rounded up is {normal}; "
            f"tables of the noncentral t give {n}",
        )
        for sd, n, normal in (("0.2ft", 4, 3), ("0.3ft", 7, 6), ("0.4ft", 12, 11))
    ),
    compute=_groups,
    remarks=_groups_remarks,
)
