"""The plan against every possible plan, on tiny random problems."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest

from greenwright.advise import breaches
from greenwright.advise.judge import judged
from greenwright.advise.plan import plan_week, settle
from greenwright.advise.unit import Unit
from greenwright.advise.units import Setting, build_units
from greenwright.advise.work import pieces
from greenwright.respond import responses
from tests.advise.hands import course_of, crew, event, limit, surface_of
from tests.advise.naive import Tiny, best_of_all

N_DRAWS = 12
HEIGHT = 3.75
STEP = 0.25  # exact in binary, so that both ladders have the same rungs


def problem(number: int):  # type: ignore[no-untyped-def]
    """Return a random tiny record with its days, hours and groups."""
    rng = np.random.default_rng(number)
    two = bool(number % 2)
    groups = {"A": int(rng.integers(1, 3)), "B": 1} if two else {"A": int(rng.integers(1, 4))}
    known = number % 3 == 0 and not two
    n_days = 3 if two or known else 4
    hours = float(rng.choice([0.5, 1.0, 1.5, 2.5]))
    rolls = int(rng.integers(1, 4))
    rows = crew(tuple(groups), mow=float(rng.integers(15, 45)), roll=float(rng.integers(10, 40)))
    snapshot = course_of(
        groups,
        height=HEIGHT if known else None,
        crew=rows,
        limits=(
            limit("labour_h_day", hours),
            limit("rolls_week", rolls),
            limit("min_height_mm", 3.25),
            limit("max_height_step_mm", STEP),
            limit("min_step_interval_d", 2),
        ),
        calendar=(event(int(rng.integers(1, n_days + 1))),) if rng.random() < 0.5 else (),
    )
    n = len(snapshot.greens)
    surfaces = {
        "green_speed": surface_of(snapshot, "green_speed", rng.uniform(2.4, 3.2, n)),
        "smoothness": surface_of(snapshot, "smoothness", rng.uniform(5.5, 9.0, n), sd=0.4),
    }
    return snapshot, surfaces, n_days, (hours, rolls, known)


@cache
def least(number: int) -> tuple[float, float, float]:
    """Return the least loss by trying everything, the plan's, and the rough search's."""
    snapshot, surfaces, n_days, (hours, rolls, known) = problem(number)
    drawn = responses(snapshot, seed=number, n_draws=N_DRAWS)
    setting, _ = settle(snapshot, surfaces, drawn, seed=number, horizon=n_days)
    height = HEIGHT if known else float("nan")
    groups, start = [], 0
    for greens in snapshot.groups.values():
        rows = tuple(range(start, start + len(greens)))
        groups.append(Tiny(rows, height, STEP, 3.25))
        start += len(greens)
    best = best_of_all(setting, groups, rolls_week=rolls, interval=2, hours=np.full(n_days, hours))
    plan = plan_week(snapshot, surfaces, drawn, seed=number, horizon=n_days)
    rough = plan_week(snapshot, surfaces, drawn, seed=number, horizon=n_days, all_plans=0)
    assert plan.proven and not rough.proven
    assert breaches(snapshot, plan.advised.lines) == ()
    return best, plan.advised.loss, rough.advised.loss


PROBLEMS = range(32)


@pytest.mark.parametrize("number", PROBLEMS)
def test_no_plan_is_better(number: int) -> None:
    # origin: every schedule enumerated by tests/advise/naive.py
    best, plan, rough = least(number)
    assert plan == pytest.approx(best, abs=1e-9)
    assert rough >= best - 1e-9


def test_the_search_for_larger_problems_finds_the_same() -> None:
    gaps = sorted(rough - best for best, _, rough in map(least, PROBLEMS))
    assert sum(gap < 1e-9 for gap in gaps) >= 29, gaps[-5:]
    assert gaps[-1] < 0.1


@pytest.mark.parametrize("number", range(3))
def test_sand_verticut_and_brush_too(number: int) -> None:
    # origin: every pair of days tried and judged by the path of work, not by the search's model
    rng = np.random.default_rng(100 + number)
    minutes = {"mow": 20, "roll": 15, "topdress": 40, "verticut": 30, "brush": 10}
    snapshot = course_of(
        {"A": 2}, height=None, crew=crew(("A",), **minutes), limits=(limit("labour_h_day", 1.0),)
    )
    surfaces = {
        "green_speed": surface_of(snapshot, "green_speed", rng.uniform(2.9, 3.1, 2)),
        "smoothness": surface_of(snapshot, "smoothness", rng.uniform(5.5, 6.5, 2), sd=0.4),
    }
    drawn = responses(snapshot, seed=number, n_draws=N_DRAWS)
    # effects turned about, so that disturbing pays at once and is really chosen
    effects = {
        key: replace(e, size=-5 * e.size) if key[0] in ("topdress", "verticut") else e
        for key, e in drawn.effects.items()
    }
    drawn = replace(drawn, effects=effects)
    setting, _ = settle(snapshot, surfaces, drawn, seed=number, horizon=2)
    units = build_units(setting)
    extras = [(0, 0, 0), (1, 0, 0), (2, 0, 0), (0, 1, 0), (0, 0, 1)]
    days = [(c, 0, r, *e) for c in range(3) for r in range(3) for e in extras]
    best = min(
        loss
        for plan in product(days, repeat=2)
        if (loss := _judged(setting, units, np.array(plan))) is not None
    )
    plan = plan_week(snapshot, surfaces, drawn, seed=number, horizon=2)
    assert plan.proven and plan.advised.loss == pytest.approx(best, abs=1e-9)
    assert {"topdress", "verticut"} & {x.practice for x in plan.advised.lines}


def _judged(setting: Setting, units: tuple[Unit, ...], plan: np.ndarray) -> float | None:
    """Return the loss of a plan of one unit, None where it breaks an hour or an interval."""
    done = pieces(setting, units, [plan])
    by_day = [sum(p.labour_h for p in done if p.day == day) for day in range(2)]
    twice = np.any((plan[0, 3:] > 0) & (plan[1, 3:] > 0))
    return None if max(by_day) > 1.0 + 1e-6 or twice else judged(setting, done).loss
