"""What stands in for something the course has not entered, told as gaps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from greenwright.base.evidence import Evidence, look_up
from greenwright.base.tables import practices, quantities
from greenwright.desk.answering import Row

_LABOUR = "labour."
_LIMITS = "limits."
_TARGETS = "targets.default."
_WHY = "the plan leans on it; the course's own figure belongs in the record"


def told_defaults(keys: Iterable[str]) -> tuple[Row, ...]:
    """Return the defaults that a plan used, one gap for each sheet that would replace them.

    Args:
        keys: evidence keys that stand in for something the course could enter.
    """
    held = sorted(set(keys))
    targets = [key for key in held if key.startswith(_TARGETS) and "half_width" not in key]
    labour = [key for key in held if key.startswith(_LABOUR)]
    limits = [key for key in held if key.startswith(_LIMITS)]
    known = {*labour, *limits, *(key for key in held if key.startswith(_TARGETS))}
    rest = [key for key in held if key not in known]
    rows = (
        _row(
            "targets",
            "No target was entered for {}: a common band stands in.",
            _quantities(targets),
        ),
        _row(
            "crew",
            "The crew sheet does not say the hours of {}: common ones stand in.",
            _jobs(labour),
        ),
        _row("limits", "Not entered, so common practice stands in: {}.", _labels(limits)),
        _row("other", "Assumed for want of an entry or a reading: {}.", _labels(rest)),
    )
    return tuple(row for row in rows if row)


def _row(about: str, text: str, names: Sequence[str]) -> Row | None:
    if not names:
        return None
    return {
        "about": f"default:{about}",
        "text": text.format(", ".join(names)),
        "why": _WHY,
        "reading": None,
    }


def _quantities(keys: Sequence[str]) -> list[str]:
    parts = [set(key.split(".")) for key in keys]
    return [q.label.lower() for q in quantities().values() if any(q.key in part for part in parts)]


def _jobs(keys: Sequence[str]) -> list[str]:
    names = [key.split(".")[1] for key in keys]
    known = practices()
    return [
        known[name].label.lower() if name in known else look_up(key).label
        for key, name in zip(keys, names, strict=True)
    ]


def _labels(keys: Sequence[str]) -> list[str]:
    return [_label(look_up(key)) for key in keys]


def _label(entry: Evidence) -> str:
    if not isinstance(entry.value, float):
        return entry.label
    unit = "" if entry.unit in ("1", "score", "rating") else f" {entry.unit}"
    return f"{entry.label} ({entry.value:g}{unit})"
