"""Forecasts on invented courses, judged as the question track judges them.

``python -m tests.calibration.track_worlds 8`` plays that many courses, four climates and grasses
in turn, forecasts from several days of each, and prints how often the ranges held what came,
overall and by group of greens, and how much smaller the misses were than those of the best of four
simple rules. Each is done twice: with the work of the days ahead as it was done (a plan that was
kept), and with what the program supposes where nobody wrote a plan.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from greenwright import simulate
from greenwright.base.values import Snapshot, Work
from greenwright.desk import books
from greenwright.desk.coming_work import RECORD, ComingWork, coming_work
from greenwright.desk.judging import Given, cases
from greenwright.desk.likely_work import likely_work
from greenwright.desk.looking_ahead import kept_rows, look_ahead
from greenwright.record import Store, snapshot
from greenwright.respond.learning import learn
from greenwright.verify.references import HORIZONS, RULES
from greenwright.verify.scores import crps
from greenwright.verify.scoring import LEVELS, rules_of

END = date(2026, 7, 1)
GREENS, DAYS, AHEAD = 12, 500, 14
ORIGINS = (20, 41, 62, 83, 104, 125)
"""Days before the end from which is forecast: all weekdays, spring to summer."""
QUANTITIES = ("green_speed", "smoothness")
KEPT_PLAN, SUPPOSED = "work as it was done", "work as supposed"
WANTED = {1: 0.25, 3: 0.20, 7: 0.15, 14: 0.05}
"""Skill over the best of the four that is aimed at."""


@dataclass(frozen=True)
class Scored:
    """What came of forecasts of one quantity on one course: arrays over readings.

    Args:
        course: number of the invented course.
        quantity: of what.
        ahead, group: days ahead, and number of the group of greens.
        pit: chance that was given to less than what came.
        ours: scores; theirs: by rule, nan where it could say nothing.
    """

    course: int
    quantity: str
    ahead: np.ndarray
    group: np.ndarray
    pit: np.ndarray
    ours: np.ndarray
    theirs: Mapping[str, np.ndarray]


def world(number: int, *, greens: int = GREENS, days: int = DAYS) -> simulate.World:
    """Return the settings of an invented course: the places in turn, a forecast each morning."""
    held = list(simulate.PLACES.values())[number % len(simulate.PLACES)]
    climate = replace(held.climate, forecast_issues=max(ORIGINS) + AHEAD)
    return replace(held, greens=greens, days=days, climate=climate)


def played(number: int, folder: Path, **size: int) -> Path:
    """Write the record of an invented course and load it; return its file."""
    made = simulate.course(100 + number, today=END, world=world(number, **size))
    simulate.write_record(made, folder / "files")
    path = folder / "course.db"
    with books.open_book(path, create=True) as store:
        books.load_paths(store, [folder / "files"], on=END)
    return path


def as_it_was_done(whole: Snapshot, then: Snapshot) -> ComingWork:
    """Return the work that was done in the days ahead, as a plan."""
    last = then.as_of + timedelta(days=AHEAD)
    done = (w for w in whole.work if w.status == "done" and then.as_of < w.date <= last)
    return ComingWork(tuple(replace(w, status="planned") for w in done), (), RECORD)


def plans(
    whole: Snapshot, then: Snapshot
) -> Iterator[tuple[str, ComingWork, Sequence[Sequence[Work]]]]:
    """Yield both kinds of work: what is taken as coming, and what may come instead."""
    yield KEPT_PLAN, as_it_was_done(whole, then), ()
    work = coming_work(then, AHEAD)
    yield SUPPOSED, work, likely_work(then, work, AHEAD)


def given(
    store: Store, whole: Snapshot, origins: Sequence[int], quantities: Sequence[str] = QUANTITIES
) -> Iterator[tuple[str, Given]]:
    """Yield what is forecast from days of a record, under both kinds of work."""
    for ago in origins:
        then = snapshot(store, None, on=END - timedelta(days=ago))
        learned = tuple(learn(then, seed=1, quantities=quantities).outcomes.values())
        for name, work, likely in plans(whole, then):
            for one in look_ahead(then, learned, AHEAD, work=work, likely=likely):
                yield from ((name, Given(row, then.as_of)) for row in kept_rows(one))


def scored(whole: Snapshot, found: Iterable[Given], number: int) -> Iterator[Scored]:
    """Yield the scores of what was forecast, by quantity."""
    groups = {g.green: g.group for g in whole.greens}
    names = sorted(set(groups.values()))
    for case in cases(whole, found):
        judged, rules = case.judged, rules_of(case.readings, case.judged)
        yield Scored(
            number,
            case.quantity,
            judged.ahead,
            np.array([names.index(groups[case.greens[k]]) for k in judged.green]),
            judged.pit,
            judged.crps,
            {n: crps(judged.value, *said, log=judged.log) for n, said in rules.items()},
        )


def play(number: int, *, origins: Sequence[int] = ORIGINS, **size: int) -> dict[str, list[Scored]]:
    """Return the scores of one invented course, by the kind of work."""
    with tempfile.TemporaryDirectory() as folder:
        path = played(number, Path(folder), **size)
        with books.open_book(path) as store:
            whole = snapshot(store, None, on=END)
            told = list(given(store, whole, origins))
    return {
        name: list(scored(whole, (g for n, g in told if n == name), number))
        for name in (KEPT_PLAN, SUPPOSED)
    }


def joined(rows: Sequence[Scored], quantity: str) -> Scored:
    """Return the scores of several courses as one."""
    mine = [r for r in rows if r.quantity == quantity]
    held = {n: np.concatenate([getattr(r, n) for r in mine]) for n in ("ahead", "group", "pit")}
    theirs = {n: np.concatenate([r.theirs[n] for r in mine]) for n in RULES}
    return Scored(-1, quantity, ours=np.concatenate([r.ours for r in mine]), theirs=theirs, **held)


def share(one: Scored, level: float, chosen: np.ndarray | None = None) -> float:
    """Return how often the central ranges of a level held."""
    pit = one.pit if chosen is None else one.pit[chosen]
    return float(np.mean(np.abs(2 * pit - 1) <= level)) if len(pit) else np.nan


def within(one: Scored, horizon: int) -> np.ndarray:
    """Return which look so far ahead."""
    first, last = HORIZONS[horizon]
    return (one.ahead >= first) & (one.ahead <= last)


def skill(one: Scored, rule: str, chosen: np.ndarray) -> float:
    """Return how much smaller our scores were than a rule's, where it could be asked."""
    both = chosen & np.isfinite(one.theirs[rule])
    return float(1 - one.ours[both].sum() / one.theirs[rule][both].sum()) if both.any() else np.nan


def told(one: Scored) -> list[str]:
    """Return the lines of the table of one quantity."""
    lines = [f"  {one.quantity}: {len(one.pit)} readings judged"]
    spans = {"all": np.ones(len(one.pit), dtype=bool)}
    spans |= {f"group {k}": one.group == k for k in np.unique(one.group)}
    spans |= {f"{h} d": within(one, h) for h in HORIZONS}
    for name, chosen in spans.items():
        held = "  ".join(f"{100 * level:.0f}: {share(one, level, chosen):.3f}" for level in LEVELS)
        lines.append(f"    held, {name:8s} {held}  (n {chosen.sum()})")
    for horizon, aim in WANTED.items():
        found = {rule: skill(one, rule, within(one, horizon)) for rule in RULES}
        best = min((v for v in found.values() if np.isfinite(v)), default=np.nan)
        each = "  ".join(f"{rule} {value:+.2f}" for rule, value in found.items())
        lines.append(f"    skill {horizon:2d} d {best:+.3f} (aim {aim:.2f})   {each}")
    return lines


def main(count: int) -> None:
    """Play courses and print the tables."""
    started = time.process_time()
    found: dict[str, list[Scored]] = {KEPT_PLAN: [], SUPPOSED: []}
    for number in range(count):
        for name, rows in play(number).items():
            found[name] += rows
        print(f"course {number + 1} of {count}, {time.process_time() - started:.0f} s", flush=True)
    for name, rows in found.items():
        print(f"\n{name}, {count} courses x {len(ORIGINS)} days")
        for quantity in QUANTITIES:
            print("\n".join(told(joined(rows, quantity))))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 8)
