"""The greens are dealt fairly into groups, and spelled as the record spells them."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from greenwright.simulate import World
from greenwright.simulate.site import GROUPS, Site, draw_site

SITE = draw_site(World(), np.random.default_rng(2))


def unspelled(cell: str, site: Site) -> set[int]:
    """Read a green cell back, from the format's words: all, a group, keys joined with ;."""
    if cell == "all":
        return set(range(len(site.names)))
    if cell in GROUPS:
        return {i for i, g in enumerate(site.group) if GROUPS[g] == cell}
    return {site.names.index(key) for key in cell.split(";")}


@pytest.mark.parametrize("n", [3, 6, 9, 18, 27])
def test_groups_are_equal_and_mixed_along_the_course(n: int) -> None:
    site = draw_site(World(greens=n), np.random.default_rng(1))
    assert set(Counter(site.group.tolist()).values()) == {n // 3}
    assert sorted(i for g in range(3) for i in site.members(g)) == list(range(n))


@pytest.mark.parametrize("n", [4, 5, 7, 19])
def test_odd_numbers_of_greens_leave_no_group_empty(n: int) -> None:
    site = draw_site(World(greens=n), np.random.default_rng(1))
    counts = Counter(site.group.tolist())
    assert set(counts) == {0, 1, 2} and max(counts.values()) - min(counts.values()) <= 1


@given(chosen=st.sets(st.integers(0, 17), min_size=1))
def test_a_cell_read_back_names_the_same_greens(chosen: set[int]) -> None:
    assert unspelled(SITE.spell(tuple(chosen)), SITE) == chosen


@given(chosen=st.sets(st.integers(0, 17), min_size=1))
def test_parts_make_up_the_whole_once(chosen: set[int]) -> None:
    parts = SITE.parted(tuple(sorted(chosen)))
    assert sorted(i for part in parts for i in part) == sorted(chosen)
    whole = [part for part in parts if SITE.spell(part) in GROUPS]
    left = [part for part in parts if SITE.spell(part) not in (*GROUPS, "all")]
    assert len(left) <= 1 and len(parts) == len(whole) + len(left) + (len(chosen) == 18)


def test_cells_by_hand() -> None:
    a, b = SITE.members(0), SITE.members(1)
    assert SITE.spell(a) == "A" and SITE.spell(tuple(range(18))) == "all"
    assert SITE.spell((4, 0)) == "1;5"
    assert SITE.parted(tuple(sorted((*a, *b)))) == [a, b]
    assert SITE.parted((*a, b[0])) == [a, (b[0],)]


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_draws_are_of_this_world(seed: int) -> None:
    site = draw_site(World(), np.random.default_rng(seed))
    assert site.area_m2.min() >= 340 and site.area_m2.max() <= 680  # m2, stated window
    assert site.light.min() > 0.5 and site.light.max() <= 1
    # the stations of a green cancel, so that their mean is the green itself
    np.testing.assert_allclose(site.station_offset.sum(axis=1), 0)
    # stated: sd 0.8 %, cut at two sd
    assert np.abs(site.station_slope).max() <= 0.016
    for offset in ("smoothness", "quality", "moisture"):
        assert site.offsets[offset].mean() == pytest.approx(0, abs=1e-12)


def test_group_c_lies_on_soil_in_more_shade_and_runs_slower() -> None:
    sites = [draw_site(World(), np.random.default_rng(s)) for s in range(40)]
    soil = SITE.group == 2
    light = np.mean([site.light for site in sites], axis=0)
    speed = np.mean([site.offsets["green_speed"] for site in sites], axis=0)
    assert light[soil].max() < light[~soil].min()
    # stated: -0.06 m; each mean of 240 draws of sd 0.08 is known to 0.006
    assert speed[soil].mean() - speed[~soil].mean() == pytest.approx(-0.06, abs=0.02)
    assert all((s.field_capacity_pct[soil].mean() > 26) for s in sites)
