"""What is held in memory: so many, the longest unasked gone first, joined where both matter."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest

from greenwright.base.errors import BadInput
from greenwright.desk.held import Held
from greenwright.desk.span import days_ahead_of


def test_the_longest_unasked_goes_first() -> None:
    held = Held[str, int](2)
    held.keep("a", 1)
    held.keep("b", 2)
    assert held.get("a") == 1  # asked again: now b is the longest unasked
    held.keep("c", 3)
    assert [held.get(key) for key in "abc"] == [1, None, 3] and len(held) == 2


def test_a_value_takes_the_place_of_the_old_one_or_is_joined_to_it() -> None:
    held = Held[str, tuple[int, ...]](2)
    assert held.keep("a", (1,)) == (1,)
    assert held.keep("a", (2,)) == (2,)
    join: Callable[[tuple[int, ...], tuple[int, ...]], tuple[int, ...]] = lambda x, y: x + y  # noqa: E731
    assert held.keep("a", (3,), joined=join) == (2, 3)
    assert held.keep("b", (4,), joined=join) == (4,)


def test_all_is_let_go_of() -> None:
    held = Held[int, int](3)
    held.keep(1, 1)
    held.clear()
    assert held.get(1) is None and len(held) == 0


def test_many_at_once_lose_nothing() -> None:
    held = Held[str, frozenset[int]](1)
    with ThreadPoolExecutor(8) as pool:
        both = frozenset.union
        list(pool.map(lambda k: held.keep("all", frozenset({k}), joined=both), range(200)))
    assert held.get("all") == frozenset(range(200))


@pytest.mark.parametrize("given", [1, 14, "7", 3.0])
def test_days_ahead_are_read_as_typed(given: float | str) -> None:
    assert days_ahead_of(given, most=14) == int(float(given))


@pytest.mark.parametrize("given", [0, 15, 2.5, "soon", float("nan"), float("inf")])
def test_no_days_ahead_says_what_was_expected(given: float | str) -> None:
    with pytest.raises(BadInput, match="number of days to look ahead") as said:
        days_ahead_of(given, most=14)
    assert "1 to 14" in str(said.value) and "days" in str(said.value)
