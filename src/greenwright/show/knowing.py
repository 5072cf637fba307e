"""What every answer says about itself: what it rests on, what is not known, what to mind."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import terms
from greenwright.show.dates import ago, long_date, week_date
from greenwright.show.formats import MINUS
from greenwright.show.page import Section, Short, Table, sentence
from greenwright.show.prose import prose
from greenwright.show.rows import day

RANGE_MEANS = (
    "A range in brackets is where we think the truth lies: it should hold nine times out of ten."
)
SAFETY = (
    "Labels, local codes and licensed practice go before any advice here. At the first thunder "
    "everybody leaves open ground. Guards on, engine off before hands go near blades; shade and "
    "water in the heat."
)
GAPS = 3
"""Gaps told where there is little room; the rest is counted."""


def context(answer: Answer) -> str:
    """Return in one line what the answer rests on."""
    record = answer.record
    count, last = record.get("readings", 0), day(record.get("last_reading"))
    if not count or last is None:
        return "No readings in the record yet"
    noun = "reading" if count == 1 else "readings"
    when = ago(last, answer.as_of)
    told = f"{count:,} {noun} in the record, the last one {when}"
    recent = when.startswith("on ") or when in ("today", "yesterday")
    return told if recent else f"{told} ({long_date(last)})"


def cautions(answer: Answer, course: Course) -> tuple[str, ...]:
    """Return the answer's own cautions, each once, as sentences; safety last."""
    return (*_minded(answer, course), *_sentences(_texts(answer, safety=True), course))


def short(answer: Answer, course: Course, sections: Sequence[Section] = ()) -> Short:
    """Return what stands where there is little room: every caution, safety in one sentence."""
    safety = (SAFETY,) if any(_texts(answer, safety=True)) else ()
    return Short(tuple(sections), (*_minded(answer, course), *safety), _few_gaps(answer, course))


def _minded(answer: Answer, course: Course) -> tuple[str, ...]:
    return _sentences(gathered(_texts(answer, safety=False)), course)


def _texts(answer: Answer, *, safety: bool) -> list[str]:
    return [row["text"] for row in answer.cautions if (row["kind"] == "safety") is safety]


def _sentences(texts: Iterable[str], course: Course) -> tuple[str, ...]:
    return tuple(dict.fromkeys(prose(sentence([text]), course) for text in texts))


def gathered(texts: Iterable[str]) -> list[str]:
    """Return texts with those that say the same of several greens on several days made one.

    >>> gathered(["Green 2, 2026-06-01: too wet", "Green 3, 2026-06-02: too wet"])
    ['Too wet: greens 2 and 3, 2 times, the last one on 2 June']
    >>> gathered(["Green 2, 2026-06-01: too wet"])
    ['Too wet: green 2 on 1 June']
    """
    same: dict[str, list[re.Match[str]]] = {}
    for text in texts:
        found = _ON_GREEN.match(text)
        same.setdefault(found["what"] if found else text, []).extend([found] if found else [])
    return [_gather(key, found) if found else key for key, found in same.items()]


_ON_GREEN = re.compile(r"[Gg]reen (?P<green>.+?), (?P<day>\d{4}-\d\d-\d\d): (?P<what>.+)")


def _gather(what: str, found: Sequence[re.Match[str]]) -> str:
    keys = list(dict.fromkeys(m["green"] for m in found))
    last = max(m["day"] for m in found)
    when = week_date(date.fromisoformat(last)).split(" ", 1)[1]
    when = f" on {when}" if len(found) == 1 else f", {len(found)} times, the last one on {when}"
    return f"{what[:1].upper()}{what[1:].rstrip('.')}: {terms.greens(keys)}{when}"


def dont_know(answer: Answer, course: Course) -> tuple[str, ...]:
    """Return the gaps, each with why it matters and the cheapest reading that would tell."""
    return tuple(dict.fromkeys(prose(_gap(row), course) for row in answer.gaps))


def _few_gaps(answer: Answer, course: Course) -> tuple[str, ...]:
    """Return the first gaps without their reasons; figures that nobody entered are counted."""
    stand_in = [row for row in answer.gaps if _stands_in(row)]
    told = [prose(_gap({**row, "why": ""}), course) for row in answer.gaps if not _stands_in(row)]
    told = list(dict.fromkeys(told))
    more = [f"{len(told) - GAPS} more gaps of this kind."] if len(told) > GAPS + 1 else []
    few = told[:GAPS] if more else told
    usual = ["Common practice stands in for some figures that nobody entered."] if stand_in else []
    return (*few, *more, *usual)


def _stands_in(row: Mapping[str, Any]) -> bool:
    return str(row.get("about", "")).startswith("default:")


def _gap(row: Mapping[str, Any]) -> str:
    parts = [sentence([row["text"]])]
    if row.get("why"):
        parts.append(sentence([row["why"]]))
    told = _reading(row.get("reading"))
    if told and told not in parts[0]:
        parts.append(f"Cheapest way to tell: {told}.")
    return " ".join(parts)


def _reading(held: Any) -> str:
    if not held:
        return ""
    if isinstance(held, str):
        return held.rstrip(".")
    if held.get("text"):
        return str(held["text"]).rstrip(".")
    many = f"{held['n']} × " if held.get("n") else ""
    kind = terms.kind(str(held.get("kind", "reading")))
    kind = kind[:1].lower() + kind[1:]
    keys = held.get("greens") or ([held["green"]] if held.get("green") else [])
    where = f" on {terms.greens([str(k) for k in keys])}" if keys and keys != ["all"] else ""
    minutes = max(round(held.get("minutes") or 0), 1)
    spent = f"about {minutes} minutes" if minutes > 1 else "about a minute"
    return f"{many}{kind}{where}" + (f", {spent}" if held.get("minutes") else "")


def made_by(answer: Answer) -> str:
    """Return the sentence that says which program made the answer."""
    made = answer.made_by
    if not made:
        return ""
    return f"Worked out by {made.get('program', '')}, model {made.get('model', '')}."


def sources(answer: Answer) -> Table | None:
    """Return the table of outside numbers used, strongest grade first, or nothing."""
    if not answer.sources:
        return None
    order = list(terms.GRADES)
    rows = sorted(answer.sources, key=lambda s: (order.index(s["grade"]), s["key"]))
    return Table(
        "Outside numbers used",
        ("Number", "Value", "How strong", "Source"),
        tuple(source_row(row) for row in rows),
    )


def source_row(row: Mapping[str, Any]) -> tuple[str, str, str, str]:
    """Return one outside number as cells: what, value with unit, grade, citation."""
    unit = str(row.get("unit", ""))
    unit = "" if unit in ("1", "-", "dimensionless") else unit.replace("m2", "m²")
    value = f"{plain_value(row['value'])} {unit}".strip()
    label = row.get("label") or key_words(row["key"])
    return (label, value, terms.GRADES[row["grade"]], row.get("citation", "") or "none")


def key_words(key: str) -> str:
    """Return an evidence key as words.

    >>> key_words("effect.roll.green_speed")
    'Effect: roll, green speed'
    """
    head, *rest = key.replace("_", " ").split(".")
    return f"{head.capitalize()}: {', '.join(rest)}" if rest else head.capitalize()


def plain_value(value: Any) -> str:
    """Return an evidence value in print: a number, a list or a small table."""
    if isinstance(value, Mapping):
        return ", ".join(f"{key.replace('_', ' ')} {plain_value(v)}" for key, v in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(plain_value(v) for v in value)
    return f"{value:g}".replace("-", MINUS) if isinstance(value, int | float) else str(value)
