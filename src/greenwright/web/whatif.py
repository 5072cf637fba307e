"""What if it were otherwise: the form of golfers, and what it asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput
from greenwright.base.lengths import INCH_M
from greenwright.base.units import number
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.pages.golfers import sideways
from greenwright.web.options import LONGEST, Options, Params, in_address, options_of

FORM = "form"
"""The field by which a form says that it is one."""
_FOOT_IN = 12


@dataclass(frozen=True, slots=True)
class Part:
    """One box of a field: its name, the unit after it, what stands in it."""

    name: str
    unit: str
    text: str


@dataclass(frozen=True, slots=True)
class Field:
    """One question of the form.

    Args:
        key: option that it fills.
        label: what is asked.
        parts: one box, or two for feet and inches.
        was: what stood in the boxes when the form was made.
        kept: the option as it stands in the address, where it does.
        choices: (value, words) to choose from, where one chooses.
        hint: in a few words.
    """

    key: str
    label: str
    parts: tuple[Part, ...]
    was: str
    kept: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""


def sent(params: Params, course: Course) -> Options:
    """Return what a form asks for: boxes that were not touched ask for nothing new.

    Raises:
        BadInput: a number that cannot be read.
    """
    made: Options = {}
    for key, read in _readers(course).items():
        boxes = [params.get(name, "").strip()[:LONGEST] for name in _boxes(key, course)]
        kept = params.get(f"kept_{key}", "")[:LONGEST]
        if not any(boxes):
            continue
        if " ".join(boxes) == params.get(f"was_{key}", ""):
            made |= options_of("golfers", {key: kept}) if kept else {}
        else:
            made[key] = _read(key, boxes, read)
    return made


Reader = Callable[[Sequence[str]], Any]


def _read(key: str, boxes: Sequence[str], read: Reader) -> Any:
    try:
        return read(boxes)
    except BadInput as fault:
        wanted = "a number with a decimal point"
        raise BadInput(fault.what, where=key.split("_")[0], expected=wanted, do=fault.do) from None


def _boxes(key: str, course: Course) -> tuple[str, ...]:
    feet = key == "speed_m" and course.speed_units == "ft"
    return ("speed_ft", "speed_in") if feet else (f"f_{key}",)


def _readers(course: Course) -> dict[str, Reader]:
    """Return how each field's boxes become its option."""
    feet = course.speed_units == "ft"
    across = formats.scale_for("", "mm/m", course).factor
    return {
        "speed_m": _feet_and_inches if feet else _plain,
        "smoothness": _plain,
        "sideways_mm_per_m": lambda boxes: _plain(boxes) / across,
        "rounds": _plain,
        "player": _word,
        "green": _word,
        "distance_m": lambda boxes: _plain(boxes) * (_FOOT_IN * INCH_M if feet else 1.0),
    }


def _feet_and_inches(boxes: Sequence[str]) -> float:
    feet, inches = (number(text) if text else 0.0 for text in boxes)
    return (_FOOT_IN * feet + inches) * INCH_M


def _plain(boxes: Sequence[str]) -> float:
    return number(boxes[0])


def _word(boxes: Sequence[str]) -> str:
    return boxes[0]


def fields(
    answer: Answer, course: Course, options: Options, *, greens: Sequence[str]
) -> tuple[Field, ...]:
    """Return the form: filled with what was asked for, else with today's.

    Args:
        answer: of golfers; its `now` is today's whatever was asked for.
        course: decides the units.
        options: asked for, in SI.
        greens: in playing order.
    """
    levels = _levels(answer, options)
    shown = {key: _texts(key, value, course) for key, value in levels.items()}
    kept = in_address(options)
    made = [_field(key, texts, kept.get(key, ""), course) for key, texts in shown.items()]
    putts = answer.more.get("putts") or {}
    who = [(key, terms.player(key)) for key in threefold.players(answer)]
    where = [(key, f"green {key}") for key in greens]
    made += [_choice("player", str(options.get("player", putts.get("player", ""))), who, kept)]
    made += [_choice("green", str(options.get("green", putts.get("green", ""))), where, kept)]
    return tuple(made)


def _levels(answer: Answer, options: Options) -> dict[str, float | None]:
    """Return the numbers that the form shows [SI], None where nothing is known."""
    now = threefold.levels(answer)
    believed = {
        "speed_m": now.get("green_speed"),
        "smoothness": now.get("smoothness"),
        "sideways_mm_per_m": now.get("sideways_mm_per_m"),
    }
    held = {key: None if e is None else rows.estimate(e).value for key, e in believed.items()}
    held |= {"rounds": now.get("rounds")}
    held |= {"distance_m": (answer.more.get("putts") or {}).get("distance_m")}
    index = options.get("trueness_t")
    if index is not None:
        held["sideways_mm_per_m"] = sideways(index, options.get("speed_m") or held["speed_m"])
    return {key: options.get(key, value) for key, value in held.items()}


def _texts(key: str, value: float | None, course: Course) -> tuple[str, ...]:
    feet = course.speed_units == "ft"
    if value is None:
        return ("", "") if key == "speed_m" and feet else ("",)
    if key == "speed_m" and feet:
        inches = floor(value / INCH_M + 0.5)
        return str(inches // _FOOT_IN), str(inches % _FOOT_IN)
    if key == "distance_m" and feet:
        return (_bare(value / (_FOOT_IN * INCH_M), 1),)
    if key == "sideways_mm_per_m":
        scale = formats.scale_for("", "mm/m", course)
        return (_bare(value * scale.factor, scale.decimals),)
    return (_bare(value, {"smoothness": 1, "rounds": 0}.get(key, 2)),)


def _bare(value: float, places: int) -> str:
    return formats.plain(value, places).replace(formats.MINUS, "-")


LABELS = {
    "speed_m": "Green speed",
    "smoothness": "Smoothness, 0 to 10",
    "sideways_mm_per_m": "Trueness: how far sideways balls end apart",
    "rounds": "Rounds that day",
    "distance_m": "Length of the putts in the picture",
    "player": "Player in the picture",
    "green": "Green in the picture",
}


def _field(key: str, texts: Sequence[str], kept: str, course: Course) -> Field:
    feet = course.speed_units == "ft"
    across = formats.scale_for("", "mm/m", course).unit
    units = {
        "speed_m": ("ft", "in") if feet else ("m",),
        "sideways_mm_per_m": (across,),
        "distance_m": ("ft" if feet else "m",),
    }.get(key, ("",))
    boxes = zip(_boxes(key, course), units, texts, strict=True)
    hint = "at the speed above; 0 is perfectly true" if key == "sideways_mm_per_m" else ""
    parts = tuple(Part(*box) for box in boxes)
    return Field(key, LABELS[key], parts, " ".join(texts), kept, hint=hint)


def _choice(
    key: str, chosen: str, choices: Sequence[tuple[str, str]], kept: Mapping[str, str]
) -> Field:
    part = Part(f"f_{key}", "", chosen)
    return Field(key, LABELS[key], (part,), chosen, kept.get(key, ""), tuple(choices))


def retyped(held: Sequence[Field], params: Params) -> tuple[Field, ...]:
    """Return the form with what was typed in its boxes: nobody types twice."""
    return tuple(
        replace(
            field,
            parts=tuple(replace(p, text=params.get(p.name, p.text)[:LONGEST]) for p in field.parts),
        )
        for field in held
    )
