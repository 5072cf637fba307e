"""The tables of data the program is made of: files, reading kinds, practices, methods."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from greenwright.base.errors import UnknownKey


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a record file.

    Args:
        name: as written in the header.
        type: key | text | date | time | datetime | number | integer | choice | yesno |
            quantity | greens | green | scope | uuid.
        required: an empty cell refuses the row.
        of: name of the vocabulary of a choice.
        low, high: inclusive window of a number [unit].
        unit: canonical unit of a number.
        empty: what an empty cell means, where it means something.
    """

    name: str
    type: str
    required: bool = False
    of: str = ""
    low: float | None = None
    high: float | None = None
    unit: str = ""
    empty: str = ""

    @property
    def field(self) -> str:
        """Name of the value's attribute (Python reserves two column names)."""
        return {"from": "from_", "pass": "pass_"}.get(self.name, self.name)


@dataclass(frozen=True, slots=True)
class RecordFile:
    """One file of the record: its columns (common ones last), identity and when it is known."""

    name: str
    value: str
    identity: tuple[str, ...]
    known: str
    columns: tuple[Column, ...]

    def column(self, name: str) -> Column | None:
        """Return the column of that name, or None."""
        return next((c for c in self.columns if c.name == name), None)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of reading; low and high bound what is plausible [unit]."""

    key: str
    label: str
    what: str
    unit: str
    low: float
    high: float
    quantity: str
    of_n: bool = False
    unit_required: bool = False
    methods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity that readings inform; scale plain | log says where it is near normal."""

    key: str
    label: str
    unit: str
    scale: str
    low: float
    high: float
    goes_stale_d: int


@dataclass(frozen=True, slots=True)
class FirmnessMethod:
    """One way to read firmness; higher_is firmer | softer."""

    key: str
    what: str
    unit: str
    higher_is: str


@dataclass(frozen=True, slots=True)
class Practice:
    """One practice; reference is the dose that its reported effect speaks of."""

    key: str
    label: str
    amount: str
    unit: str
    units: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    reference: float | None = None
    reference_unit: str = ""
    reference_words: str = ""
    needs_material: bool = False


@lru_cache(maxsize=8)
def _toml(name: str) -> dict[str, Any]:
    text = files("greenwright.base").joinpath("data", f"{name}.toml").read_text("utf-8")
    return tomllib.loads(text)


def _keyed(rows: list[dict[str, Any]], kind: type) -> Mapping[str, Any]:
    made = (kind(**{k: tuple(v) if isinstance(v, list) else v for k, v in r.items()}) for r in rows)
    return MappingProxyType({item.key: item for item in made})


@lru_cache(maxsize=1)
def kinds() -> Mapping[str, Kind]:
    """Return the reading kinds by key."""
    return _keyed(_toml("kinds")["kind"], Kind)


@lru_cache(maxsize=1)
def quantities() -> Mapping[str, Quantity]:
    """Return the quantities by key."""
    return _keyed(_toml("kinds")["quantity"], Quantity)


@lru_cache(maxsize=1)
def firmness_methods() -> Mapping[str, FirmnessMethod]:
    """Return the methods of firmness by key."""
    return _keyed(_toml("kinds")["firmness_method"], FirmnessMethod)


@lru_cache(maxsize=1)
def practices() -> Mapping[str, Practice]:
    """Return the practices by key."""
    return _keyed(_toml("practices")["practice"], Practice)


@lru_cache(maxsize=1)
def record_files() -> Mapping[str, RecordFile]:
    """Return the record's files by name (without .csv), in the order of loading."""
    table = _toml("files")
    shared = [Column(**c) for c in table["common"]["columns"]]
    made = {}
    for name, spec in table["file"].items():
        columns = (*(Column(**c) for c in spec["columns"]), *shared)
        identity = tuple(spec["identity"])
        made[name] = RecordFile(name, spec["value"], identity, spec["known"], columns)
    return MappingProxyType(made)


@lru_cache(maxsize=64)
def vocabulary(name: str) -> tuple[str, ...]:
    """Return the words a choice column may hold.

    Raises:
        UnknownKey: no vocabulary of that name.
    """
    tables = {"kind": kinds, "practice": practices, "firmness_method": firmness_methods}
    if name in tables:
        return tuple(tables[name]())
    words = _toml("files")["vocabulary"]
    if name not in words:
        raise UnknownKey(f"no vocabulary named {name!r}", expected=", ".join(words))
    return tuple(words[name])
