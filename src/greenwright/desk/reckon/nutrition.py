"""Calculators about nutrients: nitrogen by growth and clippings, soil index, oxides, products."""

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
from greenwright.feed import (
    ELEMENTS,
    clippings_nitrogen,
    dry_mass_key,
    nitrogen_by_month,
    oxide_factor,
    oxide_name,
    product_rate,
    soil_index,
)
from greenwright.weather import curve_of

GRASSES = ("c3", "c4", *vocabulary("grass"))
PERMISSION = "arithmetic, not permission: the label and local rules come first"
_MONTHS = range(1, 13)


def _plan(given: Inputs) -> Inputs:
    grass, most = given["grass"].word, given["n_max"].number
    months = nitrogen_by_month(given["t_mean"].numbers, most, grass)
    held = {f"n_month_{k}": Given(n, "g/m2") for k, n in zip(_MONTHS, months, strict=True)}
    return held | {"n_year": Given(sum(months), "g/m2")}


NITROGEN_PLAN = Calculator(
    name="nitrogen-plan",
    title="Nitrogen plan",
    question="How much nitrogen does growth ask for, month by month?",
    arguments=(
        Argument(
            name="t_mean",
            label="Mean temperature of each month",
            help="twelve numbers, January first, as -1,1,5,10,15,20,23,22,18,12,6,1",
            kind="list",
            units=("degC",),
            bare="degC",
            low=-40.0,
            high=50.0,
        ),
        Argument(
            name="n_max",
            label="Most nitrogen in a month",
            help="at full growth: bentgrass 2, annual bluegrass 3, bermudagrass 4 g/m2",
            units=("g/m2",),
            bare="g/m2",
            low=0.0,
            high=10.0,
            default="2 g/m2",
        ),
        Argument(
            name="grass",
            label="Grass",
            help="decides the growth curve",
            kind="choice",
            choices=GRASSES,
            default="creeping bentgrass",
        ),
    ),
    outcomes=(
        *(
            Outcome(key=f"n_month_{k}", label=f"Month {k}", unit="g/m2", display="rate")
            for k in _MONTHS
        ),
        Outcome(key="n_year", label="The year", unit="g/m2", display="rate"),
    ),
    equation="N of a month = most · growth potential of its mean temperature",
    validity="an upper envelope: light, water and humidity are not in it; clippings correct it",
    evidence=("nitrogen.ceiling.creeping_bentgrass",),
    more_evidence=lambda given: curve_of(given["grass"].word).evidence_keys,
    examples=(
        WorkedExample(
            inputs={"t_mean": "-1,1,5,10,15,20,23,22,18,12,6,1", "n_max": "2", "grass": "c3"},
            expected={"n_month_4": 0.38, "n_month_6": 2.0, "n_month_7": 1.72, "n_year": 10.0},
            within=0.01,
            origin="by hand: April exp(−½(10/5.5)²)·2 = 0.383; June 2; July exp(−½(3/5.5)²)·2 = "
            "1.72; the twelve add up to 10.0",
        ),
    ),
    compute=_plan,
    remarks=lambda _, __: (PERMISSION,),
)


def _clippings(given: Inputs) -> Inputs:
    grass = given["grass"].word
    dry, nitrogen = clippings_nitrogen(given["volume"].number, grass, 100 * given["leaf_n"].number)
    return {"dry_mass": Given(dry, "g/m2"), "nitrogen": Given(nitrogen, "g/m2")}


CLIPPINGS_NITROGEN = Calculator(
    name="clippings-nitrogen",
    title="Nitrogen in clippings",
    question="How much nitrogen leaves the green with its clippings?",
    arguments=(
        Argument(
            name="volume",
            label="Clipping volume for an area",
            help="fresh and loose, with its unit: 1.5 L/100m2, 15 mL/m2, 2 qt/1000ft2",
            units=("mL/m2",),
            low=0.0,
            high=20000.0,
        ),
        Argument(
            name="grass",
            label="Grass",
            help="decides the dry mass of a litre",
            kind="choice",
            choices=vocabulary("grass"),
            default="creeping bentgrass",
        ),
        Argument(
            name="leaf_n",
            label="Nitrogen in dry leaves",
            help="from a leaf test, as 4 %",
            units=("1",),
            bare="%",
            low=0.0,
            high=0.08,
            default=f"{value('clippings.leaf_n_default'):g} %",
        ),
    ),
    outcomes=(
        Outcome(key="dry_mass", label="Dry mass", unit="g/m2", display="rate"),
        Outcome(key="nitrogen", label="Nitrogen", unit="g/m2", display="rate"),
    ),
    equation="dry mass = volume · dry mass of a litre;  nitrogen = dry mass · share in leaves",
    validity="fresh loose clippings of greens; wet or pressed ones hold more in a litre",
    evidence=("clippings.leaf_n_default",),
    more_evidence=lambda given: (dry_mass_key(given["grass"].word),),
    examples=(
        WorkedExample(
            inputs={"volume": "45 L/100m2"},
            expected={"dry_mass": 27.0, "nitrogen": 1.08},
            within=1e-6,
            origin="note on clippings: 1.5 L/100 m² a day for 30 days, just over 1 g/m²; by "
            "hand: 450 mL/m² · 0.060 g/mL = 27 g; · 0.04 = 1.08 g",
        ),
        WorkedExample(
            inputs={"volume": "1 qt/1000ft2", "grass": "zoysiagrass"},
            expected={"dry_mass": 1.1205, "nitrogen": 0.04482},
            within=5e-5,
            origin="by hand: 946.353 mL / 92.903 m² = 10.1865 mL/m²; · 0.110 g/mL; · 0.04",
        ),
    ),
    compute=_clippings,
)


def _element(choices: tuple[str, ...] = ELEMENTS) -> Argument:
    return Argument(
        name="element",
        label="Element",
        help=", ".join(choices),
        kind="choice",
        choices=choices,
    )


SOIL_INDEX = Calculator(
    name="soil-index",
    title="Soil index",
    question="What share of well-performing soils hold more of it than this one?",
    arguments=(
        _element(),
        Argument(
            name="test",
            label="Soil test",
            help="Mehlich-3 content",
            units=("mg/kg",),
            bare="mg/kg",
            low=0.0,
            high=20000.0,
        ),
    ),
    outcomes=(Outcome(key="index", label="Soil index", unit="1", display="share"),),
    equation="SI = 1 − x^k / (b^k + x^k)",
    validity="Mehlich-3, 0 to 10 cm, pH 5.5 to 8.5; a ranking of soils, not a response of grass",
    more_evidence=lambda given: tuple(
        f"soil.mehlich3.{given['element'].word}.{part}" for part in ("scale", "shape", "minimum")
    ),
    examples=(
        WorkedExample(
            inputs={"element": "K", "test": "117"},
            expected={"index": 0.184},
            within=5e-4,
            origin="minimum guidelines preprint, 2016, prints 0.18; by hand: 1/(1 + "
            "(117/73.475)^3.2038) = 0.184",
        ),
        WorkedExample(
            inputs={"element": "P", "test": "20.59"},
            expected={"index": 0.9},
            within=5e-4,
            origin="by definition: at its 10 % quantile, by script 20.59 mg/kg, nine in ten "
            "soils hold more",
        ),
    ),
    compute=lambda given: {
        "index": Given(soil_index(given["element"].word, given["test"].number), "1")
    },
)


def _oxide(given: Inputs) -> Inputs:
    factor, amount = oxide_factor(given["element"].word), given["amount"]
    return {"oxide": Given(amount.number * factor, amount.unit), "factor": Given(factor, "")}


OXIDE = Calculator(
    name="oxide",
    title="Element and oxide",
    question="How much is this element as the oxide that labels print?",
    arguments=(
        _element(),
        Argument(
            name="amount",
            label="Amount of the element",
            help="a rate or a mass: 10 g/m2, 1 lb/1000ft2, 5 kg",
            units=("g/m2", "kg"),
            bare="g/m2",
            low=0.0,
            high=1e6,
        ),
    ),
    outcomes=(
        Outcome(key="oxide", label="The same as oxide", unit="", display="rate"),
        Outcome(key="factor", label="Oxide for one of the element", unit="", display="rate"),
    ),
    equation="P2O5 = P / 0.4364;  K2O = K / 0.8301;  CaO = Ca / 0.7147;  MgO = Mg / 0.6030",
    validity="stoichiometry, from standard atomic weights",
    examples=(
        WorkedExample(
            inputs={"element": "K", "amount": "6.05 g/m2"},
            expected={"oxide": 7.288, "factor": 1.2046},
            within=5e-4,
            origin="by hand: 94.195/78.196 = 1.20460; 6.05 · 1.2046 = 7.288",
        ),
        WorkedExample(
            inputs={"element": "P", "amount": "10 kg"},
            expected={"oxide": 22.914},
            within=5e-3,
            origin="by hand: 141.943/61.948 = 2.2913",
        ),
    ),
    compute=_oxide,
    remarks=lambda given, _: (f"as {oxide_name(given['element'].word)}",),
)


def _product(given: Inputs) -> Inputs:
    rate = product_rate(given["rate"].number, 100 * given["grade"].number)
    mass = rate * given["area"].number / 1000
    price = given["price"].number if "price" in given else 0.0
    return {
        "product_rate": Given(rate, "g/m2"),
        "product": Given(mass, "kg"),
        "cost": Given(mass * price, ""),
    }


def _product_remarks(given: Inputs, _: Inputs) -> tuple[str, ...]:
    unpriced = () if "price" in given else ("no price was given: the cost is left at nought",)
    bare = given["nutrient"].word in ("P", "K")
    oxide = ("labels print P2O5 and K2O: name those for the label's grade",) if bare else ()
    return (*unpriced, *oxide, PERMISSION)


PRODUCT_FOR = Calculator(
    name="product-for",
    title="Product for a nutrient",
    question="How much of the product brings this much of the nutrient?",
    arguments=(
        Argument(
            name="nutrient",
            label="Nutrient",
            help="as the grade counts it: N, P2O5 and K2O as on the label",
            kind="choice",
            choices=("N", "P2O5", "K2O", "P", "K", "Ca", "Mg", "S", "Fe", "Mn"),
        ),
        Argument(
            name="rate",
            label="Rate of the nutrient",
            help="as 0.5 g/m2 or 0.1 lb/1000ft2",
            units=("g/m2",),
            bare="g/m2",
            low=0.0,
            high=200.0,
        ),
        Argument(
            name="grade",
            label="Grade",
            help="share of the nutrient in the product, as 46 %",
            units=("1",),
            bare="%",
            low=0.0001,
            high=1.0,
        ),
        Argument(
            name="area",
            label="Area",
            help="as 9100 m2 or 2.2 acre",
            units=("m2",),
            bare="m2",
            low=0.0,
            high=1e7,
        ),
        Argument(
            name="price",
            label="Price of a kilogram",
            help="in the course's currency",
            units=("currency/kg",),
            bare="currency/kg",
            low=0.0,
            high=1e5,
            optional=True,
        ),
    ),
    outcomes=(
        Outcome(key="product_rate", label="Rate of the product", unit="g/m2", display="rate"),
        Outcome(key="product", label="Product for the area", unit="kg"),
        Outcome(key="cost", label="Cost", unit=""),
    ),
    equation="product = nutrient · 100 / grade;  mass = product · area",
    validity="the grade as the label states it",
    examples=(
        WorkedExample(
            inputs={
                "nutrient": "N",
                "rate": "0.1 lb/1000ft2",
                "grade": "46",
                "area": "150000 ft2",
                "price": "0.85",
            },
            expected={"product_rate": 1.06139, "product": 14.7911, "cost": 12.5725},
            within=5e-4,
            origin="by hand: 15 lb N / 0.46 = 32.61 lb urea = 14.791 kg; on 13,935.5 m² 1.0614 "
            "g/m²; · 0.85 = 12.57",
        ),
    ),
    compute=_product,
    remarks=_product_remarks,
)
