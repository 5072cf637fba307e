"""The manager keeps to his own rules, and his rule makes the trap it is meant to make."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from greenwright.simulate import Manager, Simulated, World, course
from greenwright.simulate.site import GROUPS


def bench(made: Simulated) -> np.ndarray:
    """Bench heights as mown, days x groups; nan where not mown."""
    heights = np.full((len(made.acts), 3), np.nan)
    for index, acts in enumerate(made.acts):
        for act in acts:
            if act.practice == "mow":
                heights[index, int(made.stage.site.group[act.greens[0]])] = act.amount
    return heights


def slower_before(made: Simulated) -> tuple[float, float]:
    """May to September: how much faster rolled green-days were before the work, and after."""
    truth = made.truth
    months = np.array([day.month for day in truth.days])
    season = (months >= 5) & (months <= 9)
    rolled = truth.rolled[season] > 0
    before, after = truth.unworked_speed[season], truth.quantities["green_speed"][season]
    return (
        float(before[rolled].mean() - before[~rolled].mean()),
        float(after[rolled].mean() - after[~rolled].mean()),
    )


def test_heights_are_sensible_and_steps_small_and_rare(demo: Simulated) -> None:
    heights = bench(demo)
    assert np.nanmin(heights) >= 3.0 and np.nanmax(heights) <= 4.0  # mm
    for group in range(3):
        mown = np.flatnonzero(~np.isnan(heights[:, group]))
        steps = np.diff(heights[mown, group])
        assert np.abs(steps).max() <= 0.13  # common practice: 0.005 in
        changed = mown[1:][np.abs(steps) > 1e-9]
        assert np.diff(changed).min() >= 3  # days between changes; common practice
    assert len(np.unique(heights[~np.isnan(heights)])) >= 6


def test_rolls_keep_the_weekly_limit(demo: Simulated) -> None:
    caps = {row["green"]: int(row["value"]) for row in demo.tables["limits"]
            if row["limit"] == "rolls_week"}  # fmt: skip
    weeks = np.lib.stride_tricks.sliding_window_view(demo.truth.rolled, 7, axis=0).sum(axis=-1)
    for green, group in enumerate(demo.stage.site.group):
        assert weeks[:, green].max() <= caps[GROUPS[group]]


def test_nobody_mows_or_rolls_on_frost(demo: Simulated) -> None:
    frosts = 0
    for index, acts in enumerate(demo.acts):
        if demo.stage.weather[index + 1].t_min_c < 0:
            frosts += 1
            assert not any(act.practice in ("mow", "roll") for act in acts)
    assert frosts > 5


def test_a_days_labour_fits_the_stated_hours(demo: Simulated) -> None:
    hours: dict[str, float] = {}
    cored = {row["start"] for row in demo.tables["calendar"] if row["kind"] == "renovation"}
    for row in demo.tables["work"]:
        if row["status"] == "done" and row.get("labour_h"):
            hours[row["date"]] = hours.get(row["date"], 0) + float(row["labour_h"])
    # h, the course's own limits.csv; coring days bring extra hands
    allowed = {row["weekday"]: float(row["value"]) for row in demo.tables["limits"]
               if row["limit"] == "labour_h_day"}  # fmt: skip
    for day, worked in hours.items():
        name = date.fromisoformat(day).strftime("%a").lower()
        assert day in cored or worked <= allowed.get(name, allowed[""]), day
    assert sum(hours.values()) / len(hours) > 3


def test_routine_work_comes_at_its_interval_and_not_before_events(demo: Simulated) -> None:
    events = [e.start for e in demo.stage.events if e.kind == "event"]
    for practice, least, quiet in (("topdress", 14, 5), ("verticut", 28, 7), ("core", 300, 21)):
        for group in range(3):
            green = demo.stage.site.members(group)[0]
            days = [demo.truth.days[i] for i, acts in enumerate(demo.acts)
                    if any(a.practice == practice and green in a.greens for a in acts)]  # fmt: skip
            assert len(days) >= 2, practice
            gaps = [(b - a).days for a, b in pairwise(days)]
            assert min(gaps) >= least
            assert not any(0 <= (e - d).days <= quiet for e in events for d in days)


def test_groups_are_not_all_disturbed_together(demo: Simulated) -> None:
    together = [
        {int(demo.stage.site.group[a.greens[0]]) for a in acts if a.practice == "topdress"}
        for acts in demo.acts
    ]
    assert not any(len(groups) == 3 for groups in together)


def test_before_an_event_the_greens_are_faster(demo: Simulated) -> None:
    truth = demo.truth
    days = {day: i for i, day in enumerate(truth.days)}
    speeds = truth.quantities["green_speed"].mean(axis=1)
    events = [days[e.start] for e in demo.stage.events if e.kind == "event" and e.start in days]
    usual = [speeds[i + k] for i in events for k in (-20, -16, 16, 20) if i + k < len(speeds)]
    assert np.mean(speeds[events]) > np.mean(usual) + 0.05


def test_need_makes_rolled_days_slower_beforehand() -> None:
    managers = {
        "coin": Manager.coin_flip(),
        "demo": Manager(),
        "driven": Manager.coin_flip().driven(1.5),
    }
    gaps = {
        name: np.mean([slower_before(course(s, world=World(manager=m))) for s in (1, 2, 3)], axis=0)
        for name, m in managers.items()
    }
    assert abs(gaps["coin"][0]) < 0.02
    assert gaps["demo"][0] < -0.02
    assert gaps["driven"][0] < -0.08
    # the plain comparison is right for the coin and off for the driven; the truth is 0.16 m
    assert gaps["coin"][1] == pytest.approx(0.16, abs=0.025)
    assert gaps["driven"][1] < 0.7 * 0.16


def test_a_coin_flip_takes_no_notice_of_the_surface() -> None:
    flip = Manager.coin_flip()
    world = World(greens=6, days=40, manager=flip)
    slow = replace(world, manager=replace(flip, wanted_speed_m=9.0))
    assert course(5, world=world).acts == course(5, world=slow).acts
    driven = replace(world, manager=flip.driven(1.0))
    eager = replace(world, manager=replace(flip.driven(1.0), wanted_speed_m=9.0))
    assert course(5, world=eager).truth.rolled.sum() > course(5, world=driven).truth.rolled.sum()
