"""The invented clerk: what of the work done is never written down, and what under a wrong date."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from greenwright.simulate.practices import Act
from greenwright.simulate.site import Site
from greenwright.simulate.tables import Row
from greenwright.simulate.world import Crew


def written(site: Site, acts: tuple[Act, ...], rng: np.random.Generator) -> tuple[Act, ...]:
    """Give the work that gets written down: without what is forgotten, all where nothing is.

    Greens are forgotten one by one, or with ``unwritten_whole`` a row of the record at a time.
    """
    crew = site.world.crew
    if not crew.unwritten:
        return acts
    kept: list[Act] = []
    for act in acts:
        if not _careless(crew, act.practice):
            kept.append(act)
            continue
        rows = site.parted(act.greens) if crew.unwritten_whole else [(g,) for g in act.greens]
        luck = rng.random(len(rows)) >= crew.unwritten
        greens = tuple(g for row, lucky in zip(rows, luck, strict=True) if lucky for g in row)
        kept += [replace(act, greens=greens)] if greens else []
    return tuple(kept)


def dated(
    site: Site, rows: list[Row], rng: np.random.Generator, *, span: tuple[date, date]
) -> list[Row]:
    """Give the rows as dated: a share a day or two off, never outside the record."""
    crew = site.world.crew
    if not crew.misdated:
        return rows
    return [_slipped(crew, row, rng, span) for row in rows]


def _slipped(crew: Crew, row: Row, rng: np.random.Generator, span: tuple[date, date]) -> Row:
    luck, off = rng.random(), int(rng.choice(crew.misdated_days))
    if luck >= crew.misdated or not _careless(crew, row["practice"]):
        return row
    first, last = span
    day = date.fromisoformat(row["date"]) + timedelta(days=off)
    return row | {"date": min(max(day, first), last).isoformat()}


def _careless(crew: Crew, practice: str) -> bool:
    return not crew.careless_with or practice in crew.careless_with
