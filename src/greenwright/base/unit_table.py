"""The table of units: phrases, slips and UCUM codes; no unit registry is needed to read it."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from greenwright.base.errors import UnknownKey


@lru_cache(maxsize=1)
def unit_table() -> dict[str, Any]:
    """Return the table of data/units.toml."""
    text = files("greenwright.base").joinpath("data", "units.toml").read_text("utf-8")
    return tomllib.loads(text)


def ucum(unit: str) -> str:
    """Return the UCUM code of a canonical unit; no unit gives ``1``.

    Raises:
        UnknownKey: not a canonical unit.

    >>> ucum("degC"), ucum("score")
    ('Cel', '{score}')
    """
    codes = unit_table()["ucum"]
    if not unit:
        return "1"
    if unit not in codes:
        raise UnknownKey(f"{unit!r} is not a canonical unit", expected=", ".join(codes))
    return codes[unit]
