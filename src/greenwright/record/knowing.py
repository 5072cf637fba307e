"""From which day on a row was known."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from greenwright.record.layout import Layout, Stored

ALWAYS = "0001-01-01"
"""Known date of rows that were always known."""


def known_dates(shape: Layout, columns: Sequence[Sequence[Stored]]) -> list[str]:
    """Return for each row the ISO date from which its first state was known.

    The date of ``entered_at`` comes first; without it the rule of the file decides.
    """
    at = {name: columns[i] for i, name in enumerate(shape.names)}
    entered = at["entered_at"]
    rule = RULES[shape.file.known](at)
    if not any(entered):
        return rule
    pairs = zip(entered, rule, strict=True)
    return [str(moment)[:10] if moment else known for moment, known in pairs]


def _always(at: Mapping[str, Sequence[Stored]]) -> list[str]:
    return [ALWAYS] * len(at["entered_at"])


def _own_date(at: Mapping[str, Sequence[Stored]]) -> list[str]:
    return list(at["date"])  # type: ignore[arg-type]


def _issued(at: Mapping[str, Sequence[Stored]]) -> list[str]:
    # A typical day is climate, not news: without an issue date it was always known.
    rows = zip(at["kind"], at["issued"], at["date"], strict=True)
    return [
        str(date if kind in ("", "observed") else issued or (ALWAYS if kind == "typical" else date))
        for kind, issued, date in rows
    ]


def _status(at: Mapping[str, Sequence[Stored]]) -> list[str]:
    rows = zip(at["status"], at["date"], strict=True)
    return [str(date) if status in ("", "done") else ALWAYS for status, date in rows]


RULES: Mapping[str, Callable[[Mapping[str, Sequence[Stored]]], list[str]]] = {
    "always": _always,
    "date": _own_date,
    "issued": _issued,
    "status": _status,
}
"""RecordFile.known -> the rule."""
