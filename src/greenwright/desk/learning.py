"""Learning from a record without paying for it in full at every question."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.base.values import Snapshot
from greenwright.desk.answering import SEED, Progress
from greenwright.desk.held import Held
from greenwright.measure import quantities_read
from greenwright.record import Store
from greenwright.respond.learning import Learned, learn
from greenwright.respond.shapes import OUTCOMES

KEPT = 2
"""Records whose teaching is held in memory, the last asked of: a long one takes 400 MB."""

_Key = tuple[str, int, str, date]
_kept = Held[_Key, Learned](KEPT)


def learn_kept(
    store: Store,
    record: Snapshot,
    *,
    tell: Progress,
    share: tuple[float, float],
    quantities: Sequence[str] | None = None,
) -> Learned:
    """Return what the record teaches; the same object while its rows stay as they are.

    Outcomes that an earlier question has learned from the same rows are not learned again. No
    fit starts from that of another day: the same record and day must give the same answer.

    Args:
        store: whose rows they are.
        record: the record as known on a day.
        tell: told as outcomes are learned; share: from where to where.
        quantities: only these; None = all that were read and that practices move.
    """
    course = record.course.course
    key = (str(store.path), store.last_change(), course, record.as_of)
    known = _kept.get(key) or Learned({})
    wanted = _wanted(record, quantities)
    missing = [q for q in wanted if q not in {name for name, _ in known.outcomes}]
    for done, quantity in enumerate(missing):
        tell(
            "Learning from the readings and the work",
            share[0] + (share[1] - share[0]) * done / len(missing),
        )
        found = learn(record, seed=SEED, quantities=[quantity])
        known = Learned({**known.outcomes, **found.outcomes})
    _kept.keep(key, known, joined=_both)
    return Learned({k: one for k, one in known.outcomes.items() if k[0] in wanted})


def _wanted(record: Snapshot, quantities: Sequence[str] | None) -> tuple[str, ...]:
    read = dict.fromkeys(q for q, _ in quantities_read(record) if q in OUTCOMES)
    return tuple(q for q in read if quantities is None or q in quantities)


def _both(held: Learned, new: Learned) -> Learned:
    return Learned({**held.outcomes, **new.outcomes})


def forget() -> None:
    """Let go of all that is held in memory."""
    _kept.clear()
