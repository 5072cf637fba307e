"""Laying out a trial by an open lot: the seed is part of the plan, so anyone can draw it again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.verify.layouts import layout

Row = dict[str, str]
MOST = 600
"""Plots of the largest plan."""
CONTROL = "control"


@dataclass(frozen=True, slots=True)
class Plan:
    """A laid-out trial.

    Args:
        layout: key; seed: of the lot.
        factors: name -> levels, the first level of the first is the control.
        rows: one for each plot (and period): its place and its levels, as text.
        roles: role -> columns, as an analysis declares them.
        target: the factor that the trial is for.
        notes: what the lot was held to, in sentences.
    """

    layout: str
    seed: int
    factors: Mapping[str, tuple[str, ...]]
    rows: tuple[Row, ...]
    roles: Mapping[str, tuple[str, ...]]
    target: str
    notes: tuple[str, ...] = ()

    def table(self) -> dict[str, list[str]]:
        """Return the plan as columns of text."""
        return {key: [row[key] for row in self.rows] for key in self.rows[0]}


def lay_out(
    key: str,
    *,
    factors: Mapping[str, Sequence[str]],
    units: Sequence[str],
    seed: int,
    periods: int = 2,
    never: Sequence[str] = (),
) -> Plan:
    """Return a trial laid out by lot.

    Args:
        key: of the layout.
        factors: name -> levels; split-plot and strip take two, split-split-plot three.
        units: greens, or blocks, in playing order.
        seed: of the lot.
        periods: of a crossover, stepped wedge, before-after or series.
        never: units that must be left as they are (the greens of an event).

    Raises:
        BadInput: too few units, levels or factors for the layout.
        UnknownKey: no such layout, or a unit to leave out that there is not.
    """
    form = layout(key)
    _check(factors, units, never)
    free = [u for u in units if u not in set(never)]
    levels = {name: tuple(dict.fromkeys(held)) for name, held in factors.items()}
    rng = np.random.default_rng(seed)
    maker = _MAKERS[form.key]
    rows, roles = maker(levels, free, rng, periods)
    if len(rows) > MOST:
        raise BadInput(f"{len(rows)} plots are more than one can lay out", where="design",
                       expected=f"at most {MOST}")  # fmt: skip
    notes = [f"Drawn by lot with seed {seed}: the same seed gives the same plan."]
    if never:
        notes.append(f"Left as they are, whatever the lot: {', '.join(never)}.")
    numbered = tuple({"plot": str(i + 1), **row} for i, row in enumerate(rows))
    return Plan(form.key, seed, levels, numbered, roles, next(reversed(levels)), tuple(notes))


def _check(
    factors: Mapping[str, Sequence[str]], units: Sequence[str], never: Sequence[str]
) -> None:
    for name, levels in factors.items():
        if len(set(levels)) < 2:
            raise BadInput(f"{name} needs two levels to compare", where="treatments",
                           do="Name the usual way and the new one")  # fmt: skip
    if len(set(units)) < len(units) or len(units) < 2:
        raise BadInput("a comparison needs at least two different greens or blocks",
                       where="greens")  # fmt: skip
    for one in never:
        if one not in units:
            raise UnknownKey(f"no green {one!r} to leave out", expected=", ".join(units))


def _only(factors: Mapping[str, Sequence[str]], count: int, what: str) -> list[str]:
    if len(factors) != count:
        raise BadInput(f"a {what} takes {count} factors, not {len(factors)}", where="treatments",
                       expected=f"{count} factors with their levels")  # fmt: skip
    return list(factors)


Made = tuple[list[Row], dict[str, tuple[str, ...]]]
Levels = Mapping[str, tuple[str, ...]]


def _cells(levels: Levels) -> list[Row]:
    return [dict(zip(levels, one, strict=True)) for one in product(*levels.values())]


def _completely(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    cells = _cells(levels)
    if len(units) < 2 * len(cells):
        raise BadInput(f"{len(units)} plots for {len(cells)} treatments leave nothing to judge by",
                       where="greens", expected=f"at least {2 * len(cells)}")  # fmt: skip
    dealt = [cells[i % len(cells)] for i in range(len(units))]
    order = rng.permutation(len(units))
    rows = [{"green": unit} | dealt[int(i)] for unit, i in zip(units, order, strict=True)]
    return rows, {"treatments": tuple(levels)}


def _blocks(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    cells, rows = _cells(levels), []
    for unit in units:
        for place, i in enumerate(rng.permutation(len(cells))):
            rows.append({"block": unit, "place": str(place + 1)} | cells[int(i)])
    return rows, {"treatments": tuple(levels), "blocks": ("block",)}


def _square(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    (name,) = _only(levels, 1, "latin square")
    size = len(levels[name])
    if len(units) != size or size < 3:
        raise BadInput(f"a latin square of {size} treatments needs {size} rows, at least three",
                       where="greens", expected=f"{max(size, 3)} rows")  # fmt: skip
    down, across, letters = (rng.permutation(size) for _ in range(3))
    rows = [
        {"row": units[r], "column": str(c + 1),
         name: levels[name][int(letters[(down[r] + across[c]) % size])]}
        for r in range(size)
        for c in range(size)
    ]  # fmt: skip
    return rows, {"treatments": (name,), "rows": ("row",), "columns": ("column",)}


def _split(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    whole, sub = _only(levels, 2, "split-plot")
    rows = []
    for unit in units:
        for w, i in enumerate(rng.permutation(len(levels[whole]))):
            for s, j in enumerate(rng.permutation(len(levels[sub]))):
                rows.append({"block": unit, "whole": str(w + 1), "place": str(s + 1),
                             whole: levels[whole][int(i)], sub: levels[sub][int(j)]})  # fmt: skip
    return rows, {"blocks": ("block",), "whole": (whole,), "sub": (sub,)}


def _split_twice(levels: Levels, units: list[str], rng: np.random.Generator, _p: int) -> Made:
    whole, sub, third = _only(levels, 3, "split-split-plot")
    made, _ = _split({whole: levels[whole], sub: levels[sub]}, units, rng, _p)
    rows = [
        row | {"part": str(k + 1), third: levels[third][int(i)]}
        for row in made
        for k, i in enumerate(rng.permutation(len(levels[third])))
    ]
    return rows, {"blocks": ("block",), "whole": (whole,), "sub": (sub,), "subsub": (third,)}


def _strips(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    along, across = _only(levels, 2, "strip layout")
    rows = []
    for unit in units:
        down, over = (rng.permutation(len(levels[k])) for k in (along, across))
        for r, i in enumerate(down):
            for c, j in enumerate(over):
                rows.append({"block": unit, "row": str(r + 1), "column": str(c + 1),
                             along: levels[along][int(i)],
                             across: levels[across][int(j)]})  # fmt: skip
    return rows, {"blocks": ("block",), "whole": (along,), "sub": (across,)}


def _in_time(levels: Levels, units: list[str], rng: np.random.Generator, periods: int) -> Made:
    (name,) = _only(levels, 1, "series")
    made, _ = _blocks(levels, units, rng, periods)
    rows = [row | {"period": str(p + 1)} for row in made for p in range(periods)]
    return rows, {"blocks": ("block",), "whole": (name,), "periods": ("period",)}


def _crossover(levels: Levels, units: list[str], rng: np.random.Generator, periods: int) -> Made:
    (name,) = _only(levels, 1, "crossover")
    held = levels[name]
    if periods < len(held):
        raise BadInput(f"{len(held)} treatments need as many periods", where="periods",
                       expected=f"at least {len(held)}")  # fmt: skip
    turns = sequences(len(held), periods)
    dealt = [turns[i % len(turns)] for i in range(len(units))]
    order = rng.permutation(len(units))
    rows = [
        {"green": unit, "period": str(p + 1), name: held[dealt[int(i)][p]]}
        for unit, i in zip(units, order, strict=True)
        for p in range(periods)
    ]
    return rows, {"units": ("green",), "periods": ("period",), "treatments": (name,)}


def sequences(treatments: int, periods: int) -> list[tuple[int, ...]]:
    """Return turns in which each treatment follows each other as often as can be.

    >>> sequences(2, 4)
    [(0, 1, 0, 1), (1, 0, 1, 0)]
    """
    zigzag = [0]
    for k in range(1, treatments):
        zigzag.append((k + 1) // 2 if k % 2 else treatments - k // 2)
    base = [tuple((start + step) % treatments for step in zigzag) for start in range(treatments)]
    if treatments % 2:
        base += [tuple(reversed(one)) for one in base]
    return [tuple(one[p % treatments] for p in range(periods)) for one in base]


def _wedge(levels: Levels, units: list[str], rng: np.random.Generator, periods: int) -> Made:
    (name,) = _only(levels, 1, "stepped wedge")
    if len(levels[name]) != 2 or periods < 3:
        raise BadInput("a stepped wedge compares two ways over three or more periods",
                       where="periods")  # fmt: skip
    steps = [1 + i % (periods - 1) for i in range(len(units))]
    order = rng.permutation(len(units))
    rows = [
        {"green": unit, "period": str(p + 1), name: levels[name][int(p >= steps[int(i)])]}
        for unit, i in zip(units, order, strict=True)
        for p in range(periods)
    ]
    return rows, {"units": ("green",), "periods": ("period",), "treated": (name,)}


def _before_after(levels: Levels, units: list[str], rng: np.random.Generator, _p: int) -> Made:
    (name,) = _only(levels, 1, "before-after comparison")
    if len(units) < 4:
        raise BadInput("two greens for each way are needed at least", where="greens",
                       expected="four greens or more")  # fmt: skip
    held = levels[name]
    order = rng.permutation(len(units))
    rows = [
        {"green": unit, "phase": phase, name: held[int(i) % len(held)]}
        for unit, i in zip(units, order, strict=True)
        for phase in ("before", "after")
    ]
    return rows, {"units": ("green",), "group": (name,), "phase": ("phase",)}


def _halves(levels: Levels, units: list[str], rng: np.random.Generator, _periods: int) -> Made:
    (name,) = _only(levels, 1, "half-greens layout")
    if len(levels[name]) != 2:
        raise BadInput("half-greens compare two ways", where="treatments")
    flips = rng.integers(0, 2, len(units))
    rows = [
        {"green": unit, "part": part, name: levels[name][(int(flip) + k) % 2]}
        for unit, flip in zip(units, flips, strict=True)
        for k, part in enumerate(("a", "b"))
    ]
    return rows, {"units": ("green",), "treatments": (name,)}


_MAKERS = {
    "completely-randomised": _completely,
    "complete-block": _blocks,
    "latin-square": _square,
    "split-plot": _split,
    "split-split-plot": _split_twice,
    "strip": _strips,
    "split-plot-in-time": _in_time,
    "crossover": _crossover,
    "stepped-wedge": _wedge,
    "before-after": _before_after,
    "half-greens": _halves,
}


def blind_codes(plan: Plan) -> dict[str, str]:
    """Return plot -> a code that says nothing of its treatment, for scoring unseen.

    Codes leave out letters that are mistaken for digits.
    """
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    every = [a + b for a in letters for b in letters]
    if len(plan.rows) > len(every):
        every = [a + b + c for a in "AB" for b in letters for c in letters]
    drawn = np.random.default_rng([plan.seed, 7]).permutation(len(every))
    return {row["plot"]: every[int(i)] for row, i in zip(plan.rows, drawn, strict=False)}
