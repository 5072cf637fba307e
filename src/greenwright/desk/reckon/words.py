"""Arguments and results that several calculators share."""

from __future__ import annotations

from greenwright.desk.reckon.shape import Argument, Outcome

STEEPEST = 0.25
"""Steepest slope that any putting green has."""


def speed_argument(help_: str = "level green speed from the ramp") -> Argument:
    """Return the argument of a green speed [m]."""
    return Argument(
        name="speed",
        label="Green speed",
        help=f"{help_}, as 10ft or 3.05 m",
        units=("m",),
        bare="m",
        low=1.0,
        high=5.5,
        beyond="No green is read so: check the unit (a number alone is metres: write speed=10ft)",
    )


def slope_argument(help_: str, *, default: str | None = None) -> Argument:
    """Return the argument of a slope, rise over run."""
    return Argument(
        name="slope",
        label="Slope",
        help=f"rise over run, as 2% or 0.02; {help_}",
        units=("1",),
        bare="1",
        low=-STEEPEST,
        high=STEEPEST,
        default=default,
        beyond="Check it: a number alone is a fraction, 2 percent is written 2%",
    )


def distance_argument(help_: str) -> Argument:
    """Return the argument of a putt's distance [m]."""
    return Argument(
        name="distance",
        label="Distance",
        help=f"{help_}, as 3 m or 10ft",
        units=("m",),
        bare="m",
        low=0.1,
        high=40.0,
    )


def length_outcome(key: str, label: str) -> Outcome:
    """Return a result that is a length on the ground [m]."""
    return Outcome(key=key, label=label, unit="m", display="length")
