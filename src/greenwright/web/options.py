"""The options of a question as an address carries them, and back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Any

from greenwright.base.errors import BadInput
from greenwright.base.units import number, quantity
from greenwright.desk import OPTIONS

Params = Mapping[str, str]
Options = dict[str, Any]

LONGEST = 80
"""Characters of one option."""
UNITS = {
    "speed_m": "m",
    "distance_m": "m",
    "trueness_t": "m",
    "sideways_mm_per_m": "mm/m",
    "root_depth_m": "m",
}
WORDS = (
    "green",
    "player",
    "against",
    "event",
    "name",
    "quantity",
    "threshold",
    "layout",
    "treatments",
    "greens",
    "never",
    "kind",
)
DAYS = ("from", "until")
WHOLE = ("days", "year", "periods", "seed")
NOT_HERE = ("heights",)
"""Options that name a file of this machine: no address may ask for one."""

TAKEN: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {q: tuple(n for n in names if n not in NOT_HERE) for q, names in OPTIONS.items()}
)
"""Question -> the options that an address may carry."""


def options_of(question: str, params: Params) -> Options:
    """Return the options that an address carries, in SI.

    Raises:
        BadInput: a number or a day that cannot be read, or words too long to keep whole.
    """
    held: Options = {}
    for name in TAKEN.get(question, ()):
        text = params.get(name, "").strip()
        if len(text) > LONGEST:
            raise BadInput(
                f"{text[:20]!r}… is too long", where=name, expected=f"at most {LONGEST} characters"
            )
        if text:
            held[name] = _read(name, text)
    return held


def _read(name: str, text: str) -> Any:
    if name in WORDS:
        return text
    if name in DAYS:
        return _day(name, text)
    return _whole(name, text) if name in WHOLE else _number(name, text)


def _day(name: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            f"{text!r} is not a date", where=name, expected="a date as 2026-06-05"
        ) from None


def _whole(name: str, text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise BadInput(
            f"{text!r} is not a whole number", where=name, expected="a whole number as 7"
        ) from None


def _number(name: str, text: str) -> float:
    unit = UNITS.get(name, "")
    try:
        held = quantity(text, default_unit=unit, wanted=unit) if unit else number(text)
    except BadInput as fault:
        raise BadInput(
            fault.what, where=name.split("_")[0], expected=_expected(unit), do=fault.do
        ) from None
    # The digits that an address carries, so that the page which follows asks for the same answer.
    return float(_digits(held))


def _expected(unit: str) -> str:
    if not unit:
        return "a number with a decimal point"
    return {"m": "a length as 10ft or 3 m", "mm/m": "a number of mm/m"}[unit]


def unknown_to(question: str, params: Params) -> None:
    """Refuse parameters that a question does not take.

    Raises:
        BadInput: names the first of them, and those that are taken.
    """
    known = ("on", "course", *TAKEN.get(question, ()))
    for name in params:
        if name not in known:
            raise BadInput(
                f"the question {question} takes no option {name[:40]!r}",
                expected=", ".join(known),
                do="Leave it out",
            )


def frozen(options: Options) -> tuple[tuple[str, Any], ...]:
    """Return options as a key of answers that were made."""
    return tuple(sorted(options.items()))


def in_address(options: Options) -> dict[str, str]:
    """Return options as an address carries them."""
    return {name: _text(value) for name, value in options.items()}


def _text(value: Any) -> str:
    if isinstance(value, date):
        return value.isoformat()
    return _digits(value) if isinstance(value, float) else str(value)


def _digits(value: float) -> str:
    return f"{value:.12g}"
