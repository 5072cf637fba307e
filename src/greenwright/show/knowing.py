"""What every answer says about itself: what it rests on, what is not known, what to mind."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.show import terms
from greenwright.show.dates import ago, long_date, week_date
from greenwright.show.page import Table, sentence
from greenwright.show.rows import day

RANGE_MEANS = (
    "A range in brackets is where we think the truth lies: it should hold nine times out of ten."
)
SAFETY = (
    "Labels, local codes and licensed practice go before any advice here; "
    "leave open ground at once when there is lightning."
)


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


def cautions(answer: Answer) -> tuple[str, ...]:
    """Return the answer's own cautions, each once, as sentences; safety last."""
    ordered = sorted(answer.cautions, key=lambda row: row["kind"] == "safety")
    return tuple(dict.fromkeys(sentence([text]) for text in gathered(r["text"] for r in ordered)))


def gathered(texts: Iterable[str]) -> list[str]:
    """Return texts with those that say the same of several greens on several days made one.

    >>> gathered(["Green 2, 2026-06-01: too wet", "Green 3, 2026-06-02: too wet"])
    ['Too wet: greens 2 and 3, 2 times, the last one on 2 June']
    """
    same: dict[str, list[re.Match[str]]] = {}
    made: dict[str, str] = {}
    for text in texts:
        found = _ON_GREEN.match(text)
        key = found["what"] if found else text
        if found:
            same.setdefault(key, []).append(found)
        made[key] = text
    return [_gather(key, same[key]) if len(same.get(key, ())) > 1 else made[key] for key in made]


_ON_GREEN = re.compile(r"[Gg]reen (?P<green>\S+), (?P<day>\d{4}-\d\d-\d\d): (?P<what>.+)")


def _gather(what: str, found: Sequence[re.Match[str]]) -> str:
    keys = sorted({m["green"] for m in found}, key=lambda k: (len(k), k))
    last = max(m["day"] for m in found)
    when = week_date(date.fromisoformat(last)).split(" ", 1)[1]
    what = what.rstrip(".")
    where = terms.greens(keys)
    return f"{what[:1].upper()}{what[1:]}: {where}, {len(found)} times, the last one on {when}"


def dont_know(answer: Answer) -> tuple[str, ...]:
    """Return the gaps, each with why it matters and the cheapest reading that would tell."""
    return tuple(dict.fromkeys(_gap(row) for row in answer.gaps))


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
    minutes = f", about {round(held['minutes'])} minutes" if held.get("minutes") else ""
    return f"{many}{kind}{where}{minutes}"


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
    unit = "" if unit in ("1", "-", "dimensionless") else unit
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
    return f"{value:g}" if isinstance(value, int | float) else str(value)
