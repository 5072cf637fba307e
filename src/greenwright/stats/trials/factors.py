"""Factors of a designed comparison and the columns that their terms put into a model.

Every factor is coded so that its columns sum to zero over its levels: a term is then tested by
its own columns, and the mean of a level over all others is the intercept plus its own code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from greenwright.base.errors import BadInput

Array = np.ndarray
RANK = 1e-8
"""A column shorter than this share of the longest adds nothing."""


@dataclass(frozen=True, slots=True)
class Factor:
    """A named factor: its levels, the level of each row, and how the levels are coded.

    Args:
        name: of the column.
        levels: texts, in the order of first appearance or of their numbers.
        codes: (n) index of the level of each row.
        coding: (levels, levels - 1) columns that sum to zero.
        parts: name of each column of the coding where each is a row of its own (trends).
    """

    name: str
    levels: tuple[str, ...]
    codes: Array
    coding: Array
    parts: tuple[str, ...] = ()

    @property
    def columns(self) -> Array:
        """Return (n, levels - 1) columns."""
        return self.coding[self.codes]


@dataclass(frozen=True, slots=True)
class Term:
    """One term of the model of treatments: its factors and its columns (n, df)."""

    name: str
    factors: tuple[str, ...]
    columns: Array


def factor(name: str, values: Sequence[object]) -> Factor:
    """Return a factor; levels that are all numbers stand in their order, others as they come.

    Raises:
        BadInput: fewer than two levels.

    >>> factor("dose", ["10", "0", "10"]).levels
    ('0', '10')
    """
    texts = [str(value) for value in values]
    levels = sorted_levels(dict.fromkeys(texts))
    if len(levels) < 2:
        raise BadInput(
            f"{name} has only one level, {levels[0] if levels else 'none'!r}",
            where=name,
            expected="at least two levels to compare",
            do="Name another column, or leave it out",
        )
    place = {level: i for i, level in enumerate(levels)}
    return Factor(name, levels, np.array([place[t] for t in texts]), sum_coding(len(levels)))


def sorted_levels(texts: Sequence[str] | dict[str, None]) -> tuple[str, ...]:
    """Return levels by their numbers where all are numbers, else as they came."""
    if all(number_of(text) is not None for text in texts):
        return tuple(sorted(texts, key=lambda text: number_of(text) or 0.0))
    return tuple(texts)


def number_of(text: str) -> float | None:
    """Return the finite number that a text writes, or None.

    >>> number_of("2.5"), number_of("None"), number_of("nan")
    (2.5, None, None)
    """
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


def sum_coding(levels: int) -> Array:
    """Return the coding in which the last level is minus the sum of the others."""
    return np.vstack([np.eye(levels - 1), -np.ones(levels - 1)])


def trend_coding(values: Sequence[float]) -> Array:
    """Return orthonormal polynomials of level values, linear first (any spacing).

    >>> [round(x, 3) for x in trend_coding([0.0, 1.0, 3.0])[:, 0].tolist()]
    [-0.617, -0.154, 0.772]
    """
    x = np.asarray(values, float)
    scaled = (x - x.mean()) / max(np.ptp(x), 1e-300)
    q, r = np.linalg.qr(np.vander(scaled, len(x), increasing=True))
    return (q * np.sign(np.diag(r)))[:, 1:]


DEGREES = ("linear", "quadratic", "cubic", "quartic")


def with_trend(one: Factor, values: Sequence[float]) -> Factor:
    """Return the factor coded by polynomials of its level values, each a row of its own.

    Raises:
        BadInput: two levels have the same value.
    """
    if len(set(values)) < len(one.levels):
        raise BadInput("a trend needs a different number for each level", where=one.name)
    coding = trend_coding(values)
    names = [DEGREES[i] if i < len(DEGREES) else f"degree {i + 1}" for i in range(coding.shape[1])]
    return Factor(one.name, one.levels, one.codes, coding, tuple(names))


def terms_of(factors: Sequence[Factor], *, order: int | None = None) -> tuple[Term, ...]:
    """Return all main effects and interactions up to an order, simple ones first."""
    top = min(order or len(factors), len(factors))
    return tuple(
        term_of(chosen) for size in range(1, top + 1) for chosen in combinations(factors, size)
    )


def term_of(factors: Sequence[Factor]) -> Term:
    """Return the term of one factor, or the interaction of several."""
    columns = factors[0].columns
    for other in factors[1:]:
        columns = products(columns, other.columns)
    names = tuple(one.name for one in factors)
    return Term(":".join(names), names, columns)


def products(a: Array, b: Array) -> Array:
    """Return every product of a column of a with a column of b, row by row."""
    return (a[:, :, None] * b[:, None, :]).reshape(len(a), -1)


def crossed(codes: Sequence[Array]) -> Array:
    """Return one code for each combination of codes that occurs, 0, 1, …"""
    stacked = np.stack(codes, axis=1)
    return np.unique(stacked, axis=0, return_inverse=True)[1].reshape(-1)


def indicator(codes: Array) -> Array:
    """Return (n, groups) with a one where a row belongs to a group."""
    return np.eye(int(codes.max()) + 1)[codes]


def span(columns: Array, scale: float | None = None) -> Array:
    """Return an orthonormal basis (n, rank) of the columns.

    Args:
        columns: (n, k).
        scale: length against which a direction counts as nothing; None = the longest itself.
    """
    if columns.shape[1] == 0:
        return columns
    u, s, _ = np.linalg.svd(columns, full_matrices=False)
    return u[:, s > RANK * (scale if scale is not None else max(s[0], 1e-300))]
