"""The words for questions, quantities, practices and the rest of the record's keys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from greenwright.base.tables import kinds, practices, quantities

HEADINGS = {
    "today": "How are the greens today?",
    "golfers": "What will players notice, say and miss?",
    "why": "Why did it change?",
    "effects": "What does each practice do here?",
    "forecast": "Where will the greens be?",
    "week": "What should we do this week?",
    "event": "How do we have them ready on the day?",
    "read": "What should we read next?",
    "check": "Did it work?",
    "track": "How good has our advice been?",
    "feed": "What do the greens need to eat?",
    "weather": "What does the weather do?",
    "trial": "Which of the two is better?",
}

NAMES = {
    "today": "Today",
    "golfers": "Golfers",
    "why": "Why",
    "effects": "Effects",
    "forecast": "Forecast",
    "week": "Week",
    "event": "Event",
    "read": "Read",
    "check": "Check",
    "track": "Track",
    "feed": "Feed",
    "weather": "Weather",
    "trial": "Trials",
}

GRADES = {
    "published": "published study",
    "reported": "reported in the trade",
    "common practice": "common practice",
    "memory": "from memory, source not yet read",
    "derived": "worked out from others",
    "elicited": "a judgement, no source gives it",
}

CONFIDENCE = {
    "act": "Do it",
    "try": "Worth trying",
    "read first": "Read first",
}

SEPARABLE = {
    "yes": "Yes",
    "partly": "Partly",
    "cannot tell": "We cannot tell yet",
}

VERDICTS = {
    "yes": "● yes",
    "partly": "◐ partly",
    "cannot tell": "○ cannot tell",
}
"""Whether the record can tell, as a mark and a word."""

PLANS = {
    "advised": "Advised",
    "usual": "Usual work",
    "nothing": "No work",
}

SIDEWAYS = (
    "Trueness is how far balls rolled alike end apart sideways for each metre, at today's speed: "
    "the less, the truer."
)

TOPICS = {
    "any": "Any complaint",
    "bumpy": "Bumpy",
    "untrue": "Not true",
    "slow": "Slow",
    "fast": "Fast",
    "uneven": "Uneven from green to green",
    "soft": "Soft",
    "hard": "Hard",
    "scarred": "Scarred",
    "other": "Something else",
    "praise": "Praise",
}

PLAYERS = {"tour": "Tour player", "90": "90-shooter"}
_HERE = " here"

FILES = {
    "readings": "Readings",
    "work": "Work",
    "weather": "Weather",
    "greens": "Greens",
    "stations": "Stations",
    "lab": "Laboratory",
    "materials": "Materials",
    "rounds": "Rounds",
    "feedback": "What players said",
    "putts": "Putts",
    "calendar": "Calendar",
    "targets": "Targets",
    "crew": "Crew",
    "limits": "Limits",
    "course": "Course",
}

LIMITS = {
    "labour_h_day": "crew hours a day",
    "rolls_week": "rolls a week",
    "min_height_mm": "the lowest height of cut",
    "max_height_step_mm": "the largest change of height at once",
    "min_step_interval_d": "days between changes of height",
    "n_year_g_m2": "nitrogen a year",
    "n_month_g_m2": "nitrogen a month",
    "n_application_g_m2": "nitrogen at once",
    "p_allowed": "whether phosphorus is allowed",
    "no_feed": "days without feeding",
    "buffer_m": "distance to water",
    "no_core_days_before_event": "days without coring before an event",
    "no_work": "days without work",
    "water_mm_day": "water a day",
}

COLUMNS = {
    "n": "Of how many",
    "pass": "Mowing direction",
    "from": "From",
    "until": "Until",
    "labour_h": "Crew hours",
    "minutes": "Minutes",
    "entered_at": "Entered at",
    "id": "Row number in the record",
    "kind": "What",
}


def heading(question: str) -> str:
    """Return the question in plain words."""
    return HEADINGS[question]


def quantity(key: str, method: str = "") -> str:
    """Return the label of a quantity, with its method where it has one.

    >>> quantity("firmness", "penetration depth")
    'Firmness (penetration depth)'
    """
    known = quantities().get(key)
    label = known.label if known else key.replace("_", " ").capitalize()
    return f"{label} ({method})" if method else label


def kind(key: str) -> str:
    """Return the label of a reading kind, capitalised."""
    known = kinds().get(key)
    label = known.label if known else key.replace("_", " ")
    return label[:1].upper() + label[1:]


def practice(key: str) -> str:
    """Return the label of a practice."""
    known = practices().get(key)
    return known.label if known else key.replace("_", " ").capitalize()


def act(key: str, dose: Mapping[str, Any] | None = None) -> str:
    """Return what one act of a practice is called: a lower cut is told from an extra one.

    >>> act("mow", {"value": -0.25, "unit": "mm"}), act("mow", {"value": 1.0, "unit": "extra cut"})
    ('Mow lower', 'Extra cut')
    """
    if key == "mow" and dose and dose.get("unit") == "mm" and dose.get("value", 0) < 0:
        return "Mow lower"
    if key == "mow_double" or (key == "mow" and "cut" in str((dose or {}).get("unit", ""))):
        return "Extra cut"
    return practice(key)


def column(key: str) -> str:
    """Return the label of a column of the record.

    >>> column("roll_length_m"), column("pass")
    ('Roll length [m]', 'Mowing direction')
    """
    key = key.rstrip("_")
    if key in COLUMNS:
        return COLUMNS[key]
    for ending, unit in _UNIT_ENDINGS.items():
        if key.endswith(ending):
            return f"{key.removesuffix(ending).replace('_', ' ').capitalize()} [{unit}]"
    return key.replace("_", " ").capitalize()


_UNIT_ENDINGS = {
    "_m2": "m²",
    "_mm": "mm",
    "_cm": "cm",
    "_m_s": "m/s",
    "_mj_m2": "MJ/m²",
    "_m": "m",
    "_pct": "%",
    "_c": "°C",
    "_l_ha": "L/ha",
    "_kg_l": "kg/L",
    "_h": "h",
    "_d": "days",
}


def player(key: str) -> str:
    """Return what a player is called; one fitted from the club's own putts by name.

    >>> player("90"), player("ana here"), player("club here")
    ('90-shooter', 'ana, from putts here', 'Your own players')
    """
    if key in PLAYERS:
        return PLAYERS[key]
    name = key.removesuffix(_HERE)
    if name in ("club", ""):
        return "Your own players"
    return f"{PLAYERS.get(name, name)}, from putts here"


def topic(key: str) -> str:
    """Return the label of what players speak of."""
    return TOPICS.get(key, key.replace("_", " ").capitalize())


def side(quantity_key: str, size: float) -> str:
    """Return which way a difference points.

    >>> side("green_speed", -0.1), side("moisture", 2.0)
    ('slower', 'wetter')
    """
    return _SIDES.get(quantity_key, ("lower", "higher"))[size > 0]


_SIDES = {
    "green_speed": ("slower", "faster"),
    "smoothness": ("bumpier", "smoother"),
    "trueness": ("truer", "less true"),
    "moisture": ("drier", "wetter"),
}


def listed(words: Sequence[str]) -> str:
    """Return words joined as a sentence does.

    >>> listed(["1", "2", "3"])
    '1, 2 and 3'
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def greens(keys: Sequence[str], every: Sequence[str] = ()) -> str:
    """Return greens in words: all of them, runs of numbers, or a list.

    >>> greens(["7", "1", "2", "3"], ["1", "2", "3", "4", "7"])
    'greens 1–3 and 7'
    >>> greens(["1", "4"]), greens(["1", "2"], ["1", "2"])
    ('greens 1 and 4', 'all greens')
    """
    if every and set(keys) >= set(every):
        return "all greens"
    if len(keys) == 1:
        return f"green {keys[0]}"
    return f"greens {listed(_runs(sorted(keys, key=played)))}"


def played(key: str) -> tuple[bool, int, str]:
    """Return what sorts green keys: numbers by size, then names."""
    return (not key.isdecimal(), int(key) if key.isdecimal() else 0, key)


def _runs(keys: Sequence[str]) -> list[str]:
    runs: list[list[str]] = []
    for key in keys:
        last = runs[-1][-1] if runs else ""
        follows = key.isdecimal() and last.isdecimal() and int(key) == int(last) + 1
        runs[-1].append(key) if follows else runs.append([key])
    return [part for run in runs for part in ([f"{run[0]}–{run[-1]}"] if len(run) > 2 else run)]
