"""What the part of an act's work tells that fell by toss: a comparison once it has been made."""

from __future__ import annotations

import numpy as np

from greenwright.respond.learning.terms import BY_LOOK, LED, tosses_of
from greenwright.respond.learning.worked import Floats, Worked
from greenwright.stats.dynamic import DynamicFit, Separation, alone


def told_by_toss(plain: DynamicFit, work: Worked) -> dict[str, Separation]:
    """Return by act what its tossed doses tell by themselves.

    Args:
        plain: fit of the readings alone.
        work: the record's work.
    """
    model = plain.layout.model
    names = {t.name: t for t in model.terms}
    made = {}
    for act, fallen in work.tossed.items():
        name = act if act in names else f"{act}.early"
        if name not in names or not fallen.any():
            continue
        rest = f"{name}{LED}" if f"{name}{LED}" in names else None
        made[act] = alone(
            plain,
            name,
            _shared_out(names[name].dose, work, act),
            coin_flips=tosses_of(work, act) if act in BY_LOOK else float("nan"),
            rest=rest,
        )
    return made


def _shared_out(dose: Floats, work: Worked, act: str) -> Floats:
    """Return the tossed part of a term's doses, which may be spread over days already."""
    fallen = work.tossed[act]
    if act == "mow":
        return dose * fallen
    whole = work.doses[act]
    return dose * np.divide(fallen, whole, out=np.zeros_like(whole), where=whole > 0)
