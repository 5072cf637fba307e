"""What the quick-entry form asks for each kind of reading and each practice, and its rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5
from zoneinfo import ZoneInfo

from greenwright.base.errors import BadInput
from greenwright.base.tables import firmness_methods, kinds, practices
from greenwright.base.values import Course
from greenwright.desk import clock
from greenwright.show import terms
from greenwright.web.forms import Form

OFTEN = {
    "reading": (
        "roll_distance",
        "roll_score",
        "smoothness_score",
        "trueness_score",
        "moisture",
        "firmness",
        "clippings",
        "height_of_cut",
        "quality",
    ),
    "work": ("mow", "roll", "topdress", "verticut", "brush", "feed", "hand_water"),
}
ROLLS = 3
"""Rolls asked for in each direction."""
MOST_ROWS = 12
UNITS = {
    "clippings": ("mL/m2", "L/1000ft2"),
    "moisture": ("%",),
    "height_of_cut": ("mm", "in"),
    "green_speed": ("m", "ft"),
    "pitch_marks": ("count/m2",),
}
KEPT_CELLS = ("date", "time", "station", "observer", "instrument", "surface", "note", "n", "method")
WORK_CELLS = ("date", "time", "status", "amount", "unit", "passes", "material", "detail")
WORK_MORE = ("operator", "machine", "labour_h", "note")


@dataclass(frozen=True, slots=True)
class Entry:
    """What is being entered: a reading of one kind, or work of one practice."""

    of_what: str
    kind: str

    @classmethod
    def of(cls, held: Mapping[str, str]) -> Entry:
        """Return the entry that parameters or fields ask for; ball roll when they say nothing."""
        of_what = "work" if held.get("of") == "work" else "reading"
        known = practices() if of_what == "work" else kinds()
        kind = held.get("kind", "")
        return cls(of_what, kind if kind in known else OFTEN[of_what][0])

    @property
    def file(self) -> str:
        """File of the record that it goes to."""
        return "work" if self.of_what == "work" else "readings"


def spec(entry: Entry, course: Course) -> dict[str, Any]:
    """Return what the form shows for an entry."""
    name = terms.practice if entry.of_what == "work" else terms.kind
    known = practices() if entry.of_what == "work" else kinds()
    often = OFTEN[entry.of_what]
    held = {
        "often": [(k, name(k)) for k in often],
        "rest": [(k, name(k)) for k in known if k not in often],
        "name": name(entry.kind),
    }
    return held | (_work_spec(entry) if entry.of_what == "work" else _reading_spec(entry, course))


def _reading_spec(entry: Entry, course: Course) -> dict[str, Any]:
    known = kinds()[entry.kind]
    methods = list(known.methods)
    if entry.kind == "firmness":
        methods = [m.key for m in firmness_methods().values()]
    return {
        "rolls": range(1, ROLLS + 1) if entry.kind == "roll_distance" else (),
        "feet": course.speed_units == "ft",
        "what": known.what,
        "of_n": known.of_n,
        "methods": methods,
        "units": _units(entry.kind, known.unit, course),
        "unit_required": known.unit_required,
        "score": {"score": "0 to 10", "rating": "1 to 9"}.get(known.unit, ""),
    }


def _units(kind: str, unit: str, course: Course) -> tuple[str, ...]:
    held = UNITS.get(kind, () if unit in ("score", "rating", "count", "own") else (unit,))
    turned = (kind == "green_speed" and course.speed_units == "ft") or (
        kind != "green_speed" and course.display_units == "us"
    )
    return tuple(reversed(held)) if turned else held


def _work_spec(entry: Entry) -> dict[str, Any]:
    known = practices()[entry.kind]
    return {
        "amount": known.amount,
        "units": known.units or ((known.unit,) if known.unit else ()),
        "needs_material": known.needs_material,
        "passes": entry.kind in ("mow", "roll", "brush", "groom", "verticut"),
    }


def rows(entry: Entry, form: Form, course: Course) -> list[dict[str, str]]:
    """Return the record's rows that a form stands for, each as column -> text with its id.

    Raises:
        BadInput: nothing to keep, or a green or value is missing.
    """
    made = _work_rows(entry, form) if entry.of_what == "work" else _reading_rows(entry, form)
    token = _token(form.get("token"))
    return [{**_filled(cells), "id": str(uuid5(token, str(i)))} for i, cells in enumerate(made)]


def _token(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return uuid5(NAMESPACE_URL, text)


def _filled(cells: Mapping[str, str]) -> dict[str, str]:
    return {name: text for name, text in cells.items() if text}


def _reading_rows(entry: Entry, form: Form) -> list[dict[str, str]]:
    shared = {name: form.get(name) for name in KEPT_CELLS}
    shared |= {"kind": entry.kind, "green": _needed(form, "green", "Choose a green")}
    if entry.kind == "roll_distance":
        return [{**shared, **roll} for roll in _rolls(form)]
    value = _needed(form, "value", "Fill in what was read")
    return [{**shared, "value": value, "unit": form.get("unit")}]


def _needed(form: Form, name: str, do: str) -> str:
    text = form.get(name)
    if not text:
        raise BadInput("Something is missing", where=name, do=do)
    return text


def _rolls(form: Form) -> list[dict[str, str]]:
    mark = form.get("token").replace("-", "")[:12]
    made = [
        {"value": text, "unit": unit, "direction": way, "set": mark}
        for way in ("a", "b")
        for n in range(1, ROLLS + 1)
        for text, unit in [_roll(form, f"{way}{n}")]
        if text
    ]
    if not made:
        raise BadInput("No roll was filled in", where="value", do="Fill in at least one roll")
    return made


def _roll(form: Form, name: str) -> tuple[str, str]:
    feet, inches = form.get(f"{name}_ft"), form.get(f"{name}_in")
    if feet or inches:
        return f"{feet or '0'}'{inches or '0'}\"", ""
    text = form.get(name)
    return text, "m" if text and text.replace(".", "", 1).replace(",", "", 1).isdigit() else ""


def _work_rows(entry: Entry, form: Form) -> list[dict[str, str]]:
    chosen = form.all("greens")
    if not chosen:
        raise BadInput("Something is missing", where="greens", do="Choose at least one green")
    greens = "all" if "all" in chosen else ";".join(dict.fromkeys(chosen))
    cells = {name: form.get(name) for name in (*WORK_CELLS, *WORK_MORE)}
    if not cells["amount"]:
        cells["unit"] = ""
    return [{**cells, "practice": entry.kind, "green": greens}]


def next_green(green: str, greens: Sequence[str]) -> str:
    """Return the green played after this one; after the last comes the first.

    >>> next_green("2", ["1", "2", "3"]), next_green("3", ["1", "2", "3"])
    ('3', '1')
    """
    if green not in greens:
        return ""
    return greens[(list(greens).index(green) + 1) % len(greens)]


def clock_time(timezone: str) -> str:
    """Return the time of day where the course is, as 07:15."""
    return clock.now().astimezone(ZoneInfo(timezone)).strftime("%H:%M")
