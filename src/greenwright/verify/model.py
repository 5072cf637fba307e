"""From a declared layout to the terms and strata of its analysis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from greenwright.stats.trials.factors import Array, Factor, Term, crossed, term_of
from greenwright.stats.trials.strata import Splitting, split, strata_of
from greenwright.verify.declared import Read

WITHIN = "readings within plots"


@dataclass(frozen=True, slots=True)
class Model:
    """The model of a declared trial.

    Args:
        terms: in order, covariates and adjusting terms first.
        compared: names of the terms that are treatments.
        groups: (stratum, codes) of the block structures, coarse to fine.
        splitting: terms in their strata.
        expected: term -> stratum that the layout tells it in.
        repeated: whether plots were read more than once.
        factors: those compared, in order.
    """

    terms: tuple[Term, ...]
    compared: tuple[str, ...]
    groups: tuple[tuple[str, Array], ...]
    splitting: Splitting
    expected: dict[str, str]
    repeated: bool
    factors: tuple[Factor, ...]


def model_of(data: Read) -> Model:
    """Return the model that follows from the layout."""
    groups, repeated = _groups(data)
    terms, compared = _terms(data)
    last = WITHIN if repeated else data.layout.last
    strata = strata_of(groups, len(data.y), last=last)
    made = split(strata, terms)
    return Model(
        terms,
        compared,
        groups,
        made,
        {name: _expected(data, name) for name in compared},
        repeated,
        tuple(data.factors[c] for c in _columns(data, treated_roles(data))),
    )


def treated_roles(data: Read) -> tuple[str, ...]:
    """Return the roles of the layout whose factors are compared."""
    target = data.layout.target
    return target or tuple(r for r in data.layout.order if r not in data.layout.fixed)


def _columns(data: Read, roles: Sequence[str]) -> list[str]:
    return [c for role in roles for c in data.declared.columns(role)]


def _groups(data: Read) -> tuple[tuple[tuple[str, Array], ...], bool]:
    """Return the block structures, and whether plots were read more than once."""
    groups = [
        (name, crossed([data.factors[c].codes for c in _columns(data, roles)]))
        for name, roles in data.layout.strata
    ]
    units = _units(data)
    repeated = units is not None and len(np.unique(units)) < len(data.y)
    finest = max((len(np.unique(codes)) for _, codes in groups), default=0)
    if units is None or not repeated or len(np.unique(units)) == finest:
        return tuple(groups), False
    return (*groups, (data.layout.last, units)), True


def _units(data: Read) -> Array | None:
    """Return a code for each plot, or None where every row must be taken as a plot."""
    structure = [c for _, roles in data.layout.strata for c in _columns(data, roles)]
    plots = _columns(data, ("plots",))
    if plots:
        named = [*structure, *plots]
    elif structure:
        named = [*structure, *_columns(data, data.layout.order)]
    else:
        return None
    return crossed([data.factors[c].codes for c in dict.fromkeys(named)])


def _terms(data: Read) -> tuple[tuple[Term, ...], tuple[str, ...]]:
    held = [Term(name, (), column[:, None]) for name, column in data.covariates.items()]
    named = _columns(data, data.layout.order)
    adjusting = set(_columns(data, data.layout.fixed))
    compared = []
    top = min(data.declared.order or len(named), len(named))
    for size in range(1, top + 1):
        for chosen in combinations(named, size):
            if not _kept(data, chosen):
                continue
            term = term_of([data.factors[c] for c in chosen])
            held.append(term)
            if not set(chosen) <= adjusting:
                compared.append(term.name)
    return tuple(held), tuple(compared)


def _kept(data: Read, chosen: Sequence[str]) -> bool:
    if data.layout.only is None:
        return True
    roles = {_role(data, c) for c in chosen}
    if len(chosen) > 1 and roles == {"treatments"}:
        return True
    return len(chosen) == 1


def _role(data: Read, column: str) -> str:
    return next(role for role, columns in data.declared.roles.items() if column in columns)


def _expected(data: Read, term: str) -> str:
    """Return the coarsest stratum whose units are told apart by every factor of the term."""
    roles = {_role(data, c) for c in term.split(":")}
    for name, structure in data.layout.strata:
        if roles & set(data.layout.order) <= set(structure):
            return name
    if data.layout.key == "before-after":
        return "greens" if roles == {"group"} else "phases within greens"
    return data.layout.last


def coarse_only(splitting: Splitting, term: str) -> bool:
    """Tell whether a term stands wholly in one stratum with all its degrees of freedom."""
    found = splitting.found(term)
    return len(found) == 1 and next(iter(found.values())) == splitting.nominal[term]
