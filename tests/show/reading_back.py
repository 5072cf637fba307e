"""Reading printed numbers back, by rules of their own: nothing here is shared with the program."""

from __future__ import annotations

import re

FEET = re.compile(r"(\d+)'(\d+)\"")
PLAIN = re.compile(r"[−+]?\d+(?:\.\d+)?")


def inches(text: str) -> list[int]:
    """Return every length written in feet and inches [in]."""
    return [12 * int(feet) + int(more) for feet, more in FEET.findall(text)]


def numbers(text: str) -> list[float]:
    """Return every plain number, a true minus sign as minus."""
    return [float(found.replace("−", "-")) for found in PLAIN.findall(text)]


def places(text: str) -> int:
    """Return how many decimals the first number carries."""
    first = PLAIN.search(text)
    return len(first[0].partition(".")[2]) if first else 0
