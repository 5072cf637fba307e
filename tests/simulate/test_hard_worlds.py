"""What makes a record hard to learn from: each option does what it says, and nothing when off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from greenwright.simulate import (
    Act,
    Crew,
    Jump,
    Manager,
    Observer,
    Simulated,
    Surface,
    World,
    course,
    difference,
)

SIZE = World(greens=9, days=150, manager=Manager.coin_flip())


def played(world: World, seed: int = 1) -> Simulated:
    return course(seed, world=world)


def crewed(**options: object) -> World:
    return replace(SIZE, crew=Crew(**options))  # type: ignore[arg-type]


def metres(row: Mapping[str, str]) -> float:
    value, unit = row["value"], row.get("unit")
    if unit:
        return float(value) * {"m": 1.0, "in": 0.0254}[unit]
    feet, inches = value.rstrip('"').split("'")
    return 0.0254 * (12 * int(feet) + int(inches))


def errors(made: Simulated) -> list[tuple[int, str, float]]:
    """Day, reader and error of each set of rolls both ways: read speed less true speed [m]."""
    ways: dict[tuple[str, ...], dict[str, list[float]]] = defaultdict(lambda: {"a": [], "b": []})
    for row in made.tables["readings"]:
        if row["kind"] == "roll_distance":
            key = (row["date"], row["green"], row["station"], row["observer"], row["time"])
            ways[key][row["direction"]].append(metres(row))
    found = []
    for (day, green, *_, who, _time), lengths in ways.items():
        a, b = (float(np.mean(lengths[way])) for way in "ab")
        index = (date.fromisoformat(day) - made.stage.first).days
        true = made.truth.quantities["green_speed"][index, made.truth.greens.index(green)]
        found.append((index, who, 2 * a * b / (a + b) - float(true)))
    return found


# --- the manager ----------------------------------------------------------------------------


def test_the_impression_is_the_surface_before_work_seen_with_his_error() -> None:
    made = played(replace(SIZE, manager=Manager.coin_flip().driven(1.0)))
    astray = made.truth.impression - made.truth.unworked_speed
    n = astray.size
    assert astray.std() == pytest.approx(0.08, rel=4 / np.sqrt(2 * n))  # stated sd, m
    assert abs(np.mean(astray[1:] * astray[:-1])) < 4 * 0.08**2 / np.sqrt(n)


def test_by_feel_what_misleads_him_lasts() -> None:
    made = played(replace(SIZE, manager=Manager.by_feel(), days=300))
    astray = (made.truth.impression - made.truth.unworked_speed)[10:]
    lag = np.corrcoef(astray[1:].ravel(), astray[:-1].ravel())[0, 1]
    assert lag == pytest.approx(0.7, abs=0.06)  # stated memory
    assert astray.std() == pytest.approx(0.08, rel=0.12)


def test_no_table_holds_the_impression() -> None:
    made = played(replace(SIZE, manager=Manager.by_feel()))
    morning = {f"{v:.2f}" for v in made.truth.impression[-1]}
    last = made.truth.days[-1].isoformat()
    lengths = [r for r in made.tables["readings"] if r["kind"] == "roll_distance"]
    assert not [r for r in lengths if r["date"] == last and r["observer"] == "manager"]
    assert morning and "impression" not in {k for c in made.columns.values() for k in c}


def test_the_stronger_the_need_the_more_the_work_follows_the_impression() -> None:
    ties = []
    for manager in (Manager.coin_flip(), Manager.coin_flip().driven(1.0), Manager.by_feel(2.5)):
        truth = played(replace(SIZE, manager=manager)).truth
        ties.append(np.corrcoef((truth.rolled > 0).ravel(), truth.impression.ravel())[0, 1])
    assert abs(ties[0]) < 0.1  # a coin does not look: 1,350 green-mornings, four of their sds
    assert ties[2] < ties[1] < -0.3


@pytest.mark.parametrize("need", [0.0, 1.5])
def test_a_sham_is_done_by_need_and_does_nothing(need: float) -> None:
    manager = replace(Manager.coin_flip(), sham="groom", sham_need=need)
    made = played(replace(SIZE, manager=manager))
    done = np.zeros(made.truth.unworked_speed.shape, dtype=bool)
    for index, acts in enumerate(made.acts):
        for act in acts:
            if act.practice == "groom":
                done[index, list(act.greens)] = True
    before = made.truth.unworked_speed
    gap = before[done].mean() - before[~done].mean()
    assert 0.1 < done.mean() < 0.7
    assert gap < -0.06 if need else abs(gap) < 0.03
    more = difference(made, 100, Act("groom", tuple(range(9)), "05:50"))
    assert all(np.array_equal(np.nan_to_num(v), np.zeros_like(v)) for v in more.values())
    assert any(row["practice"] == "groom" for row in made.tables["work"])


# --- the readers ----------------------------------------------------------------------------


def test_a_reader_who_drifts_drifts_by_so_much() -> None:
    team = (Observer("Ida", 0.0, 0.0, "cm", 0.5, length_drift_m_year=0.3),
            Observer("Bram", 0.0, 0.0, "cm", 0.5))  # fmt: skip
    made = played(replace(crewed(observers=team), days=400))
    slope = {}
    for who in ("Ida", "Bram"):
        days, wrong = zip(*[(d, e) for d, w, e in errors(made) if w == who], strict=True)
        slope[who] = 365 * np.polyfit(days, wrong, 1)[0]
    # sets scatter by about 0.07 m: the slope of 600 of them is known to 0.03 m a year
    assert slope["Ida"] == pytest.approx(0.3, abs=0.06)
    assert slope["Bram"] == pytest.approx(0.0, abs=0.06)


def test_lengths_can_be_rounded_as_coarsely_as_said() -> None:
    team = tuple(replace(o, length_step_m=0.1524) for o in Crew().observers)  # half a foot
    made = played(crewed(observers=team))
    lengths = [metres(r) for r in made.tables["readings"] if r["kind"] == "roll_distance"]
    steps = np.array(lengths) / 0.1524
    assert np.abs(steps - np.round(steps)).max() < 0.04  # 0.5 cm: what writing to the cm leaves
    assert len(set(np.round(steps))) > 4


def test_another_release_adds_to_every_length_from_its_day_on() -> None:
    made, plain = played(crewed(jump=Jump(75, 0.25))), played(crewed())
    gap = {(d, w, k): e for k, (d, w, e) in enumerate(errors(made))}
    was = {(d, w, k): e for k, (d, w, e) in enumerate(errors(plain))}
    early = [gap[key] - was[key] for key in gap if key[0] < 75]
    late = [gap[key] - was[key] for key in gap if key[0] >= 75]
    assert np.abs(early).max() == 0
    assert np.mean(late) == pytest.approx(0.25, abs=0.01)
    np.testing.assert_array_equal(
        made.truth.quantities["green_speed"], plain.truth.quantities["green_speed"]
    )


def test_heavy_tails_are_heavy_and_bounded() -> None:
    usual = np.array([e for *_, e in errors(played(crewed()))])
    heavy = np.array([e for *_, e in errors(played(crewed(set_tails=2.0, set_sd_m=0.04)))])

    def kurtosis(x: np.ndarray) -> float:
        return float(np.mean((x - x.mean()) ** 4) / x.var() ** 2)

    assert kurtosis(usual) < 4 < 8 < kurtosis(heavy)  # 3 for a normal
    assert np.abs(heavy).max() < 15 * 0.04 + 0.4


def test_odd_mornings_are_read_and_odd_greens_first() -> None:
    odd = played(replace(crewed(odd_pull=2.0), days=300))
    speed = odd.truth.quantities["green_speed"]
    away = np.array([speed[i] - speed[max(0, i - 14) : i].mean(axis=0) for i in range(1, 300)])
    read = np.zeros(speed.shape, dtype=bool)
    for day, green in {(r["date"], r["green"]) for r in odd.tables["readings"]
                       if r["kind"] == "roll_distance"}:  # fmt: skip
        index = (date.fromisoformat(day) - odd.stage.first).days
        read[index, odd.truth.greens.index(green)] = True
    read, mornings = read[1:], read[1:].any(axis=1)
    course_away = np.abs(away.mean(axis=1))
    assert course_away[mornings].mean() > 1.3 * course_away[~mornings].mean()
    some = mornings & (read.sum(axis=1) < 9)
    on_days = np.abs(away)[some]
    assert on_days[read[some]].mean() > on_days[~read[some]].mean() + 0.01
    weekdays = {odd.truth.days[i + 1].weekday() for i in np.flatnonzero(mornings)}
    assert len(weekdays) > 3  # not the fixed days of a crew that reads by the calendar


# --- the surface ----------------------------------------------------------------------------


def test_water_can_work_otherwise_in_the_shade() -> None:
    surface = Surface(shade_speed_per_moisture_pct=-0.03)
    made, plain = played(replace(SIZE, surface=surface)), played(SIZE)
    gap = made.truth.quantities["green_speed"] - plain.truth.quantities["green_speed"]
    wet = plain.truth.quantities["moisture"] - 20.0
    shaded = made.stage.site.light < 0.85
    assert 0 < shaded.sum() < 9
    # by hand: 0.03 m slower for each % over 20, in the shade only
    np.testing.assert_allclose(gap, -0.03 * wet * shaded, atol=1e-12)


@pytest.mark.parametrize("greens", [(), (0, 4)])
def test_a_surface_that_is_new_one_day_stays_new(greens: tuple[int, ...]) -> None:
    made = played(replace(SIZE, surface=Surface(jump=Jump(60, 0.3, greens))))
    gap = made.truth.quantities["green_speed"] - played(SIZE).truth.quantities["green_speed"]
    expected = np.zeros_like(gap)
    expected[60:, list(greens or range(9))] = 0.3
    np.testing.assert_allclose(gap, expected, atol=1e-12)
    # twin worlds keep the step: one roll more is worth what it is anywhere
    roll = difference(made, 80, Act("roll", tuple(range(9)), "06:00"))["green_speed"]
    assert roll[80].mean() == pytest.approx(0.16)  # the stated peak
