"""The frozen answers of R (tests/reference/r/trials.R) and the trials they belong to."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

HERE = Path(__file__).parent
DATA = HERE.parent / "data" / "trials"


@dataclass(frozen=True)
class Frozen:
    """One row of R's answers; what R left empty is None."""

    set: str
    what: str
    term: str
    df: float | None
    df_error: float | None
    ss: float | None
    f: float | None
    p: float | None
    value: float | None
    se: float | None


@lru_cache(maxsize=1)
def answers() -> tuple[Frozen, ...]:
    with (HERE / "r" / "trials.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return tuple(Frozen(*row[:3], *(float(c) if c else None for c in row[3:])) for row in rows)


def frozen(name: str, what: str) -> dict[str, Frozen]:
    """Return R's rows of a set, by term; error rows left out."""
    return {
        one.term: one
        for one in answers()
        if one.set == name and one.what == what and one.term != "Residuals"
    }


def table(name: str) -> dict[str, list[str]]:
    """Return a trial's columns as text."""
    path = DATA / name
    path = path if path.exists() else DATA / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        tab = "\t" in file.readline()
        file.seek(0)
        rows = list(csv.DictReader(file, delimiter="\t" if tab else ","))
    return {key: [row[key] for row in rows] for key in rows[0]}


def without(held: dict[str, list[str]], column: str, places: list[int]) -> dict[str, list[str]]:
    """Return a table in which some cells of a column are empty (places counted from 1, as in R)."""
    made = {key: list(cells) for key, cells in held.items()}
    for place in places:
        made[column][place - 1] = ""
    return made
