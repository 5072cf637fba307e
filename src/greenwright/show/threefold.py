"""Reading the rows of `golfers`: notice, say and miss, and the levels they are worked out for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import formats, rows, terms

NOTICED = ("green_speed", "smoothness", "trueness_score")
"""Quantities whose differences a player may notice, in the order they are told."""
ROUND = "putts per 18 holes"
LIKELY = 0.5
"""From here on a difference is said to be noticed."""
_THRESHOLDS = {
    "green_speed": "notice.speed_threshold",
    "smoothness": "notice.smoothness_threshold",
    "trueness_score": "notice.trueness_threshold",
}


@dataclass(frozen=True, slots=True)
class Threshold:
    """The difference that half of players notice [unit of the quantity], and how strong it is."""

    value: float
    unit: str
    grade: str


def noticed(answer: Answer, about: str) -> dict[str, rows.Row]:
    """Return the row of the course under each quantity that has one."""
    found = {
        row["quantity"]: row
        for row in answer.findings
        if row["what"] == "notice" and row["about"] == about and row["green"] == rows.COURSE
    }
    return {q: found[q] for q in NOTICED if q in found}


def against_others(answer: Answer, quantity: str) -> tuple[rows.Row, ...]:
    """Return one row per green against the others, in the answer's (playing) order."""
    return tuple(
        row
        for row in answer.findings
        if row["what"] == "notice" and row["about"] == "others" and row["quantity"] == quantity
    )


def standing_out(answer: Answer) -> list[rows.Row]:
    """Return the rows of greens that players notice against the others, the surest first."""
    held = [row for q in NOTICED for row in against_others(answer, q)]
    seen = [row for row in held if (row["chance"] or 0.0) >= LIKELY]
    return sorted(seen, key=lambda row: -row["chance"])


def changed(answer: Answer) -> list[rows.Row]:
    """Return the rows of changes that most players notice and whose way is clear, latest first."""
    held = [row for about in ("yesterday", "lately") for row in noticed(answer, about).values()]
    seen = [row for row in held if (row["chance"] or 0.0) >= LIKELY]
    return [row for row in seen if formats.clear(rows.estimate(row["difference"]))]


def said(answer: Answer) -> dict[str, rows.Row]:
    """Return the rows of what is volunteered, under their topic in the answer's order."""
    return {r["about"]: r for r in _complaints(answer) if not r.get("asked")}


def asked(answer: Answer) -> tuple[rows.Row, ...]:
    """Return the rows of surveys."""
    return tuple(r for r in _complaints(answer) if r.get("asked"))


def _complaints(answer: Answer) -> list[rows.Row]:
    return [row for row in answer.findings if row["what"] == "complaints"]


def players(answer: Answer) -> tuple[str, ...]:
    """Return the players that the answer speaks of, in its order."""
    return tuple(dict.fromkeys(r["player"] for r in answer.findings if r["what"] == "holing"))


def holing(answer: Answer, player: str) -> tuple[rows.Row, ...]:
    """Return the rows of single putts of one player, nearest first."""
    held = [
        row
        for row in answer.findings
        if row["what"] == "holing" and row["player"] == player and row["distance_m"] is not None
    ]
    return tuple(sorted(held, key=lambda row: row["distance_m"]))


def rounds(answer: Answer) -> dict[str, rows.Row]:
    """Return the rows of putts per 18 holes under their player."""
    return {
        row["player"]: row
        for row in answer.findings
        if row["what"] == "holing" and row["about"] == ROUND
    }


def usual_player(held: Sequence[str]) -> str:
    """Return the player that most who ask have in mind: an ordinary one of the club."""
    return "90" if "90" in held else held[-1]


def threshold(answer: Answer, quantity: str) -> Threshold | None:
    """Return what half of players notice, from the answer's own sources."""
    key = _THRESHOLDS.get(quantity)
    row = next((r for r in answer.sources if r["key"] == key), None)
    if row is None:
        return None
    return Threshold(float(row["value"]), str(row.get("unit", "")), terms.GRADES[row["grade"]])


def levels(answer: Answer) -> Mapping[str, Any]:
    """Return what is believed of the day."""
    return answer.more.get("now") or {}


def given(answer: Answer) -> Mapping[str, float]:
    """Return the levels asked for in place of the estimates."""
    held = answer.more.get("what_if") or {}
    return {name: float(held[name]) for name in held.get("given") or ()}


def guessed(answer: Answer) -> bool:
    """Tell whether trueness was never read, so that what is missed rests on a guess."""
    held: Estimate | None = rows.estimate(levels(answer).get("trueness"))
    return "trueness_t" not in given(answer) and held is not None and held.basis == "prior"
