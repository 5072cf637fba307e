"""Materials that another one outdoes in everything that a plan weighs: they need no trying."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from greenwright.feed.materials import PLANNED, Feedstuff

_ALMOST = 1e-9


def worth_trying(materials: Sequence[Feedstuff]) -> tuple[Feedstuff, ...]:
    """Return the materials without those that another outdoes; of equals the first stays.

    Any plan with one that is outdone stays allowed, and gets no dearer, with the other in its
    place: the best plan is among those that are left.
    """
    kept: list[Feedstuff] = []
    for place, one in enumerate(materials):
        others = [*kept, *materials[place + 1 :]]
        if not any(outdoes(other, one) and not _tie(other, one, kept) for other in others):
            kept.append(one)
    return tuple(kept)


def _tie(other: Feedstuff, one: Feedstuff, kept: Sequence[Feedstuff]) -> bool:
    return other not in kept and outdoes(one, other)


def outdoes(better: Feedstuff, worse: Feedstuff) -> bool:
    """Return whether some rate of the better brings as much for less, and breaks no limit more.

    Nitrogen must be the same, since a month has room for no more; other elements at least as
    much; salt, acidity, label limits and what may share a tank no worse.
    """
    rate = _rate(better, worse)
    if rate is None or better.soluble != worse.soluble:
        return False
    sides = {"", worse.clashes}
    phosphorus = better.share("P") == 0 or worse.share("P") > 0
    return (
        better.clashes in sides
        and phosphorus
        and rate * better.price_kg <= worse.price_kg + _ALMOST
        and rate * better.salt_index <= worse.salt_index + _ALMOST
        and rate * _sour(better) <= _sour(worse) + _ALMOST
        and better.interval_d <= worse.interval_d
        and _room(better.max_rate) >= rate * _room(worse.max_rate, most=60.0) - _ALMOST
        and _room(better.max_year) >= rate * _room(worse.max_year)
    )


def _rate(better: Feedstuff, worse: Feedstuff) -> float | None:
    """Return grams of the better that bring what one gram of the worse does, or nothing."""
    mine, theirs = better.share("N"), worse.share("N")
    if (mine > 0) != (theirs > 0):
        return None
    wanted = [e for e in PLANNED if e != "N" and worse.share(e) > 0]
    if any(better.share(e) == 0 for e in wanted):
        return None
    least = max((worse.share(e) / better.share(e) for e in wanted), default=0.0)
    if mine > 0:
        return theirs / mine if theirs / mine >= least - _ALMOST else None
    return least or None


def _sour(one: Feedstuff) -> float:
    return max(-(one.caco3 or 0.0), 0.0)


def _room(limit: float | None, *, most: float = inf) -> float:
    return most if limit is None else limit
