"""Work that is forgotten or misdated: as often as said, only where said, and nothing else moves."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest

from greenwright.simulate import Act, Crew, Manager, Simulated, World, course
from greenwright.simulate.clerk import written
from greenwright.simulate.site import GROUPS, draw_site

SIZE = World(greens=9, days=200, manager=Manager.coin_flip())
FEW = [0.05, 0.1, 0.2]


@cache
def played(seed: int = 1, **options: object) -> Simulated:
    return course(seed, world=replace(SIZE, crew=Crew(**options)))  # type: ignore[arg-type]


def done(made: Simulated, practice: str) -> Counter[tuple[str, str]]:
    """Passes as written, by date and green."""
    names, group = made.truth.greens, made.stage.site.group
    found: Counter[tuple[str, str]] = Counter()
    for row in made.tables["work"]:
        if row["status"] == "done" and row["practice"] == practice:
            cell = row["green"]
            if cell == "all":
                greens = list(names)
            elif cell in GROUPS:
                greens = [n for n, g in zip(names, group, strict=True) if GROUPS[g] == cell]
            else:
                greens = cell.split(";")
            found.update((row["date"], green) for green in greens)
    return found


def truly(made: Simulated, practice: str) -> Counter[tuple[str, str]]:
    """Acts as they were done, by date and green; today's are those done by the reading."""
    return Counter(
        (made.truth.days[i].isoformat(), made.truth.greens[g])
        for i, acts in enumerate(made.acts)
        for act in acts
        if act.practice == practice
        for g in act.greens
    )


def test_all_is_written_under_its_day_when_nobody_is_careless() -> None:
    made = played()
    for practice in ("roll", "mow"):
        assert done(made, practice) == truly(made, practice)


@pytest.mark.parametrize("share", FEW)
def test_the_share_unwritten_is_the_share_said(share: float) -> None:
    made = played(unwritten=share, careless_with=("roll",))
    was, kept = truly(made, "roll"), done(made, "roll")
    assert not kept - was  # nothing is made up
    n = was.total()
    missing = 1 - kept.total() / n
    # a binomial share lies within four of its sds
    assert n > 400 and abs(missing - share) < 4 * np.sqrt(share * (1 - share) / n)
    assert done(made, "mow") == truly(made, "mow")


def test_whole_rows_are_forgotten_together() -> None:
    made = played(unwritten=0.3, unwritten_whole=True, careless_with=("mow",))
    was, kept = truly(made, "mow"), done(made, "mow")
    by_group = [
        {(day, green) in kept for green in (made.truth.greens[i] for i in members)}
        for day in {day for day, _ in was}
        for members in (made.stage.site.members(g) for g in range(3))
    ]
    assert all(len(kinds) == 1 for kinds in by_group)  # all of a group's row, or none
    gone = np.mean([kinds == {False} for kinds in by_group])
    assert gone == pytest.approx(0.3, abs=4 * np.sqrt(0.21 / len(by_group)))


def test_every_practice_is_forgotten_when_none_is_named() -> None:
    made = played(unwritten=0.2)
    for practice in ("roll", "mow", "hole_change"):
        assert done(made, practice).total() < 0.95 * truly(made, practice).total()


@pytest.mark.parametrize("share", [0.1, 0.3])
def test_the_share_misdated_is_the_share_said(share: float) -> None:
    made = played(misdated=share, careless_with=("hole_change",))
    was, kept = truly(made, "hole_change"), done(made, "hole_change")
    last = made.stage.today.isoformat()
    was = Counter({k: v for k, v in was.items() if k[0] != last})
    days = sorted({day for day, _ in was})
    moved = [day for day in days if (day, "1") not in kept]
    # of 57 rows, within four sds
    assert abs(len(moved) / len(days) - share) < 4 * np.sqrt(share * (1 - share) / len(days))
    away = {day for day, _ in kept} - set(days)
    assert away and all(
        min(abs((date.fromisoformat(a) - date.fromisoformat(d)).days) for d in days) <= 2
        for a in away
    )
    assert kept.total() == was.total()
    assert done(made, "mow") == truly(made, "mow")


def test_no_date_leaves_the_record() -> None:
    made = played(misdated=0.9)
    dates = [row["date"] for row in made.tables["work"] if row["status"] == "done"]
    assert min(dates) >= made.stage.first.isoformat()
    assert max(dates) <= made.stage.today.isoformat()


def test_what_is_forgotten_changes_neither_the_greens_nor_the_readings() -> None:
    plain, careless = played(), played(unwritten=0.3, misdated=0.2)
    assert careless.acts == plain.acts
    assert careless.tables["readings"] == plain.tables["readings"]
    for quantity, values in plain.truth.quantities.items():
        np.testing.assert_array_equal(careless.truth.quantities[quantity], values)


def test_an_act_all_of_whose_greens_are_forgotten_is_not_written() -> None:
    site = draw_site(replace(SIZE, crew=Crew(unwritten=0.999)), np.random.default_rng(1))
    assert written(site, (Act("roll", (0, 1)),), np.random.default_rng(1)) == ()


@pytest.mark.parametrize("name", ["unwritten", "misdated"])
@pytest.mark.parametrize("share", [-0.1, 1.0])
def test_what_is_no_share_is_refused(name: str, share: float) -> None:
    with pytest.raises(ValueError, match=f"{name}: .* is no share"):
        World(crew=Crew(**{name: share}))  # type: ignore[arg-type]
