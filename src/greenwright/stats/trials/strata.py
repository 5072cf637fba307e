"""Exact analysis by strata: the answer space is split into the spaces of the blocks.

Each block structure (blocks, whole plots within blocks, …) spans a space; a stratum is what it
adds to the coarser ones. Treatments are fitted within each stratum, one term after another, and
tested against what is left of that stratum. For balanced layouts this is the classical analysis;
a term found in no stratum is aliased, one found in several is only partly told by each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import fdtrc

from greenwright.base.errors import CannotAnswer
from greenwright.stats.trials.factors import Array, Term, indicator, span


@dataclass(frozen=True, slots=True)
class Stratum:
    """One stratum: its name and an orthonormal basis (n, df) of its space."""

    name: str
    basis: Array


@dataclass(frozen=True, slots=True)
class Slot:
    """Where a term stands in a stratum: an orthonormal basis (n, df) of what it adds there."""

    term: str
    stratum: str
    basis: Array

    @property
    def df(self) -> int:
        """Return its degrees of freedom."""
        return self.basis.shape[1]


@dataclass(frozen=True, slots=True)
class Splitting:
    """A layout taken apart, before any response is seen: the same for every response.

    Args:
        strata: coarse to fine.
        slots: terms in their strata.
        rest: stratum -> basis of what no term takes.
        nominal: term -> degrees of freedom it would have by itself.
        adjusted: names of terms that only adjust (covariates), never reported as treatments.
    """

    strata: tuple[Stratum, ...]
    slots: tuple[Slot, ...]
    rest: dict[str, Array]
    nominal: dict[str, int]

    def df_rest(self, stratum: str) -> int:
        """Return the degrees of freedom for error of a stratum."""
        return self.rest[stratum].shape[1]

    def found(self, term: str) -> dict[str, int]:
        """Return stratum -> degrees of freedom of a term there."""
        return {one.stratum: one.df for one in self.slots if one.term == term}

    @property
    def aliased(self) -> tuple[str, ...]:
        """Return terms that lose degrees of freedom altogether."""
        return tuple(t for t, df in self.nominal.items() if sum(self.found(t).values()) < df)

    @property
    def partial(self) -> tuple[str, ...]:
        """Return terms told by more than one stratum."""
        return tuple(t for t in self.nominal if len(self.found(t)) > 1)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of an analysis of variance; f and p are None where nothing is left for error."""

    term: str
    stratum: str
    df: int
    df_error: float | None
    ss: float
    ms: float
    f: float | None
    p: float | None


@dataclass(frozen=True, slots=True)
class StrataFit:
    """A response analysed by strata.

    Args:
        splitting: the layout.
        rows: terms, in order, stratum by stratum.
        error: stratum -> (df, ss) of its error.
        total: stratum -> (df, ss) of everything in it.
        residuals: of the finest stratum.
    """

    splitting: Splitting
    rows: tuple[Row, ...]
    error: dict[str, tuple[int, float]]
    total: dict[str, tuple[int, float]]
    residuals: Array

    def row(self, term: str, stratum: str | None = None) -> Row:
        """Return the line of a term (in a stratum, where there are several)."""
        held = [r for r in self.rows if r.term == term and stratum in (None, r.stratum)]
        if not held:
            raise CannotAnswer(f"{term} is in no stratum", where="analysis of variance")
        return held[0]

    def mean_square(self, stratum: str) -> float:
        """Return the error mean square of a stratum [unit squared]."""
        df, ss = self.error[stratum]
        return ss / df if df else float("nan")


def strata_of(blocks: Sequence[tuple[str, Array]], n: int, *, last: str) -> tuple[Stratum, ...]:
    """Return the strata of block structures, coarse to fine, and the units within them.

    Args:
        blocks: (name, codes (n)) of each structure, coarse to fine.
        n: rows.
        last: name of the finest stratum.
    """
    held = [Stratum("mean", np.full((n, 1), n**-0.5))]
    for name, codes in blocks:
        held = _added(held, name, indicator(codes))
    return tuple(_added(held, last, np.eye(n))[1:])


def _added(held: list[Stratum], name: str, columns: Array) -> list[Stratum]:
    have = np.hstack([one.basis for one in held])
    rest = columns - have @ (have.T @ columns)
    basis = span(rest, scale=np.linalg.norm(columns, 2))
    return [*held, Stratum(name, basis)] if basis.shape[1] else held


def split(strata: Sequence[Stratum], terms: Sequence[Term]) -> Splitting:
    """Return where each term stands, fitted in its order within each stratum."""
    slots, rest, nominal = [], {}, _nominal(terms)
    for stratum in strata:
        taken = np.zeros((stratum.basis.shape[1], 0))
        for term in terms:
            inside = stratum.basis.T @ term.columns
            new = inside - taken @ (taken.T @ inside)
            basis = span(new, scale=np.linalg.norm(term.columns, 2))
            if basis.shape[1]:
                slots.append(Slot(term.name, stratum.name, stratum.basis @ basis))
                taken = np.hstack([taken, basis])
        rest[stratum.name] = _left(stratum.basis, taken)
    return Splitting(tuple(strata), tuple(slots), rest, nominal)


def _left(basis: Array, taken: Array) -> Array:
    free = np.eye(basis.shape[1]) - taken @ taken.T
    return basis @ span(free, scale=1.0) if basis.shape[1] > taken.shape[1] else basis[:, :0]


def _nominal(terms: Sequence[Term]) -> dict[str, int]:
    """Return the degrees of freedom that each term has by itself in the rows there are."""
    held = {}
    for term in terms:
        centred = term.columns - term.columns.mean(axis=0)
        held[term.name] = span(centred, scale=np.linalg.norm(term.columns, 2)).shape[1]
    return held


def sums_of_squares(basis: Array, y: Array) -> Array:
    """Return the sum of squares of y (n) or of each column of y (n, m) in a space."""
    return np.sum((basis.T @ y) ** 2, axis=0)


def fit_strata(y: Array, splitting: Splitting) -> StrataFit:
    """Return the analysis of variance of a response (n) [unit]."""
    error = {
        s.name: (splitting.df_rest(s.name), float(sums_of_squares(splitting.rest[s.name], y)))
        for s in splitting.strata
    }
    total = {
        s.name: (s.basis.shape[1], float(sums_of_squares(s.basis, y))) for s in splitting.strata
    }
    finest = splitting.rest[splitting.strata[-1].name]
    rows = tuple(_row(one, y, error[one.stratum]) for one in splitting.slots)
    return StrataFit(splitting, rows, error, total, finest @ (finest.T @ y))


def _row(slot: Slot, y: Array, error: tuple[int, float]) -> Row:
    ss = float(sums_of_squares(slot.basis, y))
    ms, (df_error, ss_error) = ss / slot.df, error
    if not df_error or ss_error <= 1e-12 * ss:
        return Row(slot.term, slot.stratum, slot.df, df_error or None, ss, ms, None, None)
    f = ms / (ss_error / df_error)
    return Row(slot.term, slot.stratum, slot.df, df_error, ss, ms, f, f_tail(f, slot.df, df_error))


def f_tail(f: float, df: float, df_error: float) -> float:
    """Return the chance of an F at least so large where nothing differs."""
    return float(fdtrc(df, df_error, max(f, 0.0)))


def f_values(splitting: Splitting, term: str, y: Array) -> Array:
    """Return the F of a term for each column of y (n, m), in the stratum where it has most df.

    Raises:
        CannotAnswer: the term is in no stratum, or nothing is left for error there.
    """
    slot = max(
        (one for one in splitting.slots if one.term == term), key=lambda s: s.df, default=None
    )
    if slot is None or not splitting.df_rest(slot.stratum):
        raise CannotAnswer(
            f"{term} cannot be tested in this layout",
            where="strata",
            do="Add blocks or greens, so that something is left for error",
        )
    error = sums_of_squares(splitting.rest[slot.stratum], y) / splitting.df_rest(slot.stratum)
    return sums_of_squares(slot.basis, y) / slot.df / np.maximum(error, 1e-300)
