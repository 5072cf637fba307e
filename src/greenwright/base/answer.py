"""The one shape in which every question is answered."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from functools import lru_cache
from importlib.resources import files
from typing import Any

from greenwright.base.estimate import Estimate

SCHEMA_VERSION = 1
"""Version of the published JSON schema of an Answer; a breaking change raises it."""

QUESTIONS: tuple[str, ...] = (
    "today",
    "golfers",
    "why",
    "effects",
    "forecast",
    "week",
    "event",
    "read",
    "check",
    "track",
    "feed",
    "weather",
    "trial",
)

CAUTION_KINDS: tuple[str, ...] = (
    "misfit",
    "observer",
    "confounding",
    "weather",
    "safety",
    "data",
)

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """What the program has to say to one question on one day.

    Args:
        question: one of QUESTIONS.
        as_of: the day the question was asked for.
        record: course name, reading counts, last reading date.
        findings, choices, gaps, cautions, sources: rows as the published schema says;
            a row may hold Estimates, dates and nested rows.
        made_by: program version, model version, seconds.
        more: further top-level keys of single questions (plans, leave_outs).
    """

    question: str
    as_of: date
    record: Row
    findings: tuple[Row, ...] = ()
    choices: tuple[Row, ...] = ()
    gaps: tuple[Row, ...] = ()
    cautions: tuple[Row, ...] = ()
    sources: tuple[Row, ...] = ()
    made_by: Row = field(default_factory=dict)
    more: Row = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Return plain JSON values with stable keys in a stable order."""
        shape: dict[str, Any] = {
            "question": self.question,
            "as_of": self.as_of,
            "record": self.record,
            "findings": self.findings,
            "choices": self.choices,
            "gaps": self.gaps,
            "cautions": self.cautions,
            "sources": self.sources,
            **self.more,
            "made_by": self.made_by,
            "schema_version": SCHEMA_VERSION,
        }
        return {key: plain(value) for key, value in shape.items()}

    def as_json(self) -> str:
        """Return the answer as one JSON object (UTF-8, no NaN)."""
        return json.dumps(self.as_dict(), ensure_ascii=False, indent=1, allow_nan=False)


def plain(value: Any) -> Any:
    """Return value with Estimates, dates, times and tuples turned into JSON values."""
    if isinstance(value, Estimate):
        return value.as_dict()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str):
        return value
    if isinstance(value, Iterable):
        return [plain(item) for item in value]
    return value


@lru_cache(maxsize=1)
def answer_schema() -> dict[str, Any]:
    """Return the published JSON schema of an Answer."""
    text = files("greenwright.base").joinpath("schema", f"answer-{SCHEMA_VERSION}.json")
    return json.loads(text.read_text(encoding="utf-8"))
