"""What the weather does: growth, warmth, water and risk days, behind and ahead."""

from greenwright.weather.balance import Balance, Doubt, Water, balance
from greenwright.weather.crop import CropCoefficient, crop_coefficient
from greenwright.weather.daily import (
    RiskDays,
    mean_temperatures,
    numbers,
    reference_days,
    risk_days,
)
from greenwright.weather.days import days, known_rows
from greenwright.weather.degree_days import degree_days
from greenwright.weather.disease import (
    DiseaseModel,
    anthracnose,
    brown_patch,
    disease_models,
    dollar_spot,
    pythium,
)
from greenwright.weather.evapotranspiration import (
    Air,
    Place,
    Reference,
    hargreaves,
    reference_et,
)
from greenwright.weather.given import GivenDay, Season, given_days, season_of
from greenwright.weather.growth import curve_of, growth_potential, mean_temperature
from greenwright.weather.regulators import Regulator, part_left, regulator_of, top_up
from greenwright.weather.salts import Salt, soil_check, water_checks
from greenwright.weather.store import RootZone, days_to, depletion_of, depletion_share

__all__ = [
    "Air",
    "Balance",
    "CropCoefficient",
    "DiseaseModel",
    "Doubt",
    "GivenDay",
    "Place",
    "Reference",
    "Regulator",
    "RiskDays",
    "RootZone",
    "Salt",
    "Season",
    "Water",
    "anthracnose",
    "balance",
    "brown_patch",
    "crop_coefficient",
    "curve_of",
    "days",
    "days_to",
    "degree_days",
    "depletion_of",
    "depletion_share",
    "disease_models",
    "dollar_spot",
    "given_days",
    "growth_potential",
    "hargreaves",
    "known_rows",
    "mean_temperature",
    "mean_temperatures",
    "numbers",
    "part_left",
    "pythium",
    "reference_days",
    "reference_et",
    "regulator_of",
    "risk_days",
    "season_of",
    "soil_check",
    "top_up",
    "water_checks",
]
