"""The scenarios: what carries over from today, what fades, and how far the days scatter."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from greenwright.advise.world import START, build_world
from greenwright.base.values import Snapshot, Target, Work
from greenwright.respond import Responses, curve, responses
from tests.advise.hands import TODAY, course_of, surface_of, surfaces_of

N = 4000


def roll(ago: int) -> Work:
    return Work(date=TODAY - timedelta(days=ago), green="all", practice="roll")


def world_of(record: Snapshot, **more: object):  # type: ignore[no-untyped-def]
    surfaces = more.pop("surfaces", None) or surfaces_of(record, 2.8, 7.0)
    drawn = more.pop("drawn", None) or responses(record, seed=1, n_draws=N)
    return build_world(record, surfaces, drawn, seed=1, horizon=5)  # type: ignore[arg-type]


def means(record: Snapshot, **more: object) -> np.ndarray:
    """Return the expected speed of the first green on the days ahead without any work."""
    world = world_of(record, **more)
    return world.levels(world.path, "green_speed").mean(axis=0)[0]


def cut_daily(record: Snapshot) -> tuple[Snapshot, Responses]:
    """Return a record and responses in which no leaf grows, so that only acts move the surface."""
    drawn = responses(record, seed=1, n_draws=N)
    return record, replace(drawn, leaf_mm_d=0 * drawn.leaf_mm_d)


def test_without_growth_or_past_work_today_stays() -> None:
    record, drawn = cut_daily(course_of({"A": 2}))
    # by hand: mirrored draws have the surface's own mean
    assert means(record, drawn=drawn) == pytest.approx([2.8] * 5, abs=1e-9)


def test_today_already_holds_this_morning_s_roll() -> None:
    base = course_of({"A": 2})
    record, drawn = cut_daily(replace(base, work=(*base.work, roll(0))))
    fading = curve(drawn, "roll", "green_speed", dose=1, days=[0, 1, 2, 3, 4, 5]).mean(axis=0)
    # by hand: 2.8 m read with the roll in it; tomorrow the roll is worth less by what has faded
    assert means(record, drawn=drawn) == pytest.approx(2.8 + fading[1:] - fading[0], abs=1e-9)


def test_a_roll_after_the_last_reading_is_still_to_come_in() -> None:
    base = course_of({"A": 2})
    record, drawn = cut_daily(replace(base, work=(*base.work, roll(0))))
    yesterday = TODAY - timedelta(days=1)
    read = {"green_speed": surface_of(record, "green_speed", [2.8, 2.8], last=yesterday)}
    left = curve(drawn, "roll", "green_speed", dose=1, days=[1]).mean()
    assert means(record, drawn=drawn, surfaces=read)[0] == pytest.approx(2.8 + left, abs=1e-9)


def test_a_lower_height_since_the_reading_counts() -> None:
    base = course_of({"A": 2}, height=4.0)
    lower = Work(date=TODAY, green="all", practice="mow", amount=3.75)
    work = tuple(w for w in base.work if w.date != TODAY)
    record, drawn = cut_daily(replace(base, work=(*work, lower)))
    yesterday = TODAY - timedelta(days=1)
    read = {"green_speed": surface_of(record, "green_speed", [2.8, 2.8], last=yesterday)}
    # published: 0.25 mm lower is 0.046875 m faster
    assert means(record, drawn=drawn, surfaces=read)[0] == pytest.approx(2.846875, abs=1e-4)


def test_uncut_leaf_slows_the_green_day_by_day() -> None:
    record = course_of({"A": 1})
    world = world_of(record)
    growth = world.path.growth[0, START]
    # by hand: 0.8 mm/d at full growth, 0.1875 m a mm (0.046875 m for 0.25 mm)
    lost = 0.1875 * world.responses.leaf_mm_d.mean() * growth
    assert -np.diff(means(record)) == pytest.approx([lost] * 4, rel=0.02)
    assert lost == pytest.approx(0.1875 * 0.8 * 0.715, rel=0.06)


def test_days_scatter_to_their_stationary_spread() -> None:
    record, drawn = cut_daily(course_of({"A": 2}))
    world = world_of(record, drawn=drawn)
    level = world.levels(world.path, "green_speed")[:, 0]
    # by hand: 0.08 sd of belief; day sd 0.1 (3 d), green-day 0.05 (1.5 d), slow 0.025 (40 d)
    for day in (1, 5):
        fast, own, slow = (1 - np.exp(-2 * day / d) for d in (3.0, 1.5, 40.0))
        wanted = 0.08**2 + 0.1**2 * fast + 0.05**2 * own + 0.025**2 * slow
        assert level[:, day - 1].var() == pytest.approx(wanted, rel=0.07)


def test_greens_share_the_day() -> None:
    record, drawn = cut_daily(course_of({"A": 2}))
    world = world_of(record, drawn=drawn)
    level = world.levels(world.path, "green_speed")[:, :, 4]
    shared = 0.1**2 * (1 - np.exp(-10 / 3)) + 0.025**2 * (1 - np.exp(-10 / 40))
    assert np.cov(level.T)[0, 1] == pytest.approx(shared, rel=0.12)  # by hand


def test_a_green_without_belief_takes_the_course_s_with_more_spread() -> None:
    record = course_of({"A": 3})
    read = surface_of(record, "green_speed", [2.7, 2.9, 2.8])
    two = replace(
        read, greens=("1", "2"), mean=read.mean[:2], cov=read.cov[:2, :2], last_read=(TODAY, TODAY)
    )
    drawn = cut_daily(record)[1]
    world = world_of(record, surfaces={"green_speed": two}, drawn=drawn)
    level = world.levels(world.path, "green_speed")[:, :, 0]
    assert level.mean(axis=0) == pytest.approx([2.7, 2.9, 2.8], abs=1e-6)
    assert level[:, 2].std() > level[:, 0].std()


def test_a_score_stays_on_its_scale() -> None:
    record = course_of({"A": 1})
    read = {"smoothness": surface_of(record, "smoothness", [9.9], sd=0.8)}
    world = world_of(record, surfaces=read)
    level = world.levels(world.path, "smoothness")
    assert level.max() <= 10.0 and level.min() >= 0.0


def test_targets_never_read_are_named() -> None:
    record = course_of({"A": 1}, targets=(Target(quantity="moisture", high=25.0),))
    world = world_of(record)
    assert world.missing == (("moisture", ""),)
    assert set(world.base) == {"green_speed", "smoothness"}


def test_quality_is_carried_by_the_height_since_its_reading() -> None:
    base = course_of({"A": 1}, height=4.0)
    lower = Work(date=TODAY, green="all", practice="mow", amount=3.5)
    work = tuple(w for w in base.work if w.date != TODAY)
    record = replace(base, work=(*work, lower))
    last = TODAY - timedelta(days=3)
    surfaces = surfaces_of(record, 2.8, 7.0) | {
        "quality": surface_of(record, "quality", [7.0], last=last)
    }
    # published: 0.7 rating a mm, so half a millimetre lower costs 0.35
    assert world_of(record, surfaces=surfaces).quality == pytest.approx([6.65], abs=1e-3)
    assert np.isnan(world_of(record).quality).all()


def test_same_seed_same_scenarios() -> None:
    record = course_of({"A": 2})
    one, two = world_of(record), world_of(record)
    assert all(np.array_equal(one.base[q], two.base[q]) for q in one.base)
