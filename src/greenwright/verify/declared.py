"""What was declared about a trial and its data, checked before anything is worked out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from greenwright.base.errors import BadInput
from greenwright.stats.trials.factors import Array, Factor, factor, number_of, with_trend
from greenwright.verify.layouts import Layout, layout

Table = Mapping[str, Sequence[str]]
"""Column name -> its cells as text."""

FIRST_ROW = 2
"""Line of a file on which the first reading stands, under its header."""


@dataclass(frozen=True, slots=True)
class Declared:
    """A trial as declared.

    Args:
        layout: key of a layout.
        response: column of the readings.
        roles: role -> its columns.
        baseline: columns read before the treatments began (numbers).
        trend: factors whose levels are doses, told as linear, quadratic, …
        order: highest interaction; None = all.
        log: take the logarithm of the response and of the baseline.
        control: level to compare the others with.
        margin: largest difference that does not matter [unit of the response].
        unit: of the response, for telling.
        level: of the intervals.
    """

    layout: str
    response: str
    roles: Mapping[str, tuple[str, ...]]
    baseline: tuple[str, ...] = ()
    trend: tuple[str, ...] = ()
    order: int | None = None
    log: bool = False
    control: str | None = None
    margin: float | None = None
    unit: str = ""
    level: float = 0.95

    def columns(self, role: str) -> tuple[str, ...]:
        """Return the columns of a role, none where it has none."""
        return tuple(self.roles.get(role, ()))


@dataclass(frozen=True, slots=True)
class Read:
    """Data read by the declaration.

    Args:
        layout, declared: what was declared.
        y: (n) response [unit] of the rows that have one.
        factors: column -> factor, over all rows with a response.
        covariates: column -> (n), centred.
        kept: index of each kept row in the file.
        missing: lines of the file without a response.
        total: rows in the file.
    """

    layout: Layout
    declared: Declared
    y: Array
    factors: Mapping[str, Factor]
    covariates: Mapping[str, Array]
    kept: Array
    missing: tuple[int, ...]
    total: int
    numbers: Mapping[str, Array] = field(default_factory=dict)


def read(table: Table, declared: Declared) -> Read:
    """Return the data of a declared trial; no row is left out without being named.

    Raises:
        BadInput: a column or role missing, a cell that is no number, a factor of one level.
    """
    form = layout(declared.layout)
    _check_roles(form, declared)
    named = {c for columns in declared.roles.values() for c in columns}
    _check_columns(table, {declared.response, *named, *declared.baseline, *declared.trend})
    y = numbers(table, declared.response, empty=True)
    have = np.isfinite(y)
    kept = np.flatnonzero(have)
    if len(kept) < 3:
        raise BadInput(f"only {len(kept)} readings", where=declared.response,
                       expected="at least three")  # fmt: skip
    covariates = {}
    for name in declared.baseline:
        covariates[name] = _logged(numbers(table, name)[kept], name, log=declared.log)
    return Read(
        form,
        declared,
        _logged(y[kept], declared.response, log=declared.log),
        {name: _factor(table, name, kept, trend=name in declared.trend) for name in sorted(named)},
        {name: held - held.mean() for name, held in covariates.items()},
        kept,
        tuple(int(i) + FIRST_ROW for i in np.flatnonzero(~have)),
        len(y),
        _other_numbers(table, kept, {declared.response, *named, *declared.baseline}),
    )


def _check_roles(form: Layout, declared: Declared) -> None:
    for role in form.needs:
        if not declared.columns(role):
            raise BadInput(
                f"the layout {form.key} needs --{role}",
                where=f"--{role}",
                expected=", ".join(f"--{one}" for one in form.needs),
                do=f"Name the column ({form.words})",
            )
    for role, columns in declared.roles.items():
        if columns and role not in (*form.needs, *form.may):
            raise BadInput(
                f"the layout {form.key} has no --{role}",
                where=f"--{role}",
                expected=", ".join(f"--{one}" for one in (*form.needs, *form.may)),
                do="Leave it out, or declare another layout",
            )


def _check_columns(table: Table, wanted: set[str]) -> None:
    for name in sorted(wanted):
        if name not in table:
            raise BadInput(
                f"there is no column {name!r}",
                where=name,
                expected=", ".join(table),
                do="Write the column's name as in the file",
            )


def numbers(table: Table, name: str, *, empty: bool = False) -> Array:
    """Return a column as numbers; an empty cell is nan where empty cells are allowed.

    Raises:
        BadInput: names the line and what stands there.
    """
    made = []
    for line, cell in enumerate(table[name], FIRST_ROW):
        text = cell.strip()
        value = number_of(text)
        if value is None and (text or not empty):
            raise BadInput(
                f"{text!r} is not a number" if text else "the cell is empty",
                where=f"line {line}, column {name}",
                expected="a number, or an empty cell where the reading is missing"
                if empty
                else "a number in every row",
                do="Correct the file; no row is left out without being named",
            )
        made.append(float("nan") if value is None else value)
    return np.array(made)


def _logged(values: Array, name: str, *, log: bool) -> Array:
    if not log:
        return values
    if np.any(values <= 0):
        raise BadInput("a logarithm needs numbers above zero", where=name,
                       do="Leave --log out")  # fmt: skip
    return np.log(values)


def _factor(table: Table, name: str, kept: Array, *, trend: bool) -> Factor:
    cells = [cell.strip() for cell in table[name]]
    for i in kept:
        if not cells[i]:
            raise BadInput(
                "the cell is empty",
                where=f"line {int(i) + FIRST_ROW}, column {name}",
                expected="a level of the factor",
                do="Write the level; the words None and NA are levels like any other",
            )
    made = factor(name, [cells[i] for i in kept])
    return with_trend(made, level_values(made)) if trend else made


def level_values(one: Factor) -> list[float]:
    """Return the number that each level is or begins with.

    Raises:
        BadInput: a level without a number.
    """
    made = []
    for level in one.levels:
        head = level
        while head and number_of(head) is None:
            head = head[:-1]
        if not head:
            raise BadInput(f"the level {level!r} is no dose", where=one.name,
                           expected="levels that are numbers", do="Leave --trend out")  # fmt: skip
        made.append(number_of(head) or 0.0)
    return made


def _other_numbers(table: Table, kept: Array, used: set[str]) -> dict[str, Array]:
    """Return columns that hold a number in every kept row and play no part in the layout."""
    held = {}
    for name, cells in table.items():
        values = [number_of(cells[i].strip()) for i in kept]
        if name not in used and all(v is not None for v in values):
            held[name] = np.array(values, float)
    return held
