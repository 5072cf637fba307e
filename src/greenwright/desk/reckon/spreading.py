"""Calculators about putting out: sprayer, tank, sand, holes, and what sand dilutes."""

from __future__ import annotations

from greenwright.base.errors import BadInput
from greenwright.base.evidence import value
from greenwright.desk.reckon.nutrition import PERMISSION
from greenwright.desk.reckon.shape import (
    Argument,
    Calculator,
    Given,
    Inputs,
    Outcome,
    WorkedExample,
)
from greenwright.feed import holes, nozzle_flow, om_after, tank_load

_WATER = Argument(
    name="volume_rate",
    label="Water on the ground",
    help="as 400 L/ha, 40 gal/acre or 1 gal/1000ft2",
    units=("L/ha",),
    bare="L/ha",
    low=10.0,
    high=20000.0,
)

SPRAYER = Calculator(
    name="sprayer",
    title="Sprayer",
    question="What must each nozzle give in a minute?",
    arguments=(
        _WATER,
        Argument(
            name="speed",
            label="Speed over the ground",
            help="as 6 km/h or 4 mph",
            units=("km/h",),
            bare="km/h",
            low=0.5,
            high=30.0,
        ),
        Argument(
            name="spacing",
            label="Nozzle spacing",
            help="along the boom, as 0.5 m or 20 in",
            units=("m",),
            bare="m",
            low=0.1,
            high=3.0,
        ),
    ),
    outcomes=(Outcome(key="nozzle_flow", label="Flow of a nozzle", unit="L/min"),),
    equation="L/min = L/ha · km/h · m / 600",
    validity="unit arithmetic; catch what each nozzle gives and change those off by over 5 %",
    evidence=("sprayer.metric_constant", "sprayer.nozzle_tolerance"),
    examples=(
        WorkedExample(
            inputs={"volume_rate": "400", "speed": "6", "spacing": "0.5"},
            expected={"nozzle_flow": 2.0},
            within=1e-9,
            origin="by hand: 400·6·0.5/600 = 2.0",
        ),
        WorkedExample(
            inputs={"volume_rate": "40 gal/acre", "speed": "4 mph", "spacing": "20 in"},
            expected={"nozzle_flow": 2.0392},
            within=5e-4,
            origin="by hand: 40·4·20/5940 = 0.5387 gal/min; · 3.785412 = 2.0392",
        ),
    ),
    compute=lambda given: {
        "nozzle_flow": Given(
            nozzle_flow(
                given["volume_rate"].number, given["speed"].number, given["spacing"].number
            ),
            "L/min",
        )
    },
    remarks=lambda _, __: (PERMISSION,),
)


def _tank(given: Inputs) -> Inputs:
    rate = given["rate"]
    got = tank_load(given["tank"].number, given["volume_rate"].number, rate.number)
    mass = rate.unit == "g/m2"
    return {
        "area": Given(got.area_m2, "m2"),
        "product": Given(got.product / 1000, "kg" if mass else "L"),
        "concentration": Given(got.per_litre, "g/L" if mass else "mL/L"),
    }


TANK = Calculator(
    name="tank",
    title="Tank",
    question="What does one tank treat, and what goes into it?",
    arguments=(
        Argument(
            name="tank",
            label="Tank",
            help="what it is filled with, as 600 L or 150 gal",
            units=("L",),
            bare="L",
            low=1.0,
            high=20000.0,
        ),
        _WATER,
        Argument(
            name="rate",
            label="Rate of the product",
            help="with its unit: 1.1 g/m2, 0.22 lb/1000ft2, 0.5 floz/1000ft2",
            units=("g/m2", "mL/m2"),
            low=0.0,
            high=500.0,
        ),
    ),
    outcomes=(
        Outcome(key="area", label="Area it treats", unit="m2"),
        Outcome(key="product", label="Product in it", unit="kg"),
        Outcome(key="concentration", label="Product in a litre", unit="g/L"),
    ),
    equation="area = tank / water;  product = rate · area",
    validity="arithmetic; water, agitation, dry, liquid, surfactant; never concentrated calcium "
    "with sulfate or phosphate; a jar test first (common practice)",
    examples=(
        WorkedExample(
            inputs={
                "tank": "300 gal",
                "volume_rate": "2 gal/1000ft2",
                "rate": f"{0.1 / 0.46:.6f} lb/1000ft2",
            },
            expected={"area": 13935.456, "product": 14.7911, "concentration": 13.025},
            within=2e-3,
            origin="by hand: 150,000 ft² = 13,935.5 m²; 32.609 lb = 14.791 kg of urea; 0.1087 "
            "lb/gal = 13.02 g/L",
        ),
    ),
    compute=_tank,
    remarks=lambda _, __: (PERMISSION,),
)


def _sand(given: Inputs) -> Inputs:
    named = [name for name in ("depth", "volume", "mass") if name in given]
    if len(named) != 1:
        raise BadInput(
            f"{len(named)} of depth, volume and mass were given",
            expected="one of the three",
            do="Give depth=2 mm, or volume, or mass",
        )
    area, density = given["area"].number, given["density"].number
    known = given[named[0]].number
    depth = {
        "depth": known,
        "volume": known * 1000 / area,
        "mass": known / density * 1000 / area,
    }[named[0]]
    return {
        "depth": Given(depth, "mm"),
        "volume": Given(depth * area / 1000, "m3"),
        "mass": Given(depth * area / 1000 * density, "kg"),
    }


def _either(name: str, label: str, text: str, *, unit: str, high: float) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=text,
        units=(unit,),
        bare=unit,
        low=0.0,
        high=high,
        optional=True,
    )


_DENSITY = Argument(
    name="density",
    label="Bulk density of the sand",
    help="dry and loose, as 1.5 g/cm3 or 100 lb/ft3",
    units=("kg/m3",),
    bare="kg/m3",
    low=1000.0,
    high=2000.0,
    default=f"{value('sand.bulk_density'):g} kg/m3",
)

SAND = Calculator(
    name="sand",
    title="Sand",
    question="How much sand is that, as depth, volume and mass?",
    arguments=(
        _either("depth", "Depth", "as 2 mm or 0.6 L/m2", unit="mm", high=500.0),
        _either("volume", "Volume", "as 3 m3 or 20 ft3", unit="m3", high=1e5),
        _either("mass", "Mass", "as 500 kg or 100 lb", unit="kg", high=1e8),
        Argument(
            name="area",
            label="Area",
            help="as 500 m2 or 1000 ft2",
            units=("m2",),
            bare="m2",
            low=0.01,
            high=1e7,
            default="1 m2",
        ),
        _DENSITY,
    ),
    outcomes=(
        Outcome(key="depth", label="Depth", unit="mm"),
        Outcome(key="volume", label="Volume", unit="m3"),
        Outcome(key="mass", label="Mass", unit="kg"),
    ),
    equation="volume = depth · area;  mass = volume · density;  1 mm = 1 L/m²",
    validity="dry sand; wet sand weighs more in the same volume",
    evidence=("sand.bulk_density", "sand.bulk_density_heavy"),
    examples=(
        WorkedExample(
            inputs={"mass": "100 lb", "area": "1000 ft2", "density": "100 lb/ft3"},
            expected={"depth": 0.3048, "volume": 0.0283168, "mass": 45.359237},
            within=5e-5,
            origin="by hand: 100 lb is 1 ft³ on 1000 ft²: 0.001 ft = 0.3048 mm",
        ),
        WorkedExample(
            inputs={"depth": "1 mm", "area": "100 m2"},
            expected={"depth": 1.0, "volume": 0.1, "mass": 150.0},
            within=1e-9,
            origin="note on sand and growth, 2017: 1 mm is 150 kg/100 m² at 1.5",
        ),
        WorkedExample(
            inputs={"volume": "20.3 ft3", "area": "1000 ft2"},
            expected={"depth": 6.187},
            within=1e-3,
            origin="by hand: 0.0203 ft · 304.8 = 6.187 mm",
        ),
    ),
    compute=_sand,
)


def _holes(given: Inputs) -> Inputs:
    spacing = given["spacing"].number
    got = holes(
        given["diameter"].number,
        spacing,
        given["spacing2"].number if "spacing2" in given else spacing,
        depth_mm=given["depth"].number if "depth" in given else 0.0,
    )
    mass = got.fill_l_m2 * given["density"].number / 1000
    return {
        "area_affected": Given(got.area_pct / 100, "1"),
        "holes_per_area": Given(got.per_m2, "count/m2"),
        "fill_volume": Given(got.fill_l_m2, "L/m2"),
        "fill_mass": Given(mass, "kg/m2"),
    }


def _hole(name: str, label: str, text: str, *, optional: bool = False) -> Argument:
    return Argument(
        name=name,
        label=label,
        help=text,
        units=("mm",),
        bare="mm",
        low=0.5,
        high=500.0,
        optional=optional,
    )


CORE_AREA = Calculator(
    name="core-area",
    title="Area of holes",
    question="How much of the surface do the holes take, and what fills them?",
    arguments=(
        _hole("diameter", "Diameter of the hole", "the bore, not the outside, as 12 mm or 0.5 in"),
        _hole("spacing", "Spacing", "along the travel, as 50 mm or 2 in"),
        _hole("spacing2", "Other spacing", "across the travel; empty = the same", optional=True),
        _hole("depth", "Depth", "of the holes; empty = no filling reckoned", optional=True),
        _DENSITY,
    ),
    outcomes=(
        Outcome(key="area_affected", label="Area affected", unit="1", display="chance"),
        Outcome(key="holes_per_area", label="Holes", unit="count/m2"),
        Outcome(key="fill_volume", label="Sand to fill them", unit="L/m2"),
        Outcome(key="fill_mass", label="Its mass", unit="kg/m2"),
    ),
    equation="area = 100·π·d² / (4·s₁·s₂) %;  filling = area/100 · depth",
    validity="round holes on a grid that do not meet; the bore counts, not the tine's outside",
    evidence=("sand.bulk_density", "core.yearly_area"),
    examples=(
        WorkedExample(
            inputs={"diameter": "12", "spacing": "50", "depth": "60", "density": "1600"},
            expected={"area_affected": 0.045239, "fill_volume": 2.7143, "fill_mass": 4.3429},
            within=5e-4,
            origin="by hand: π·144/(4·2500) = 0.045239; · 60 mm = 2.7143 L/m²; · 1.6",
        ),
        WorkedExample(
            inputs={"diameter": "0.5 in", "spacing": "1.6 in", "spacing2": "1.87 in"},
            expected={"area_affected": 0.065625, "fill_volume": 0.0},
            within=5e-4,
            origin="by hand: π·0.25/(4·2.992) = 0.065625; a course told 6.59",
        ),
    ),
    compute=_holes,
)

OM_DILUTION = Calculator(
    name="om-dilution",
    title="Dilution by sand",
    question="What does sand make of the organic matter near the surface?",
    arguments=(
        Argument(
            name="om",
            label="Organic matter",
            help="by loss on ignition, as 6 %",
            units=("1",),
            bare="%",
            low=0.0,
            high=0.6,
        ),
        Argument(
            name="depth",
            label="Depth of the sample",
            help="as 20 mm or 2 cm",
            units=("mm",),
            bare="mm",
            low=2.0,
            high=300.0,
        ),
        Argument(
            name="sand",
            label="Sand put on",
            help="as 1 mm or 1 L/m2; at most the depth",
            units=("mm",),
            bare="mm",
            low=0.0,
            high=300.0,
        ),
    ),
    outcomes=(
        Outcome(key="om_after", label="Organic matter after it", unit="1", display="chance"),
    ),
    equation="OM' = OM·ρ(D − t) / [ρ(D − t) + 1.56·t],  ρ = 100/(OM/0.22 + (100 − OM)/1.56)",
    validity="the same depth sampled again, nothing grown in between; no agreed best range exists",
    evidence=("om.density_organic", "om.density_mineral", "om.limit"),
    examples=(
        WorkedExample(
            inputs={"om": "8", "depth": "20 mm", "sand": "1 mm"},
            expected={"om_after": 0.0742},
            within=0.00005,
            origin="by hand: ρ = 1.049; 8·1.049·19/(1.049·19 + 1.56) = 7.42",
        ),
        WorkedExample(
            inputs={"om": "6", "depth": "2 cm", "sand": "2 L/m2"},
            expected={"om_after": 0.0521},
            within=0.00005,
            origin="by hand: ρ = 1.142; 6·1.142·18/(1.142·18 + 3.12) = 5.21",
        ),
    ),
    compute=lambda given: {
        "om_after": Given(
            om_after(100 * given["om"].number, given["depth"].number, given["sand"].number) / 100,
            "1",
        )
    },
)
