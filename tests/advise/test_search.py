"""The walk, its model of the loss, and the integer program, each against something plainer."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from greenwright.advise.judge import judged
from greenwright.advise.model import UnitModel, losses, shift_without_height, unit_model
from greenwright.advise.plan import settle
from greenwright.advise.program import choose
from greenwright.advise.search import extras_sets, neighbours, walk
from greenwright.advise.unit import CUTS, EXTRAS, ROLLS, SAND, STEP, Unit, allowed, spaced
from greenwright.advise.units import Setting, build_units
from greenwright.advise.work import pieces
from greenwright.base.values import Work
from greenwright.respond import responses
from tests.advise.hands import TODAY, course_of, crew, event, limit, surfaces_of

ALL = {"mow": 20, "roll": 15, "topdress": 30, "verticut": 25, "brush": 10}


def made(n_days: int, **more: object) -> tuple[Setting, tuple[Unit, ...], list[UnitModel]]:
    """Return a setting of two groups with its units and models."""
    held: dict[str, object] = {
        "crew": crew(("A", "B"), **ALL),
        "limits": (limit("rolls_week", 4),),
        "calendar": (event(3),),
        **more,
    }
    record = course_of({"A": 2, "B": 1}, **held)  # type: ignore[arg-type]
    drawn = responses(record, seed=2, n_draws=30)
    setting, _ = settle(record, surfaces_of(record, 2.6, 7.0), drawn, seed=2, horizon=n_days)
    units = build_units(setting)
    quiet = shift_without_height(setting.world)
    return setting, units, [unit_model(u, setting.world, quiet) for u in units]


def random_plans(unit: Unit, n: int, seed: int) -> np.ndarray:
    """Return random schedules that the unit allows."""
    rng = np.random.default_rng(seed)
    plans = rng.integers(unit.least, unit.most + 1, size=(40 * n, *unit.least.shape))
    plans[:, :, STEP] *= rng.random(plans.shape[:2]) < 0.15
    plans[:, :, STEP] *= plans[:, :, CUTS] > 0
    plans[:, :, ROLLS] *= rng.random(plans.shape[:2]) < 0.4
    for column in EXTRAS:
        plans[:, :, column] *= rng.random(plans.shape[:2]) < 0.1
    return plans[allowed(unit, plans)][:n]


def test_the_model_s_loss_is_the_judge_s() -> None:
    # origin: the judge builds the whole path of work and shifts it day by day
    setting, units, models = made(14)
    for number in range(4):
        plans = [random_plans(u, 1, 10 * number + i)[0] for i, u in enumerate(units)]
        mine = sum(losses(m, p[None])[0] for m, p in zip(models, plans, strict=True))
        assert mine == pytest.approx(judged(setting, pieces(setting, units, plans)).loss, abs=1e-9)


def test_many_schedules_equal_one_by_one() -> None:
    _, units, models = made(10)
    plans = random_plans(units[0], 25, 3)
    assert len(plans) == 25
    assert losses(models[0], plans) == pytest.approx([losses(models[0], p[None])[0] for p in plans])


def test_a_full_walk_finds_every_schedule() -> None:
    _, units, models = made(3)
    unit = units[0]
    none = np.zeros((3, 3), dtype=np.int64)
    got = walk(models[0], np.zeros_like(unit.room), extras=none, width=10**6, merge=False)
    choices = [
        [(c, s, r) for c in range(3) for s in ((-1, 0, 1) if c else (0,)) for r in range(3)]
    ] * 3
    plans = np.zeros((len(choices[0]) ** 3, 3, 6), dtype=np.int64)
    plans[:, :, :3] = np.array(list(product(*choices)))
    wanted = plans[allowed(unit, plans)]
    assert got.complete
    assert {p.tobytes() for p in got.plans} == {p.tobytes() for p in wanted}


def test_merging_loses_no_best_schedule() -> None:
    _, units, models = made(4)
    none = np.zeros((4, 3), dtype=np.int64)
    prices = np.full_like(units[0].room, 0.02)
    every = walk(models[0], prices, extras=none, width=10**6, merge=False)
    merged = walk(models[0], prices, extras=none, width=10**6)
    assert merged.priced[0] == pytest.approx(every.priced[0], abs=1e-12)
    assert len(merged.plans) < len(every.plans)


def test_the_walk_s_cost_is_the_model_s() -> None:
    _, units, models = made(6)
    prices = np.zeros_like(units[0].room)
    got = walk(models[0], prices, extras=np.zeros((6, 3), dtype=np.int64), width=50)
    assert got.priced == pytest.approx(losses(models[0], got.plans), abs=1e-9)


def test_a_narrow_walk_comes_close() -> None:
    _, units, models = made(7)
    prices, none = np.zeros_like(units[0].room), np.zeros((7, 3), dtype=np.int64)
    best = walk(models[0], prices, extras=none, width=10**6).priced[0]
    narrow = walk(models[0], prices, extras=none, width=100).priced[0]
    assert best <= narrow <= 1.02 * best


def test_neighbours_are_allowed_and_one_change_away() -> None:
    _, units, _ = made(7)
    plan = random_plans(units[0], 1, 5)[0]
    found = neighbours(units[0], plan)
    assert len(found) > 50 and allowed(units[0], found).all()
    assert ((found != plan).sum(axis=(1, 2)) <= 3).all()


def test_sets_of_extras_keep_their_intervals() -> None:
    _, units, _ = made(9)
    sets, whole = extras_sets(units[0], most=10**5)
    assert whole
    sanded = sets[:, :, 0] > 0
    assert spaced(sanded, 7, -100).all()  # elicited: seven days between sandings
    assert sanded.sum(axis=1).max() == 2 and (sets[:, :, 1] > 0).sum(axis=1).max() == 1
    assert not extras_sets(units[0], most=10)[1]


def test_a_sanding_just_done_bars_the_next() -> None:
    sanded = Work(date=TODAY, green="all", practice="topdress", amount=0.4)
    cut = Work(date=TODAY, green="all", practice="mow", amount=3.6)
    _, units, _ = made(9, work=(sanded, cut))
    plan = units[0].rest()
    plan[0, 5, SAND] = 1
    late = units[0].rest()
    late[0, 6, SAND] = 1
    # by hand: tomorrow is one day after; the seventh day ahead is seven days after
    assert not allowed(units[0], plan)[0] and allowed(units[0], late)[0]


def test_the_program_picks_the_best_mix_that_fits() -> None:
    losses_ = [np.array([5.0, 3.0, 1.0]), np.array([4.0, 2.0, 0.0])]
    uses = [np.array([[0.0], [1.0], [2.0]]), np.array([[0.0], [1.0], [3.0]])]
    # by hand: of the nine mixes within 3 hours: 1 + 2 = 3 (2 h + 1 h) beats 5 + 0 = 5
    found = choose(losses_, uses, np.array([3.0]))
    assert found is not None and found.picks == (2, 1) and found.loss == 3.0
    assert found.bound <= found.loss
    free = choose(losses_, uses, np.array([np.inf]))
    assert free is not None and free.picks == (2, 2)


def test_the_program_equals_every_mix_tried() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        losses_ = [rng.random(12) for _ in range(3)]
        uses = [rng.integers(0, 5, (12, 4)).astype(float) for _ in range(3)]
        room = rng.integers(3, 9, 4).astype(float)
        fitting = [
            sum(own[i] for own, i in zip(losses_, mix, strict=True))
            for mix in product(range(12), repeat=3)
            if np.all(sum(u[i] for u, i in zip(uses, mix, strict=True)) <= room)
        ]
        found = choose(losses_, uses, room)
        assert (found is None) == (not fitting)
        if found is not None:
            assert found.loss == pytest.approx(min(fitting), abs=1e-9)


def test_no_mix_fits_no_choice() -> None:
    assert choose([np.ones(2)], [np.full((2, 1), 4.0)], np.array([3.0])) is None


def test_the_third_of_the_leaf() -> None:
    setting, units, _ = made(9)
    unit = units[0]
    plan = unit.rest()
    plan[0, [0, 8], CUTS] = 1
    # by hand: 0.8 mm/d x growth 0.72 (15.5 degC) for 8 days is 4.6 mm over a bench of 3.6 mm:
    # 4.6 of 8.2 mm is more than a third
    assert not allowed(unit, plan)[0]
    plan[0, 4, CUTS] = 1  # by hand: four days are 2.3 of 5.9 mm, still more than a third
    assert not allowed(unit, plan)[0]
    plan[0, [2, 6], CUTS] = 1  # two days: 1.15 of 4.75 mm
    assert allowed(unit, plan)[0]
    assert setting.world.path.growth[0, -1] == pytest.approx(0.715, abs=0.01)


def test_a_gap_that_the_hours_force_does_not_bar_the_next_cut() -> None:
    from_, until = TODAY, TODAY.replace(day=TODAY.day + 8)
    _, units, _ = made(9, limits=(limit("no_work", None, from_=from_, until=until),))
    plan = units[0].rest()
    plan[0, 8, CUTS] = 1
    assert allowed(units[0], plan)[0]
