"""Calculators about water and warmth: reference evapotranspiration, the store, degree days."""

from __future__ import annotations

import math
from typing import Any

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.weather.degree_days import degree_days
from greenwright.weather.evapotranspiration import CONSTANTS, Air, Place, reference_et
from greenwright.weather.regulators import part_left, top_up
from greenwright.weather.store import depletion_share

_PERCENT = ("rh_min", "rh_max", "rh_mean")
_READ = ("t_mean", "ea", *_PERCENT, "wind", "wind_height", "sunshine", "solar")
_SYMBOLS = {
    "eto": ("Reference evapotranspiration", "mm/d", "eto"),
    "t_mean": ("Mean temperature", "degC", "t_mean"),
    "P": ("Air pressure", "kPa", "pressure"),
    "delta": ("Slope of the vapour pressure curve", "kPa/K", "delta"),
    "gamma": ("Psychrometric constant", "kPa/K", "gamma"),
    "es": ("Saturated vapour pressure", "kPa", "es"),
    "ea": ("Actual vapour pressure", "kPa", "ea"),
    "u2": ("Wind at 2 m", "m/s", "u2"),
    "Ra": ("Radiation at the top of the air", "MJ/m2/d", "ra"),
    "N": ("Hours of daylight", "h", "daylight"),
    "Rs": ("Solar radiation", "MJ/m2/d", "rs"),
    "Rso": ("Solar radiation under a clear sky", "MJ/m2/d", "rso"),
    "Rns": ("Net shortwave radiation", "MJ/m2/d", "rns"),
    "Rnl": ("Net longwave radiation", "MJ/m2/d", "rnl"),
    "Rn": ("Net radiation", "MJ/m2/d", "rn"),
    "G": ("Heat into the ground", "MJ/m2/d", "g"),
}
_STOOD_IN = {
    "no_humidity": "no humidity given: dew at the lowest temperature stands in (too damp for a "
    "dry place)",
    "no_wind": "no wind given: 2 m/s stands in",
    "no_radiation": "no radiation given: the span of temperature stands in, as inland",
}


def _eto(given: Inputs) -> Inputs:
    found = _reference(given)
    return {
        key: Given(float(getattr(found, field)), unit) for key, (_, unit, field) in _SYMBOLS.items()
    }


def _reference(given: Inputs) -> Any:
    read = {name: given[name].number for name in _READ if name in given}
    read |= {name: 100 * read[name] for name in _PERCENT if name in read}
    air = Air(
        t_min=given["t_min"].number,
        t_max=given["t_max"].number,
        soil_heat=given["soil_heat"].number,
        **read,
    )
    place = Place(math.degrees(given["latitude"].number), given["elevation"].number)
    return reference_et(air, place, given["day"].number)


def _eto_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    found = _reference(given)
    return tuple(text for name, text in _STOOD_IN.items() if bool(getattr(found, name)))


def _eto_evidence(given: Inputs) -> tuple[str, ...]:
    found = _reference(given)
    wind = ("eto.default_wind",) if bool(found.no_wind) else ()
    return (*wind, *(("eto.krs_inland",) if bool(found.no_radiation) else ()))


def _air(name: str, label: str, text: str, *, unit: str, ends: tuple[float, float]) -> Argument:
    low, high = ends
    return Argument(
        name=name, label=label, help=text, units=(unit,), bare="%" if unit == "1" else unit,
        low=low, high=high,
        optional=name not in ("t_min", "t_max"),
    )  # fmt: skip


REFERENCE_ET = Calculator(
    name="reference-et",
    title="Reference evapotranspiration",
    question="How much water would a well-watered reference grass use in this day?",
    arguments=(
        _air("t_min", "Lowest temperature", "of the day", unit="degC", ends=(-60, 60)),
        _air("t_max", "Highest temperature", "of the day", unit="degC", ends=(-60, 60)),
        Argument(
            name="latitude", label="Latitude", help="north positive, as 50.8 deg",
            units=("rad",), bare="deg", low=-math.pi / 2, high=math.pi / 2,
        ),
        Argument(
            name="elevation", label="Elevation", help="over the sea", units=("m",), bare="m",
            low=-430.0, high=6000.0, default="0 m",
        ),
        Argument(
            name="day", label="Day of the year", help="1 January is 1, 6 July is 187",
            units=("1",), bare="1", low=1.0, high=366.0, whole=True,
        ),
        _air("rh_min", "Lowest humidity", "relative, of the day", unit="1", ends=(0, 1)),
        _air("rh_max", "Highest humidity", "relative, of the day", unit="1", ends=(0, 1)),
        _air("ea", "Vapour pressure", "goes before any humidity", unit="kPa", ends=(0, 10)),
        _air("wind", "Wind", "mean of the day", unit="m/s", ends=(0, 80)),
        _air("wind_height", "Height of the wind gauge", "2 m if empty", unit="m", ends=(0.2, 100)),
        _air("sunshine", "Sunshine", "hours of the day", unit="h", ends=(0, 24)),
        _air("solar", "Solar radiation", "goes before sunshine", unit="MJ/m2", ends=(0, 45)),
        _air("rh_mean", "Mean humidity", "where no ends are read", unit="1", ends=(0, 1)),
        _air("t_mean", "Mean temperature", "midway if empty", unit="degC", ends=(-60, 60)),
        Argument(
            name="soil_heat", label="Heat into the ground", help="0 for a day; 0.14 × the rise "
            "over last month's mean for a month", units=("MJ/m2",), bare="MJ/m2", low=-5.0,
            high=5.0, default="0 MJ/m2",
        ),
    ),
    outcomes=tuple(
        Outcome(key=key, label=label, unit=unit) for key, (label, unit, _) in _SYMBOLS.items()
    ),
    equation="ETo = [0.408·Δ·(Rn − G) + γ·900/(T + 273)·u2·(es − ea)] / [Δ + γ·(1 + 0.34·u2)]",
    validity="daily steps, short reference grass; temperatures alone will do, within about 20 %",
    evidence=CONSTANTS,
    more_evidence=_eto_evidence,
    remarks=_eto_remarks,
    examples=(
        WorkedExample(
            inputs={
                "t_min": "12.3", "t_max": "21.5", "rh_min": "63", "rh_max": "84",
                "wind": "2.7778", "wind_height": "10", "sunshine": "9.25",
                "latitude": "50.8", "elevation": "100", "day": "187",
            },
            expected={"eto": 3.88, "ea": 1.409, "es": 1.997, "Rs": 22.07, "Rn": 13.28},
            within=5e-3,
            origin="FAO Irrigation and Drainage Paper 56, example 18: Brussels, 6 July",
        ),
        WorkedExample(
            inputs={
                "t_min": "14.8", "t_max": "26.6", "latitude": "45.72 deg",
                "elevation": "200 m", "day": "196",
            },
            expected={"eto": 4.56, "ea": 1.684, "Rs": 22.29},
            within=5e-3,
            origin="FAO Irrigation and Drainage Paper 56, example 20: Lyon, temperatures alone",
        ),
        WorkedExample(
            inputs={
                "t_min": "25.6", "t_max": "34.8", "t_mean": "30.2", "ea": "2.85", "wind": "2",
                "sunshine": "8.5", "soil_heat": "0.14", "latitude": "13.73", "elevation": "2",
                "day": "105",
            },
            expected={"eto": 5.72, "delta": 0.2458, "Ra": 38.06, "N": 12.31, "G": 0.14},
            within=5e-3,
            origin="FAO Irrigation and Drainage Paper 56, example 17: Bangkok, April",
        ),
    ),
    compute=_eto,
)  # fmt: skip


def _store(given: Inputs) -> Inputs:
    full, dry = given["field_capacity"].number, given["wilting_point"].number
    if full <= dry:
        raise BadInput(
            "field capacity is not over the wilting point",
            where="field_capacity",
            expected="more than wilting_point",
            do="were they swapped?",
        )
    etc = given["etc"].number if "etc" in given else None
    total = 1000 * (full - dry) * given["depth"].number
    readily = float(depletion_share(given["p"].number, etc)) * total
    use = etc if etc is not None else value("water.depletion_reference")
    return {
        "total_available": Given(total, "mm"),
        "readily_available": Given(readily, "mm"),
        "days": Given(readily / use, "d"),
    }


def _store_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    if "etc" in given:
        return ()
    use = value("water.depletion_reference")
    return (f"no evapotranspiration given: the days are those at {use:g} mm a day, where p holds",)


def _held(name: str, label: str, text: str, default: str) -> Argument:
    return Argument(
        name=name, label=label, help=text, units=("1",), bare="1", low=0.0, high=0.7,
        default=default, beyond="Check it: a number alone is a fraction, 22 percent is written 22%",
    )  # fmt: skip


WATER_STORE = Calculator(
    name="water-store",
    title="Water store",
    question="How much water does the root zone hold, and for how many days?",
    arguments=(
        _held("field_capacity", "Field capacity", "share of the volume, as 0.20 or 20%",
              f"{value('soil.sand.field_capacity'):g}"),
        _held("wilting_point", "Wilting point", "share of the volume, as 0.06 or 6%",
              f"{value('soil.sand.wilting_point'):g}"),
        Argument(
            name="depth", label="Root depth", help="as 30 cm or 12 in", units=("m",), bare="cm",
            low=0.02, high=1.5,
        ),
        Argument(
            name="p", label="Readily available share", help="0.4 cool-season, 0.5 warm-season",
            units=("1",), bare="1", low=0.1, high=0.8,
            default=f"{value('water.depletion_fraction.c3'):g}",
        ),
        Argument(
            name="etc", label="Evapotranspiration of the green", help="mm a day; corrects p",
            units=("mm",), bare="mm", low=0.1, high=15.0, optional=True,
        ),
    ),
    outcomes=(
        Outcome(key="total_available", label="Total available water", unit="mm"),
        Outcome(key="readily_available", label="Readily available water", unit="mm"),
        Outcome(key="days", label="Days to the refill line", unit="d"),
    ),
    equation="TAW = 1000·(field capacity − wilting point)·depth;  RAW = p·TAW;  "
    "p corrected: p + 0.04·(5 − ETc)",
    validity="a root zone that drains freely; p corrected only when evapotranspiration is given",
    evidence=(
        "soil.sand.field_capacity", "soil.sand.wilting_point", "water.depletion_fraction.c3",
        "water.depletion_reference", "water.depletion_slope", "water.depletion_bounds",
    ),
    examples=(
        WorkedExample(
            inputs={"field_capacity": "22%", "wilting_point": "6%", "depth": "30 cm", "p": "0.4"},
            expected={"total_available": 48.0, "readily_available": 19.2, "days": 3.84},
            within=1e-9,
            origin="by hand: 1000·0.16·0.30 = 48; 0.4·48 = 19.2; 19.2/5 = 3.84",
        ),
        WorkedExample(
            inputs={"field_capacity": "0.22", "wilting_point": "0.06", "depth": "10", "p": "0.4",
                    "etc": "6"},
            expected={"total_available": 16.0, "readily_available": 5.76, "days": 0.96},
            within=1e-9,
            origin="by hand: 16; (0.4 + 0.04·(5 − 6))·16 = 0.36·16 = 5.76; 5.76/6 = 0.96",
        ),
    ),
    compute=_store,
    remarks=_store_remarks,
)  # fmt: skip


def _warmth(given: Inputs) -> Inputs:
    found = degree_days(given["t_min"].numbers, given["t_max"].numbers, given["base"].number)
    return {"degree_days": Given(float(found.sum()), "degC.d"), "days": Given(len(found), "count")}


def _ends(name: str, label: str) -> Argument:
    return Argument(
        name=name, label=label, help="of each day, as 9, 11, 8 degC", kind="list",
        units=("degC",), bare="degC", low=-60.0, high=60.0,
    )  # fmt: skip


DEGREE_DAYS = Calculator(
    name="degree-days",
    title="Degree days",
    question="How much warmth have these days added up to?",
    arguments=(
        _ends("t_min", "Lowest temperatures"),
        _ends("t_max", "Highest temperatures"),
        Argument(
            name="base", label="Base temperature",
            help="0 for regulators on bentgrass, 10 on ultradwarf bermudagrass",
            units=("degC",), bare="degC", low=-20.0, high=25.0,
            default=f"{value('degree_days.base_c'):g} degC",
        ),
    ),
    outcomes=(
        Outcome(key="degree_days", label="Degree days", unit="degC.d"),
        Outcome(key="days", label="Days", unit="count", display="count"),
    ),
    equation="Σ max(0, (Tmax + Tmin)/2 − base)",
    validity="daily ends of air temperature; the base belongs to the model that uses the sum",
    evidence=("degree_days.base_c",),
    examples=(
        WorkedExample(
            inputs={"t_min": "16, 16, 4", "t_max": "28, 28, 12 degC", "base": "0"},
            expected={"degree_days": 52.0, "days": 3},
            within=1e-9,
            origin="by hand: 22 + 22 + 8",
        ),
        WorkedExample(
            inputs={"t_min": "68, 36 degF", "t_max": "86, 54 degF", "base": "10"},
            expected={"degree_days": 15.0},
            within=1e-9,
            origin="by hand: 20 and 30 °C: 25 − 10 = 15; 2.2 and 12.2 °C: under the base, 0",
        ),
    ),
    compute=_warmth,
)  # fmt: skip

_LABEL = "arithmetic, not permission: the label's rate, interval and yearly limit come first"


def _left(given: Inputs) -> Inputs:
    gdd, life, rate = given["degree_days"].number, given["half_life"].number, given["rate"]
    return {
        "part_left": Given(part_left(gdd, life), "1"),
        "top_up": Given(top_up(rate.number, gdd, life), rate.unit),
    }


REGULATOR_LEFT = Calculator(
    name="regulator-left",
    title="Growth regulator left",
    question="How much of a growth regulator is left, and what would bring it back to full?",
    arguments=(
        Argument(
            name="degree_days", label="Degree days since it was applied",
            help="over the model's own base, as 100", units=("degC.d",), bare="degC.d",
            low=0.0, high=5000.0,
        ),
        Argument(
            name="half_life", label="Half-life",
            help="degree days in which half is gone: trinexapac-ethyl on bentgrass 116 to 175",
            units=("degC.d",), bare="degC.d", low=10.0, high=1000.0,
            default=f"{value('regulator.trinexapac_ethyl.creeping_bentgrass.half_life_gdd'):g}",
        ),
        Argument(
            name="rate", label="Full rate", help="as on the label, 0.04 mL/m2 or 5 floz/acre",
            units=("mL/m2", "g/m2"), bare="mL/m2", low=0.0, high=100.0, default="1 mL/m2",
        ),
    ),
    outcomes=(
        Outcome(key="part_left", label="Part left", unit="1", display="share"),
        Outcome(key="top_up", label="Top-up to the full rate", unit="mL/m2", display="rate"),
    ),
    equation="part left = 0.5^(degree days / half-life);  top-up = rate·(1 − part left)",
    validity="one active on one grass with its own base; half-lives are bounds from the trade",
    evidence=("regulator.trinexapac_ethyl.creeping_bentgrass.half_life_gdd",),
    examples=(
        WorkedExample(
            inputs={"degree_days": "100", "half_life": "116", "rate": "7 mL/m2"},
            expected={"part_left": 0.5501, "top_up": 3.149},
            within=5e-4,
            origin="by hand: 0.5^(100/116) = 0.5501; 7·(1 − 0.5501) = 3.149",
        ),
        WorkedExample(
            inputs={"degree_days": "200", "half_life": "175"},
            expected={"part_left": 0.4529},
            within=5e-5,
            origin="by hand: 0.5^(200/175) = 0.4529",
        ),
    ),
    compute=_left,
    remarks=lambda _, __: (_LABEL,),
)  # fmt: skip
