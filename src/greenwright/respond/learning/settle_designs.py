"""How an act can be compared by toss on this course: which greens, which days, which sizes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

import numpy as np

from greenwright.base.evidence import value
from greenwright.base.values import Snapshot
from greenwright.respond.learning.learned import LearnedOutcome
from greenwright.respond.learning.worked import BEFORE_PLAY
from greenwright.respond.shapes import HELD, PHASES, Shape
from greenwright.stats.dynamic import Comparison, tossed
from greenwright.stats.dynamic.model import Floats, Ints

LEAVE, GIVE, TURNS, WEEKS = "leave", "give", "turns", "weeks"
"""Left out on half of the greens; done on half of them; half first, half later; by the week."""
IN_TURN = frozenset(
    {"topdress", "verticut", "core", "solid_tine", "needle_tine", "slit", "feed", "regulator",
     "wetting_agent", "overseed"}
)  # fmt: skip
"""Work that comes every few weeks and is not done more often for a comparison's sake."""
LONGEST_D = 42
"""Days that a comparison may last."""
QUICK_D, SLOW_D = 7, 14
"""Days that half of the greens wait for the others, of quick and of slow effects."""
FEWEST, MOST = 4, 8
"""Greens that take part."""
_WASHED = 2.3
"""Half-lives after which a fifth of an effect is left."""
_OFTEN = 1 / 3
_LASTING = 2.0
_YEAR = 300
_SEED = 4


@dataclass(frozen=True, slots=True)
class Ground:
    """Where and when an act may be compared.

    Args:
        way: leave | give | turns | weeks.
        greens: that may take part, those read most first.
        dates: on which it would be done or left, in order.
        delay: days after them until a reading feels it.
        lags: days after that on which all greens are read.
        held: days for which it is held.
        spacing: days between the dates.
    """

    way: str
    greens: tuple[str, ...]
    dates: tuple[date, ...]
    delay: int
    lags: tuple[int, ...]
    held: int
    spacing: int


def seasons(snapshot: Snapshot) -> dict[str, frozenset[int]]:
    """Return act -> months in which the record has it done, as far as it covers most of a year.

    >>> from greenwright.base.values import Course
    >>> seasons(Snapshot(course=Course(course="fen", name="Fen"), as_of=date(2026, 6, 1)))
    {}
    """
    done = [w for w in snapshot.work if w.status == "done"]
    days = {w.date for w in done}
    if not days or (max(days) - min(days)).days < _YEAR:
        return {}
    months: dict[str, set[int]] = {}
    for work in done:
        months.setdefault(work.practice, set()).add(work.date.month)
        if work.practice == "mow" and work.passes > 1:
            months.setdefault("double_cut", set()).add(work.date.month)
    return {act: frozenset(found) for act, found in months.items()}


def ground_of(
    snapshot: Snapshot,
    one: LearnedOutcome,
    shape: Shape,
    *,
    greens: tuple[str, ...],
    half_life_d: float | None,
    months: frozenset[int] = frozenset(),
) -> Ground:
    """Return where and when an act may be compared here.

    Events are kept free, with the days before them. Work of a season waits for it.

    Args:
        snapshot: the record.
        one: the outcome.
        shape: the effect.
        greens: `partners` on this outcome.
        half_life_d: of it, where it fades by halves [d].
        months: in which the act is done here; none = not known.
    """
    start = _start(snapshot.as_of + timedelta(days=1), months)
    way = _way(one, shape, start)
    spacing = _spacing(way, shape, half_life_d)
    steps = _turns(one, shape, spacing) if way == TURNS else [spacing]
    return Ground(
        way=way,
        greens=greens,
        dates=tuple(_dates(snapshot, start, steps)),
        delay=_delay(shape),
        lags=_lags(way, shape, half_life_d, spacing),
        held=7 if way == WEEKS else 1,
        spacing=spacing,
    )


def designs_on(
    ground: Ground, one: LearnedOutcome, *, tosses: float, fading: Floats | None
) -> list[Comparison]:
    """Return comparisons on a ground, those that change least work first, then fewest readings.

    Args:
        ground: where and when.
        one: the outcome, for its calendar.
        tosses: that are needed at least.
        fading: of doses already spread over days; see ``Comparison``.
    """
    made = [
        Comparison(
            units=np.array([one.greens.index(k) for k in ground.greens[:greens]]),
            days=_places(ground, one)[:mornings],
            given=tossed(mornings, greens, rng=np.random.default_rng([_SEED, mornings, greens])),
            lags=ground.lags,
            sets=sets,
            held=ground.held,
            dose=1.0,
            fading=fading,
        )
        for mornings, greens, sets in _sizes(ground, tosses)
    ]
    return sorted(made, key=lambda c: (changed(ground, c), c.readings, len(c.days)))


def changed(ground: Ground, one: Comparison) -> int:
    """Return the green-days on which something else is done than usual; waiting is nothing else."""
    if ground.way == TURNS:
        return 0
    given = int(one.given.sum())
    return one.held * (one.given.size - given if ground.way == LEAVE else given)


def _sizes(ground: Ground, tosses: float) -> Iterator[tuple[int, int, int]]:
    told = (2, 4, 6) if ground.way == TURNS else (2, 4, 5, 6, 8, 10)
    most = min(MOST, len(ground.greens))
    greens = range(min(FEWEST, most - most % 2), most + 1, 2)
    for m in (m for m in told if m <= len(ground.dates)):
        for g in greens:
            if g >= 2 and m * g >= tosses:
                yield from ((m, g, sets) for sets in (1, 2, 3))


def _places(ground: Ground, one: LearnedOutcome) -> Ints:
    """Return days in the calendar: counted on from its end, whenever the season begins."""
    first = one.fit.layout.model.days + ground.delay
    return np.array([first + (d - ground.dates[0]).days for d in ground.dates], dtype=np.intp)


def _way(one: LearnedOutcome, shape: Shape, start: date) -> str:
    if shape.form == HELD:
        return WEEKS
    if shape.act in IN_TURN:
        return TURNS
    done = one.felt[shape.act] > 0
    days = [i for i in range(done.shape[1]) if _on(one, i).month == start.month]
    usual = done[:, days or slice(-28, None)]
    return LEAVE if usual.mean() > _OFTEN else GIVE


def _on(one: LearnedOutcome, day: int) -> date:
    return one.first + timedelta(days=day)


def _spacing(way: str, shape: Shape, half_life_d: float | None) -> int:
    if way == TURNS:
        return QUICK_D if shape.horizons[0] <= 3 else SLOW_D
    if way == WEEKS:
        return 7
    return int(np.clip(ceil(_WASHED * (half_life_d or 1.0)), 1, 7))


def _lags(way: str, shape: Shape, half_life_d: float | None, spacing: int) -> tuple[int, ...]:
    """Return days after the first feeling on which to read: where the effect is largest."""
    if way == WEEKS:
        return (3, 6)
    if way != TURNS:
        return (0,) if (half_life_d or 0.0) < _LASTING else (0, 1)
    told = {max(h - _delay(shape), 0) for h in shape.horizons if h - _delay(shape) < spacing}
    early = {0} if shape.form == PHASES else set()
    return tuple(sorted(told | early)) or (spacing - 1,)


def _delay(shape: Shape) -> int:
    return int(shape.act not in BEFORE_PLAY)


def _turns(one: LearnedOutcome, shape: Shape, spacing: int) -> list[int]:
    """Return days from turn to turn: half of the greens, the other half, and so on when next due.

    What comes less than every six weeks has one round.
    """
    done = one.felt[shape.act] > 0
    gaps = [np.diff(np.flatnonzero(row)) for row in done]
    known = np.concatenate(gaps) if gaps else np.zeros(0)
    usual = int(np.median(known)) if len(known) else LONGEST_D
    return [spacing, max(usual, 2 * spacing) - spacing]


def _start(tomorrow: date, months: frozenset[int]) -> date:
    """Return tomorrow, or the first day of the next month in which such work is done here."""
    if not months or tomorrow.month in months:
        return tomorrow
    ahead = next(k for k in range(1, 13) if (tomorrow.month + k - 1) % 12 + 1 in months)
    month = tomorrow.month + ahead
    return date(tomorrow.year + (month - 1) // 12, (month - 1) % 12 + 1, 1)


def _dates(snapshot: Snapshot, start: date, steps: Sequence[int]) -> Iterator[date]:
    """Yield days from a start on, by steps in turn, none in or just before an event."""
    run_up = timedelta(days=value("learn.event_days"))
    busy = [
        (e.start - (run_up if e.kind == "event" else timedelta()), e.end or e.start)
        for e in snapshot.calendar
        if (e.end or e.start) >= start
    ]
    day, turn = start, 0
    while (day - start).days < LONGEST_D:
        if any(first <= day <= last for first, last in busy):
            day += timedelta(days=1)
        else:
            yield day
            day += timedelta(days=steps[turn % len(steps)])
            turn += 1


def partners(snapshot: Snapshot, one: LearnedOutcome) -> tuple[str, ...]:
    """Return greens that may take part: of every group in turn, those read most first.

    The first and the last green in play are spared: players meet them first and last.
    """
    spared: Sequence[str] = (one.greens[0], one.greens[-1]) if len(one.greens) >= 9 else ()
    read = Counter(one.plain.layout.rows.unit.tolist())
    groups = [
        sorted((k for k in keys if k in one.greens and k not in spared),
               key=lambda k: -read[one.greens.index(k)])
        for keys in snapshot.groups.values()
    ]  # fmt: skip
    longest = max((len(g) for g in groups), default=0)
    return tuple(g[i] for i in range(longest) for g in groups if i < len(g))
