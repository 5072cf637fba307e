"""Numbers in the reader's units, with their range and never more digits than it allows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, log10

from greenwright.base.estimate import Estimate
from greenwright.base.lengths import INCH_M
from greenwright.base.tables import quantities
from greenwright.base.values import Course

MINUS = "−"
RANGE = "–"
_SQUARE_FT_1000_M2 = 92.90304  # 1000 ft2 in m2, exact


@dataclass(frozen=True, slots=True)
class Scale:
    """How one quantity is written: reader's unit = canonical unit x factor + offset.

    Args:
        unit: unit as printed after the number, empty for none.
        factor, offset: from the canonical unit to the printed one.
        decimals: most decimals that are ever printed.
        feet: printed as feet and inches; the printed unit is then the inch.
        of: top of a score, printed as "of 10".
        low, high: what the canonical value cannot leave.
    """

    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    decimals: int = 2
    feet: bool = False
    of: str = ""
    low: float | None = None
    high: float | None = None

    def shown(self, value: float) -> float:
        """Return a level [canonical unit] in the printed unit."""
        return value * self.factor + self.offset

    def inside(self, value: float) -> float:
        """Return value [canonical unit] drawn back into what is possible."""
        lowest = value if self.low is None else max(value, self.low)
        return lowest if self.high is None else min(lowest, self.high)


_METRIC = {
    "mL/m2": Scale("mL/m²", decimals=0),
    "g/m2": Scale("g/m²", decimals=2),
    "L/m2": Scale("L/m²", decimals=2),
    "degC": Scale("°C", decimals=1),
    "%": Scale("%", decimals=1),
    "mm": Scale("mm", decimals=2),
    "m": Scale("m", decimals=2),
    "score": Scale(decimals=1, of="10"),
    "rating": Scale(decimals=1, of="9"),
    "count/m2": Scale("per m²", decimals=1),
    "g": Scale("g", decimals=0),
    "mm/m": Scale("mm/m", decimals=1),
    "m2": Scale("m²", decimals=0),
    "1": Scale(decimals=2),
}
_US = {
    "mL/m2": Scale("L/1000 ft²", factor=_SQUARE_FT_1000_M2 / 1000, decimals=1),
    "g/m2": Scale("lb/1000 ft²", factor=_SQUARE_FT_1000_M2 / 453.59237, decimals=2),
    "L/m2": Scale("ft³/1000 ft²", factor=_SQUARE_FT_1000_M2 / 28.316846592, decimals=1),
    "degC": Scale("°F", factor=1.8, offset=32.0, decimals=0),
    "mm": Scale("in", factor=1 / 25.4, decimals=3),
    "count/m2": Scale("per 1000 ft²", factor=_SQUARE_FT_1000_M2, decimals=0),
    "m2": Scale("ft²", factor=1 / 0.09290304, decimals=0),
    "mm/m": Scale("in per 10 ft", factor=0.12, decimals=2),
}
_FEET = Scale(factor=1 / INCH_M, decimals=0, feet=True)
_UNITLESS = Scale()


def scale_for(quantity: str, unit: str, course: Course) -> Scale:
    """Return how this course reads a quantity kept in a canonical unit.

    Green speed follows `course.speed_units`, everything else `course.display_units`.
    """
    bounds = quantities().get(quantity)
    # Trueness is kept as an index and read as mm sideways per metre: the index's ends are not its.
    own = bounds is not None and bounds.unit in (unit, "own")
    limits = {"low": bounds.low, "high": bounds.high} if bounds and own else {}
    if quantity == "green_speed" and course.speed_units == "ft":
        return replace(_FEET, **limits)
    table = _METRIC | _US if course.display_units == "us" else _METRIC
    return replace(table.get(unit, Scale(unit) if unit else _UNITLESS), **limits)


def decimals_for(half_width: float, most: int) -> int:
    """Return how many decimals a range of that half width allows, at most `most`.

    The last digit printed stands for no more than half of the half width; negative means
    rounding to tens, hundreds and so on.

    >>> decimals_for(0.085, 3), decimals_for(0.4, 3), decimals_for(30.0, 3)
    (2, 1, -1)
    """
    if half_width <= 0:
        return most
    return min(most, -floor(log10(half_width / 2)))


def number(value: float, decimals: int = 0, *, signed: bool = False) -> str:
    """Return a number with a true minus sign; negative decimals round to tens and up.

    >>> number(-1234.5, 1), number(0.4, 1, signed=True), number(1267, -1)
    ('−1234.5', '+0.4', '1270')
    """
    rounded = round(value, decimals)
    text = f"{abs(rounded):.{max(decimals, 0)}f}"
    if float(text) == 0:
        return text
    return (MINUS if rounded < 0 else "+" if signed else "") + text


def plain(value: float, decimals: int) -> str:
    """Return a number without trailing zeros.

    >>> plain(3.40, 2), plain(100.0, 1)
    ('3.4', '100')
    """
    text = number(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _inch_step(half_width_in: float) -> int:
    if half_width_in < 6:
        return 1
    return 3 if half_width_in < 12 else 6


def _feet(value_in: float, step: int, *, signed: bool = False) -> str:
    inches = floor(abs(value_in) / step + 0.5) * step
    sign = "" if not inches else MINUS if value_in < 0 else "+" if signed else ""
    return f"{sign}{inches // 12}'{inches % 12}\""


def level(estimate: Estimate, quantity: str, course: Course) -> str:
    """Return a level with its range, as ``9'5" (9'1"–9'8")`` or ``2.87 m (2.78–2.95)``."""
    scale = scale_for(quantity, estimate.unit, course)
    ends = [scale.shown(scale.inside(x)) for x in _ordered(estimate)]
    if scale.feet:
        step = _inch_step((ends[2] - ends[1]) / 2)
        middle, low, high = (_feet(x, step) for x in ends)
        return f"{middle} ({low}{RANGE}{high})"
    places = decimals_for((ends[2] - ends[1]) / 2, scale.decimals)
    middle, low, high = (number(x, places) for x in ends)
    joint = " to " if MINUS in low else RANGE
    return f"{middle}{_tail(scale)} ({low}{joint}{high})"


def _ordered(estimate: Estimate) -> tuple[float, float, float]:
    """Return middle, low and high; the mean of a lopsided belief can lie outside its range."""
    middle = min(max(estimate.value, estimate.low), estimate.high)
    return middle, estimate.low, estimate.high


def _tail(scale: Scale) -> str:
    if scale.of:
        return f" of {scale.of}"
    return f" {scale.unit}" if scale.unit else ""


def point(value: float, unit: str, quantity: str, course: Course) -> str:
    """Return a bare level (a target, an amount) in the reader's unit, trailing zeros cut."""
    scale = scale_for(quantity, unit, course)
    shown = scale.shown(value)
    if scale.feet:
        return _feet(shown, 1)
    text = plain(shown, scale.decimals)
    return f"{text} {scale.unit}" if scale.unit else text


def middle(estimate: Estimate, quantity: str, course: Course) -> str:
    """Return the level alone, for a figure that draws its range beside it."""
    return level(estimate, quantity, course).split(" (")[0].split(" of ")[0]


def change(estimate: Estimate, quantity: str, course: Course) -> str:
    """Return a difference with its range, as ``+6 in (+3 to +9)``; too small to print: none."""
    scale = scale_for(quantity, estimate.unit, course)
    ends = [x * scale.factor for x in _ordered(estimate)]
    unit = "in" if scale.feet else scale.unit
    most = 1 if scale.feet else scale.decimals + (not scale.unit)
    places = decimals_for((ends[2] - ends[1]) / 2, most)
    centre, low, high = (number(x, places, signed=True) for x in ends)
    if not any(float(number(abs(x), places)) for x in ends):
        return "none"
    return f"{centre}{' ' + unit if unit else ''} ({low} to {high})"


def spread(estimate: Estimate, quantity: str, course: Course) -> str:
    """Return how far apart levels lie, a size without a sign: ``3 in (2–4)``."""
    scale = scale_for(quantity, estimate.unit, course)
    ends = [max(x, 0.0) * scale.factor for x in _ordered(estimate)]
    unit = "in" if scale.feet else scale.unit
    most = 1 if scale.feet else scale.decimals + (not scale.unit)
    places = decimals_for((ends[2] - ends[1]) / 2, most)
    centre, low, high = (number(x, places) for x in ends)
    return f"{centre}{' ' + unit if unit else ''} ({low}{RANGE}{high})"


def gap(size: float, unit: str, quantity: str, course: Course) -> str:
    """Return a bare difference in the reader's unit: ``7 in``, ``0.18 m``, ``1.5 points``."""
    scale = scale_for(quantity, unit, course)
    if scale.feet:
        return f"{number(size * scale.factor)} in"
    shown = size * scale.factor
    text = plain(shown, scale.decimals)
    return f"{text} {scale.unit or ('point' if text == '1' else 'points')}"


def of_hundred(estimate: Estimate) -> str:
    """Return a share as so many of a hundred, with its range.

    >>> from greenwright.base.estimate import normal_estimate
    >>> of_hundred(normal_estimate(0.012, 0.003, "1"))
    '1.2 of 100 (0.7–1.7)'
    """
    ends = [100 * min(max(x, 0.0), 1.0) for x in _ordered(estimate)]
    places = decimals_for((ends[2] - ends[1]) / 2, 2)
    centre, low, high = (number(x, places) for x in ends)
    return f"{centre} of 100 ({low}{RANGE}{high})"


def distance(metres: float, course: Course) -> str:
    """Return the length of a putt, whole feet without inches.

    >>> fen = Course(course="fen", name="Fen")
    >>> distance(3.048, fen), distance(0.61, fen)
    ('10 ft', '2 ft')
    """
    if course.speed_units != "ft":
        return point(metres, "m", "", replace(course, display_units="metric"))
    whole = floor(metres / INCH_M + 0.5)
    return f"{whole // 12} ft" if whole % 12 == 0 else _feet(metres / INCH_M, 1)


def roughly(count: float) -> str:
    """Return a large count with two figures that count.

    >>> roughly(23523), roughly(241), roughly(8)
    ('24,000', '240', '8')
    """
    places = max(len(str(int(abs(count)))) - 2, 0)
    return f"{round(count, -places):,.0f}"


def clear(estimate: Estimate) -> bool:
    """Return whether the whole range of a difference lies on one side of zero."""
    return estimate.low > 0 or estimate.high < 0


def band(low: float | None, high: float | None, *, unit: str, quantity: str, course: Course) -> str:
    """Return a target band in the reader's unit: both ends, or one with at least / at most."""
    ends = [None if x is None else point(x, unit, quantity, course) for x in (low, high)]
    if ends[0] and ends[1]:
        first = ends[0]
        tail = f" {scale_for(quantity, unit, course).unit}".rstrip()
        return f"{first.removesuffix(tail) if tail else first}{RANGE}{ends[1]}"
    return f"at least {ends[0]}" if ends[0] else f"at most {ends[1]}" if ends[1] else ""


def chance(p: float) -> str:
    """Return a chance in words and number.

    >>> chance(0.31), chance(0.5), chance(0.02), chance(0.995)
    ('about 3 in 10', 'about 5 in 10', 'less than 1 in 20', 'more than 99 in 100')
    """
    for edge, odds, nearly in ((0.01, "1 in 100", "99 in 100"), (0.05, "1 in 20", "19 in 20")):
        if p < edge:
            return f"less than {odds}"
        if p > 1 - edge:
            return f"more than {nearly}"
    return f"about {min(max(round(p * 10), 1), 9)} in 10"


def likely(held: Estimate) -> str:
    """Return a chance with its range in tenths, where the range says more than the chance.

    >>> from greenwright.base.estimate import normal_estimate
    >>> likely(normal_estimate(0.3, 0.1, "1")), likely(normal_estimate(0.03, 0.12, "1"))
    ('about 3 in 10 (1–5 in 10)', 'less than 1 in 20 (up to 2 in 10)')
    """
    centre, *ends = (min(max(x, 0.0), 1.0) for x in _ordered(held))
    low, high = (round(10 * x) for x in ends)
    told = chance(centre)
    if centre < 0.05:
        return f"{told} (up to {high} in 10)" if high else told
    if centre > 0.95:
        return f"{told} (at least {low} in 10)" if low < 10 else told
    if low == high:
        return told
    return f"{told} ({low}{RANGE}{high} in 10)"


def share(p: float) -> str:
    """Return a share as whole hundredths: ``45 of 100``."""
    return f"{round(p * 100)} of 100"


def hours(h: float) -> str:
    """Return labour: minutes under an hour, hours with one decimal where it counts.

    >>> hours(0.42), hours(1.5), hours(3.0), hours(35.8)
    ('25 min', '1.5 h', '3 h', '36 h')
    """
    if not h:
        return "0 h"
    if h < 0.995:
        return f"{max(round(h * 60), 1)} min"
    return f"{h:.{1 if h < 9.95 else 0}f}".removesuffix(".0") + " h"


_SYMBOLS = {"EUR": "€", "GBP": "£", "USD": "$"}


def money(amount: float, currency: str) -> str:
    """Return an amount of money in whole units, with a sign or the currency's code.

    >>> money(318.6, "EUR"), money(80, "SEK")
    ('€319', '80 SEK')
    """
    sign = MINUS if round(amount) < 0 else ""
    whole = f"{abs(round(amount)):,}"
    if currency in _SYMBOLS:
        return f"{sign}{_SYMBOLS[currency]}{whole}"
    return f"{sign}{whole} {currency}".strip()
