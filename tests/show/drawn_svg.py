"""Reading a drawing back: where its marks stand, in pixels. Shares nothing with the program."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
_AT = re.compile(rf"translate\(({NUMBER}),({NUMBER})\)")
_BAR = re.compile(rf"^M({NUMBER}),({NUMBER})h({NUMBER})v({NUMBER})h-?{NUMBER}Z$")


@dataclass(frozen=True)
class Mark:
    """A mark or a line: where it stands, how far it runs to the right, its colours."""

    x: float
    y: float
    run: float
    fill: str
    stroke: str


def attributes(tag: str) -> dict[str, str]:
    """Return the attributes of a tag."""
    return dict(re.findall(r'([\w-]+)="([^"]*)"', tag))


def marks(svg: str) -> list[Mark]:
    """Return the symbols of a drawing: paths that are moved to their place."""
    made = []
    for tag in re.findall(r"<path[^>]*>", svg):
        held = attributes(tag)
        at = _AT.match(held.get("transform", ""))
        if at and "L" not in held["d"]:
            made.append(Mark(*map(float, at.groups()), 0.0, *_paint(held)))
    return made


def symbols(svg: str) -> list[Mark]:
    """Return every symbol, those of straight lines too."""
    made = []
    for tag in re.findall(r"<path[^>]*>", svg):
        held = attributes(tag)
        at = _AT.match(held.get("transform", ""))
        if at:
            made.append(Mark(*map(float, at.groups()), 0.0, *_paint(held)))
    return made


def bars(svg: str) -> list[Mark]:
    """Return bars: left end, top, width."""
    made = []
    for tag in re.findall(r"<path[^>]*>", svg):
        held = attributes(tag)
        found = _BAR.match(held.get("d", ""))
        if found and ("fill" in held or "stroke" in held):
            x, y, run, _ = map(float, found.groups())
            made.append(Mark(x, y, run, *_paint(held)))
    return made


def level_lines(svg: str) -> list[Mark]:
    """Return level lines that are not the axis: left end, height, length."""
    made = []
    for tag in re.findall(r"<line[^>]*>", svg):
        held = attributes(tag)
        at = _AT.match(held.get("transform", ""))
        if at and float(held.get("y2", 0)) == 0 and float(held.get("x2", 0)) > 0:
            made.append(Mark(*map(float, at.groups()), float(held["x2"]), *_paint(held)))
    return made


def ways(svg: str) -> list[list[tuple[float, float]]]:
    """Return open lines as points."""
    made = []
    for tag in re.findall(r"<path[^>]*>", svg):
        held = attributes(tag)
        if held.get("fill", "none") == "none" and held.get("d", "").count("L") > 0:
            if "transform" in held or held["d"].startswith("M-1,7"):
                continue
            points = re.findall(rf"[ML]({NUMBER}),({NUMBER})", held["d"])
            made.append([(float(x), float(y)) for x, y in points])
    return made


def _paint(held: dict[str, str]) -> tuple[str, str]:
    return held.get("fill", ""), held.get("stroke", "")


def off_straight(pixels: Sequence[float], values: Sequence[float]) -> float:
    """Return how far pixels lie off a straight rule from values to pixels, at most.

    The rule is laid through the ends of the values, so at least three are wanted.
    """
    low, high = (
        min(range(len(values)), key=values.__getitem__),
        max(range(len(values)), key=values.__getitem__),
    )
    slope = (pixels[high] - pixels[low]) / (values[high] - values[low])
    return max(
        abs(pixel - pixels[low] - slope * (value - values[low]))
        for pixel, value in zip(pixels, values, strict=True)
    )
