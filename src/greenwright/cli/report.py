"""What a load did, as JSON and in words."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from greenwright.base.values import LoadReport, Refusal

MOST = 40
"""Refusals and changes written out in words; the rest is counted (JSON holds all)."""


def report_json(report: LoadReport) -> dict[str, Any]:
    """Return the published JSON shape of a load."""
    total = report.total
    return {
        "read": total.read,
        "kept": total.kept,
        "refused": total.refused,
        "files": {_csv(name): asdict(count) for name, count in report.files.items()},
        "refusals": [
            {
                "file": _csv(refusal.file),
                "row": refusal.row,
                "column": refusal.column,
                "value": refusal.value,
                "why": refusal.why,
                "do": refusal.do,
            }
            for refusal in report.refusals
        ],
        "changes": [asdict(change) for change in report.changes],
        "unknown_columns": {_csv(k): list(v) for k, v in report.unknown_columns.items() if v},
        "ignored": list(report.ignored),
        "dry_run": report.dry_run,
        "written": written(report),
        "course": report.course,
        "load": report.load_id,
    }


def report_words(report: LoadReport) -> str:
    """Return a load in words: the sum, each file, each refusal."""
    total = report.total
    lines = [f"{_verb(report)} {total.kept} of {total.read} rows read, refused {total.refused}."]
    if _withheld(report):
        lines.append("Nothing was written, because all or nothing was asked for.")
    lines += [_file(name, count) for name, count in report.files.items()]
    lines += _listed("Refused", [_refusal(r) for r in report.refusals])
    changed = [
        f"{_csv(c.file)} row {c.row}, {c.field}: {c.was or 'empty'} → {c.now or 'empty'}"
        for c in report.changes
    ]
    lines += _listed("Changed" if written(report) else "Would change", changed)
    lines += [
        f"Unknown columns kept as detail in {_csv(name)}: {', '.join(names)}"
        for name, names in report.unknown_columns.items()
        if names
    ]
    if report.ignored:
        lines.append(f"Not part of a record, left alone: {', '.join(report.ignored)}")
    return "\n".join(lines)


def written(report: LoadReport) -> bool:
    """Tell whether the load changed the record."""
    return report.load_id is not None


def _withheld(report: LoadReport) -> bool:
    return not written(report) and not report.dry_run


def _verb(report: LoadReport) -> str:
    return "Kept" if written(report) else "Would keep"


def _csv(name: str) -> str:
    return name if name.endswith(".csv") else f"{name}.csv"


def _file(name: str, count: Any) -> str:
    parts = [
        f"{number} {word}"
        for word in ("new", "same", "revised", "refused")
        if (number := getattr(count, word))
    ]
    return f"  {_csv(name):<15}{count.read:>7} read: {', '.join(parts) or 'nothing'}"


def _refusal(refusal: Refusal) -> str:
    value = f" {refusal.value!r}" if refusal.value else ""
    advice = f". {refusal.do[:1].upper()}{refusal.do[1:]}" if refusal.do else ""
    return f"{_csv(refusal.file)} row {refusal.row}, {refusal.column}{value}: {refusal.why}{advice}"


def _listed(title: str, texts: list[str]) -> list[str]:
    if not texts:
        return []
    more = [f"  and {len(texts) - MOST} more (--json lists them all)"] if len(texts) > MOST else []
    return [f"{title}:", *(f"  {text}" for text in texts[:MOST]), *more]
