"""What the weather does: growth potential, and the days behind and ahead."""

from greenwright.weather.days import days
from greenwright.weather.growth import curve_of, growth_potential, mean_temperature

__all__ = ["curve_of", "days", "growth_potential", "mean_temperature"]
