"""Write an invented course to files: the record as CSV, the truth behind it as JSON."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np

from greenwright.simulate.course import Simulated


def write_record(made: Simulated, folder: Path) -> tuple[Path, ...]:
    """Write the record's tables as CSV files into a folder (made if missing); gives the paths.

    Tables without rows are not written. Files of the same name are overwritten.
    """
    folder.mkdir(parents=True, exist_ok=True)
    return tuple(_write(made, name, folder) for name, rows in made.tables.items() if rows)


def _write(made: Simulated, name: str, folder: Path) -> Path:
    path = folder / f"{name}.csv"
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, made.columns[name], restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(made.tables[name])
    return path


def write_truth(made: Simulated, path: Path) -> None:
    """Write a summary of the truth as JSON: effects, green levels, course means by day."""
    path.write_text(json.dumps(truth_summary(made), indent=1) + "\n", encoding="utf-8")


def truth_summary(made: Simulated) -> dict[str, object]:
    """Give the summary of the truth as plain values; clippings are left out where unmown."""
    truth, crew = made.truth, made.stage.site.world.crew
    return {
        "invented": True,
        "seed": made.stage.seed,
        "today": made.stage.today.isoformat(),
        "greens": list(truth.greens),
        "days": [day.isoformat() for day in truth.days],
        "course_means": {q: _means(v) for q, v in truth.quantities.items()},
        "today_by_green": {q: _plain(v[-1]) for q, v in truth.quantities.items()},
        "green_offsets": {q: _plain(v) for q, v in truth.offsets.items()},
        "effects": {f"{p}:{q}": _plain(v) for (p, q), v in truth.effects.items()},
        "observers": {o.name: {"leniency": o.leniency, "length_bias_m": o.length_bias_m}
                      for o in crew.observers},
        "ramps": dict(crew.ramps),
    }  # fmt: skip


def _plain(values: np.ndarray) -> list[float | None]:
    return [None if np.isnan(v) else float(f"{v:.4g}") for v in values]


def _means(values: np.ndarray) -> list[float | None]:
    known = ~np.isnan(values)
    count = known.sum(axis=1)
    total = np.where(known, values, 0.0).sum(axis=1)
    return _plain(np.where(count > 0, total / np.maximum(count, 1), np.nan))
