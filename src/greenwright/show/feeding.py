"""Reading an answer of feed: groups, months, elements, lines of the plan, in the reader's words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import MONTHS, short_date

ELEMENTS = {
    "N": "Nitrogen",
    "P": "Phosphorus",
    "K": "Potassium",
    "Ca": "Calcium",
    "Mg": "Magnesium",
    "S": "Sulfur",
    "Fe": "Iron",
    "Mn": "Manganese",
    "Zn": "Zinc",
    "Cu": "Copper",
    "B": "Boron",
}
VERDICTS = {"needed": "needed", "not needed": "not needed", "test first": "test first"}
SHAPES = {"needed": "▲ needed", "not needed": "● not needed", "test first": "○ test first"}
"""A verdict as a mark and a word."""
_LB_G = 453.59237


@dataclass(frozen=True, slots=True)
class Need:
    """One element of one group over the year."""

    group: str
    element: str
    verdict: str
    need: Estimate | None
    content: Estimate | None
    row: rows.Row


def group_name(key: str) -> str:
    """Return what a group is called.

    >>> group_name("group:A"), group_name("7"), group_name("group:practice")
    ('Group A', 'Green 7', 'Group practice')
    """
    if key.startswith("group:"):
        return f"Group {key.removeprefix('group:')}"
    return f"Green {key}"


def element_name(key: str) -> str:
    """Return the name of an element."""
    return ELEMENTS.get(key, key)


def elements(answer: Answer) -> tuple[Need, ...]:
    """Return the elements beside nitrogen, in the order of the answer."""
    return tuple(
        Need(
            row["green"],
            row["element"],
            row["verdict"],
            rows.estimate(row["need"]),
            rows.estimate(row.get("content")),
            row,
        )
        for row in answer.findings
        if row["element"] != "N"
    )


def nitrogen(answer: Answer, group: str) -> tuple[rows.Row, ...]:
    """Return a group's nitrogen rows by month, January first."""
    held = [r for r in answer.findings if r["element"] == "N" and r["green"] == group]
    return tuple(sorted((r for r in held if r.get("month")), key=lambda r: r["month"]))


def nitrogen_year(answer: Answer, group: str) -> rows.Row | None:
    """Return a group's nitrogen of the year, if it was worked out."""
    held = [r for r in answer.findings if r["element"] == "N" and r["green"] == group]
    return next((r for r in held if r.get("month") is None), None)


def alike(answer: Answer) -> list[tuple[str, ...]]:
    """Return the groups whose nitrogen is the same month by month, told as one."""
    sets: dict[tuple[float, ...], list[str]] = {}
    for held in answer.more.get("groups") or ():
        key = held["group"]
        months = nitrogen(answer, key)
        if months:
            told = tuple(round(rows.estimate(r["need"]).value, 4) for r in months)
            sets.setdefault((*told, *(round(r["given"], 3) for r in months)), []).append(key)
    return [tuple(keys) for keys in sets.values()]


def listed_groups(keys: Sequence[str], every: int) -> str:
    """Return groups in words; all of them are everywhere.

    >>> listed_groups(["group:A", "group:B"], 3), listed_groups(["group:A"], 1)
    ('groups A and B', 'everywhere')
    """
    if len(keys) == every:
        return "everywhere"
    short = [k.removeprefix("group:") for k in keys]
    if all(k.startswith("group:") for k in keys):
        return f"group{'s' if len(keys) > 1 else ''} {terms.listed(short)}"
    return terms.listed([group_name(k).lower() for k in keys])


def by_place(found: Mapping[str, Sequence[str]], every: int) -> str:
    """Return elements with where they are, those of the same place told together.

    >>> by_place({"K": ["group:A"], "P": ["group:A", "group:B"], "S": ["group:A"]}, 2)
    'potassium and sulfur group A; phosphorus everywhere'
    """
    places: dict[str, list[str]] = {}
    for element, keys in found.items():
        where = listed_groups(keys, every)
        places.setdefault(where, []).append(element_name(element).lower())
    return "; ".join(f"{terms.listed(names)} {where}" for where, names in places.items())


def month_name(number: int) -> str:
    """Return a month's name."""
    return MONTHS[number - 1]


def rate(value: float, course: Course) -> str:
    """Return a rate [g/m2] in the reader's unit."""
    return formats.point(value, "g/m2", "", course)


def mass(kilos: float, course: Course) -> str:
    """Return a mass [kg] as it is weighed out.

    >>> mass(5.96, Course(course="fen", name="Fen"))
    '5.96 kg'
    """
    held, unit = (kilos * 1000 / _LB_G, "lb") if course.display_units == "us" else (kilos, "kg")
    places = 0 if held >= 100 else 1 if held >= 10 else 2
    return f"{formats.plain(held, places)} {unit}"


def water(litres: float, course: Course) -> str:
    """Return a volume of water [L] in the reader's unit."""
    if course.display_units == "us":
        return f"{formats.plain(litres / 3.785411784, 0)} gal"
    return f"{formats.plain(litres, 0)} L"


def per_tank(g_per_100_l: float, course: Course) -> str:
    """Return what goes into a hundred litres or gallons."""
    if course.display_units == "us":
        return f"{formats.plain(g_per_100_l * 3.785411784 / _LB_G, 2)} lb in 100 gal"
    if g_per_100_l >= 1000:
        return f"{formats.plain(g_per_100_l / 1000, 2)} kg in 100 L"
    return f"{formats.plain(g_per_100_l, 0)} g in 100 L"


def together(held: Sequence[rows.Row]) -> tuple[rows.Row, ...]:
    """Return lines of the plan with those alike on several groups made one: masses add up."""
    made: dict[tuple[object, ...], dict[str, Any]] = {}
    for row in held:
        key = (row["from"], row["until"], row["material"], round(row["rate"], 3), row["passes"])
        if key not in made:
            made[key] = {**row, "groups": [row["green"]]}
            continue
        kept = made[key]
        kept["groups"] = [*kept["groups"], row["green"]]
        kept["greens"] = [*kept["greens"], *row["greens"]]
        for name in ("amount", "cost", "area_m2"):
            kept[name] += row[name]
        if kept.get("spray") and row.get("spray"):
            water = kept["spray"]["water_l"] + row["spray"]["water_l"]
            kept["spray"] = {**kept["spray"], "water_l": water}
    return tuple(made.values())


def span(row: Mapping[str, Any]) -> str:
    """Return the days of a line of the plan."""
    first, last = rows.day(row["from"]), rows.day(row["until"])
    assert first is not None and last is not None
    if first.month == last.month:
        return f"{first.day}–{short_date(last)}"
    return f"{short_date(first)} – {short_date(last)}"


def starts(row: Mapping[str, Any]) -> date:
    """Return the first day of a line of the plan."""
    found = rows.day(row["from"])
    assert found is not None
    return found
