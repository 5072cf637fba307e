"""The evidence table: every number that was not measured here, with its grade and source.

Entries live as TOML under ``greenwright/evidence``; code refers to a key, never to a number.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from greenwright.base.errors import BadInput, UnknownKey

GRADES = ("published", "reported", "common practice", "memory", "derived", "elicited")
GRADES_WITH_CITATION = ("published", "reported")
UNCERTAINTIES = ("stated", "elicited", "exact", "not stated")

_SOURCES_FILE = "sources.toml"
_ENTRY_FIELDS = frozenset(
    [
        "key",
        "label",
        "value",
        "unit",
        "sd",
        "low",
        "high",
        "uncertainty",
        "validity",
        "grade",
        "source",
        "note",
    ]
)
_SOURCE_FIELDS = frozenset(["title", "venue", "year", "doi", "note"])
_KEY = re.compile(r"[a-z][a-z0-9_-]*(\.[A-Za-z0-9_-]+)+")
_NOT_SI = frozenset(["in", "ft", "yd", "mi", "lb", "oz", "gal", "acre", "degF", "mph", "psi"])
# "Surname, A." or "et al." betray an author where only title, venue and year belong.
_AUTHOR_LIKE = re.compile(r"\bet al\b|\b[A-Z][a-z]+, (?:[A-Z]\.)+")

Value = float | tuple[float, ...] | Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One number (or small table of numbers) that came from outside the record.

    ``value`` is in ``unit`` (SI inside); ``sd``, ``low`` and ``high`` are in the same unit.
    ``uncertainty`` says where the spread comes from: stated | elicited | exact | not stated.
    """

    key: str
    value: Value
    unit: str
    sd: float | None
    low: float | None
    high: float | None
    uncertainty: str
    validity: str
    grade: str
    citation: str
    sources: tuple[str, ...]
    label: str
    note: str


def evidence() -> Mapping[str, Evidence]:
    """Return the whole table, by key in alphabetical order.

    >>> evidence()["loss.cap"].value
    4.0
    """
    return _table()


def look_up(key: str) -> Evidence:
    """Return the entry of a key.

    Raises:
        UnknownKey: no such entry; names the nearest keys.

    >>> look_up("complaints.score_threshold").unit
    'score'
    """
    try:
        return _table()[key]
    except KeyError:
        raise UnknownKey(
            f"no evidence entry '{key}'",
            where="evidence table",
            expected=f"a key such as {_nearest(key)}",
            do="correct the key, or enter the number with its grade and source",
        ) from None


def value(key: str) -> float:
    """Return the number of a key, in the entry's unit.

    Raises:
        UnknownKey: no such entry.
        BadInput: the entry holds a list or a table, not one number.
    """
    held = look_up(key).value
    if isinstance(held, float):
        return held
    raise BadInput(
        f"evidence entry '{key}' is not one number",
        where="evidence table",
        expected="an entry with a single number",
        do="take look_up(key).value instead",
    )


def log_sd(key: str) -> float:
    """Return the sd of the natural log of an entry above zero: sqrt(log(1 + (sd / value)^2)).

    Raises:
        UnknownKey, BadInput: as in `value`.

    >>> round(log_sd("complaints.base_rate"), 3)
    0.631
    """
    return math.sqrt(math.log1p(((look_up(key).sd or 0.0) / value(key)) ** 2))


def as_source(entry: Evidence) -> dict[str, Any]:
    """Return the entry as a row of an answer's ``sources``: key, value, unit, grade, citation."""
    return {
        "key": entry.key,
        "value": _plain(entry.value),
        "unit": entry.unit,
        "grade": entry.grade,
        "citation": entry.citation,
    }


def bibliography() -> Mapping[str, Mapping[str, Any]]:
    """Return the sources by short key: title, venue, year and DOI as far as they were read."""
    return _raw()[1]


def citation_text(source: Mapping[str, Any]) -> str:
    """Return a source as title, venue, year and DOI, without author names.

    >>> citation_text({"title": "On sand", "venue": "A journal", "year": 1999})
    'On sand, A journal, 1999'
    """
    parts = [source.get("title"), source.get("venue"), source.get("year")]
    doi = source.get("doi")
    named = [str(part) for part in parts if part]
    return ", ".join([*named, f"doi:{doi}"] if doi else named)


def check_entries(
    entries: Iterable[Mapping[str, Any]], sources: Mapping[str, Mapping[str, Any]]
) -> list[str]:
    """Return every problem of raw entries and sources, one sentence each; empty means clean."""
    rows = list(entries)
    problems = [problem for row in rows for problem in _entry_problems(row, sources)]
    counts = Counter(str(row.get("key", "")) for row in rows)
    problems += [f"{key}: entered {n} times" for key, n in counts.items() if n > 1]
    cited = {name for row in rows for name in _cited(row)}
    problems += [f"source {name}: cited by no entry" for name in sources if name not in cited]
    return problems + [p for name, held in sources.items() for p in _source_problems(name, held)]


def raw_entries() -> tuple[Mapping[str, Any], ...]:
    """Return the entries as the TOML files hold them, for ``check_entries``."""
    return _raw()[0]


def _entry_problems(row: Mapping[str, Any], sources: Mapping[str, Any]) -> list[str]:
    name = str(row.get("key") or "entry without key")
    found = [f"missing {field}" for field in _missing(row)]
    found += [f"unknown field {field}" for field in sorted(set(row) - _ENTRY_FIELDS)]
    found += _grade_problems(row, sources) + _number_problems(row)
    if not _KEY.fullmatch(name):
        found.append("key is not dotted words")
    return [f"{name}: {problem}" for problem in found]


def _missing(row: Mapping[str, Any]) -> list[str]:
    needed = ("key", "label", "unit", "validity", "grade")
    gaps = [field for field in needed if not str(row.get(field, "")).strip()]
    return gaps if "value" in row else [*gaps, "value"]


def _grade_problems(row: Mapping[str, Any], sources: Mapping[str, Any]) -> list[str]:
    grade, cited = row.get("grade"), _cited(row)
    found = [f"unknown source {name}" for name in cited if name not in sources]
    if grade and grade not in GRADES:
        found.append(f"unknown grade {grade}")
    if grade in GRADES_WITH_CITATION and not cited:
        found.append(f"grade {grade} needs a citation")
    return found


def _number_problems(row: Mapping[str, Any]) -> list[str]:
    found = []
    stated, sd = row.get("uncertainty"), row.get("sd")
    spread = sd is not None or "low" in row
    if stated is None and not spread:
        found.append("missing uncertainty")
    if stated is not None and stated not in UNCERTAINTIES:
        found.append(f"unknown uncertainty {stated}")
    if stated == "elicited" and not spread:
        found.append("elicited uncertainty without sd or low and high")
    if sd is not None and not sd > 0:
        found.append("sd is not above zero")
    if _is_number(row.get("value")) and not _inside(row):
        found.append("value is outside its low and high")
    if any(not math.isfinite(number) for number in _numbers(row)):
        found.append("a number is not finite")
    if set(re.split(r"[^A-Za-z]+", str(row.get("unit", "")))) & _NOT_SI:
        found.append(f"unit {row['unit']} is not SI")
    return found


def _source_problems(name: str, held: Mapping[str, Any]) -> list[str]:
    found = [f"unknown field {field}" for field in sorted(set(held) - _SOURCE_FIELDS)]
    found += [f"missing {f}" for f in ("title", "venue") if not str(held.get(f, "")).strip()]
    if any(_AUTHOR_LIKE.search(str(text)) for text in held.values()):
        found.append("looks as if it names an author")
    return [f"source {name}: {problem}" for problem in found]


def _inside(row: Mapping[str, Any]) -> bool:
    return row.get("low", -math.inf) <= row["value"] <= row.get("high", math.inf)


def _numbers(row: Mapping[str, Any]) -> list[float]:
    held = row.get("value")
    inner = held.values() if isinstance(held, Mapping) else held if isinstance(held, list) else ()
    every = [held, *inner, row.get("sd"), row.get("low"), row.get("high")]
    return [float(number) for number in every if _is_number(number)]


def _is_number(held: object) -> bool:
    return isinstance(held, int | float) and not isinstance(held, bool)


def _cited(row: Mapping[str, Any]) -> tuple[str, ...]:
    held = row.get("source", ())
    return (held,) if isinstance(held, str) else tuple(held)


def _nearest(key: str) -> str:
    known = list(_table())
    near = difflib.get_close_matches(key, known, n=3, cutoff=0.4)
    last = key.rsplit(".", 1)[-1]
    near += [name for name in known if name.endswith(f".{last}") and name not in near][:2]
    return ", ".join(near or known[:3])


@cache
def _table() -> Mapping[str, Evidence]:
    rows, sources = _raw()
    built = (_build(row, sources) for row in sorted(rows, key=lambda row: row["key"]))
    return MappingProxyType({entry.key: entry for entry in built})


@cache
def _raw() -> tuple[tuple[Mapping[str, Any], ...], Mapping[str, Mapping[str, Any]]]:
    folder = files("greenwright").joinpath("evidence")
    topics = sorted(p.name for p in folder.iterdir() if p.name.endswith(".toml"))
    tables = {name: tomllib.loads(folder.joinpath(name).read_text("utf-8")) for name in topics}
    sources = tables.pop(_SOURCES_FILE)["source"]
    return tuple(row for table in tables.values() for row in table["entry"]), sources


def _build(row: Mapping[str, Any], sources: Mapping[str, Mapping[str, Any]]) -> Evidence:
    cited = _cited(row)
    return Evidence(
        key=row["key"],
        value=_frozen(row["value"]),
        unit=row["unit"],
        sd=_maybe(row.get("sd")),
        low=_maybe(row.get("low")),
        high=_maybe(row.get("high")),
        uncertainty=row.get("uncertainty", "stated"),
        validity=row["validity"],
        grade=row["grade"],
        citation="; ".join(citation_text(sources[name]) for name in cited),
        sources=cited,
        label=row["label"],
        note=row.get("note", ""),
    )


def _maybe(number: float | None) -> float | None:
    return None if number is None else float(number)


def _frozen(held: Any) -> Value:
    if isinstance(held, Mapping):
        return MappingProxyType({k: float(v) if _is_number(v) else v for k, v in held.items()})
    return tuple(float(item) for item in held) if isinstance(held, list) else float(held)


def _plain(held: Value) -> Any:
    if isinstance(held, Mapping):
        return dict(held)
    return list(held) if isinstance(held, tuple) else held
