"""From a record to the engine's model of one outcome."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from greenwright.base.evidence import look_up
from greenwright.base.values import Snapshot, Work
from greenwright.respond.learning.drivers import covariates
from greenwright.respond.learning.sets import Set, groups_of, level_of, scales, sets_of
from greenwright.respond.learning.terms import terms_of
from greenwright.respond.learning.worked import Worked, pieces, worked
from greenwright.stats.dynamic import Condition, DynamicModel

MOST_DAYS = 1096
"""Days of the record that are looked at: the last three years."""


def first_day(snapshot: Snapshot) -> date:
    """Return the day on which learning begins: the first with readings or work, three years back.

    A record without either begins on its own day.
    """
    oldest = snapshot.as_of - timedelta(days=MOST_DAYS - 1)
    known = [r.date for r in snapshot.readings]
    known += [w.date for w in snapshot.work if w.status == "done"]
    return max(oldest, min((d for d in known if d <= snapshot.as_of), default=snapshot.as_of))


def model_of(
    snapshot: Snapshot,
    quantity: str,
    *,
    method: str = "",
    first: date,
    until: date,
    planned: Sequence[Work] = (),
) -> DynamicModel:
    """Return the engine's model of one outcome on the days first..until.

    The same record gives the same terms, covariates and groups whatever `until` and `planned`:
    a fit of one calendar can be asked about another. Acts that neither the record nor its plan
    holds and that no plan may choose have no term, so a planned one moves nothing.

    Args:
        snapshot: the record; done work up to its as_of counts.
        quantity: a quantity that is read; method: of firmness.
        first: day 0.
        until: last day, after as_of for a forecast; weather not known there is the climate's.
        planned: work after as_of, counted as if done.
    """
    work = worked(snapshot, first=first, until=until, planned=planned)
    found = sets_of(snapshot, quantity, method=method, first=first)
    return built(snapshot, work, found, quantity=quantity, method=method)


def built(
    snapshot: Snapshot, work: Worked, found: Sequence[Set], *, quantity: str, method: str
) -> DynamicModel:
    """Return the model from work and sets that are already laid out."""
    days = work.growth.shape[1]
    until = work.first + timedelta(days=days - 1)
    held, hour = scales(quantity), look_up("learn.slope.hour")
    day_sd = held["day_sd"].median
    terms = terms_of(work, quantity, method=method, acts=acts_told(snapshot))
    level, level_sd = level_of(quantity, found)
    return DynamicModel(
        units=len(work.greens),
        days=days,
        level=level,
        level_sd=level_sd,
        scales=held,
        shapes=terms.shapes,
        terms=terms.terms,
        covariates=covariates(snapshot, work, quantity=quantity, until=until, day_sd=day_sd),
        conditions=(Condition("hour", 0.0, (hour.sd or 1.0) * day_sd),),
        groups=groups_of(found, quantity),
    )


def acts_told(snapshot: Snapshot) -> set[str]:
    """Return the acts that the record holds, done or planned."""
    return {act for w in snapshot.work for act, _ in pieces(w)}
