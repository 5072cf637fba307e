"""The layouts of a comparison: which columns each needs, and what its error strata are.

A layout is declared, never a formula: from it follow the terms, the strata, and in which stratum
each term must be told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from greenwright.base.errors import UnknownKey

ROLES = (
    "treatments",
    "blocks",
    "rows",
    "columns",
    "whole",
    "sub",
    "subsub",
    "units",
    "periods",
    "group",
    "phase",
    "treated",
    "plots",
)
"""What a column may be in a layout; treatments, whole, sub and subsub may be several columns."""


@dataclass(frozen=True, slots=True)
class Layout:
    """One layout.

    Args:
        key: as typed; words: what it is.
        needs: roles that must be named; may: roles that can be.
        strata: (name, roles whose combinations are the units of the stratum), coarse to fine.
        last: what the finest units are called.
        order: roles in the order in which their factors enter the model.
        fixed: roles that adjust and are not compared (periods, rows …).
        only: terms to keep as combinations of roles; None = everything crossed.
        target: the term that the layout is laid out for, as roles.
        within: whether only differences within the coarsest units count (each its own control).
    """

    key: str
    words: str
    needs: tuple[str, ...]
    strata: tuple[tuple[str, tuple[str, ...]], ...]
    last: str
    order: tuple[str, ...]
    may: tuple[str, ...] = ()
    fixed: tuple[str, ...] = ()
    only: tuple[tuple[str, ...], ...] | None = None
    target: tuple[str, ...] = ()
    within: bool = False


_ROWS = (
    Layout(
        "completely-randomised",
        "treatments by lot over all plots",
        ("treatments",),
        (),
        "plots",
        ("treatments",),
        may=("plots",),
    ),
    Layout(
        "complete-block",
        "every treatment once in each block, by lot within it",
        ("treatments", "blocks"),
        (("blocks", ("blocks",)),),
        "plots within blocks",
        ("treatments",),
        may=("plots",),
    ),
    Layout(
        "latin-square",
        "every treatment once in each row and column",
        ("treatments", "rows", "columns"),
        (("rows", ("rows",)), ("columns", ("columns",))),
        "plots",
        ("treatments",),
        may=("plots",),
        within=True,
    ),
    Layout(
        "split-plot",
        "one factor on whole plots, another on parts of them",
        ("blocks", "whole", "sub"),
        (("blocks", ("blocks",)), ("whole plots", ("blocks", "whole"))),
        "sub-plots",
        ("whole", "sub"),
        may=("plots",),
    ),
    Layout(
        "split-split-plot",
        "whole plots, parts of them, and parts of those",
        ("blocks", "whole", "sub", "subsub"),
        (
            ("blocks", ("blocks",)),
            ("whole plots", ("blocks", "whole")),
            ("sub-plots", ("blocks", "whole", "sub")),
        ),
        "sub-sub-plots",
        ("whole", "sub", "subsub"),
        may=("plots",),
    ),
    Layout(
        "strip",
        "one factor in strips along, another in strips across",
        ("blocks", "whole", "sub"),
        (
            ("blocks", ("blocks",)),
            ("strips along", ("blocks", "whole")),
            ("strips across", ("blocks", "sub")),
        ),
        "crossings of strips",
        ("whole", "sub"),
        may=("plots",),
    ),
    Layout(
        "split-plot-in-time",
        "the same plots read again and again",
        ("blocks", "whole", "periods"),
        (("blocks", ("blocks",)), ("plots", ("blocks", "whole"))),
        "readings over time",
        ("whole", "periods"),
        may=("plots",),
    ),
    Layout(
        "crossover",
        "each green takes every treatment, in turns",
        ("units", "periods", "treatments"),
        (("greens", ("units",)),),
        "periods within greens",
        ("periods", "treatments"),
        may=("plots",),
        fixed=("periods",),
        only=(("periods",), ("treatments",)),
        within=True,
    ),
    Layout(
        "stepped-wedge",
        "greens start the new way one after another",
        ("units", "periods", "treated"),
        (("greens", ("units",)),),
        "periods within greens",
        ("periods", "treated"),
        may=("plots",),
        fixed=("periods",),
        only=(("periods",), ("treated",)),
        within=True,
    ),
    Layout(
        "before-after",
        "treated and control greens, read before and after",
        ("units", "group", "phase"),
        (("greens", ("units",)), ("phases within greens", ("units", "phase"))),
        "readings within phases",
        ("group", "phase"),
        may=("plots",),
        fixed=("phase",),
        target=("group", "phase"),
    ),
    Layout(
        "half-greens",
        "each green halved, one half each way",
        ("units", "treatments"),
        (("greens", ("units",)),),
        "halves of greens",
        ("treatments",),
        may=("plots",),
        within=True,
    ),
)

LAYOUTS: Mapping[str, Layout] = MappingProxyType({one.key: one for one in _ROWS})
"""Key -> layout."""

OTHER_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "crd": "completely-randomised",
        "rcb": "complete-block",
        "rcbd": "complete-block",
        "latin": "latin-square",
        "row-column": "latin-square",
        "strip-plot": "strip",
        "split-split": "split-split-plot",
        "in-time": "split-plot-in-time",
        "baci": "before-after",
    }
)


def layout(key: str) -> Layout:
    """Return a layout by its key or another name it goes by.

    Raises:
        UnknownKey: names the layouts there are.

    >>> layout("RCB").key
    'complete-block'
    """
    plain = key.strip().lower().replace("_", "-").replace(" ", "-")
    found = LAYOUTS.get(OTHER_NAMES.get(plain, plain))
    if found is None:
        raise UnknownKey(
            f"no layout named {key!r}",
            where="layout",
            expected=", ".join(LAYOUTS),
            do="Name the way in which the treatments were laid out",
        )
    return found
