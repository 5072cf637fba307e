"""The smallest p-values: counted by hand, and against a full enumeration."""

from __future__ import annotations

from itertools import combinations, product

import pytest

from greenwright.base.errors import BadInput
from greenwright.verify import smallest_p_sign_flip, smallest_p_two_groups


@pytest.mark.parametrize(
    ("treated", "control", "p"),
    [
        (3, 3, 2 / 20),  # by hand: C(6, 3) = 20 layouts, two as extreme
        (4, 4, 2 / 70),  # by hand: C(8, 4) = 70
        (5, 5, 2 / 252),  # by hand: C(10, 5) = 252
        (2, 4, 1 / 15),  # by hand: C(6, 2) = 15, no mirror image
        (1, 1, 1.0),  # by hand: both layouts are as extreme
    ],
)
def test_two_groups_by_hand(treated: int, control: int, p: float) -> None:
    assert smallest_p_two_groups(treated, control) == pytest.approx(p, rel=1e-12)


def test_sign_flips_by_hand() -> None:
    assert smallest_p_sign_flip(5) == 2 / 32  # by hand: 2^5 flips, two as extreme
    assert smallest_p_sign_flip(6) == 2 / 64
    assert smallest_p_sign_flip(1) == 1.0


@pytest.mark.parametrize(("treated", "control"), [(3, 3), (2, 4), (3, 4)])
def test_two_groups_against_full_enumeration(treated: int, control: int) -> None:
    # the most separated data there can be: a clear gap, and nothing alike in size
    values = [10.0**k for k in range(treated + control)]
    units = range(len(values))

    def difference(chosen: tuple[int, ...]) -> float:
        rest = [values[i] for i in units if i not in chosen]
        return sum(values[i] for i in chosen) / treated - sum(rest) / control

    every = [difference(c) for c in combinations(units, treated)]
    best = difference(tuple(units)[-treated:])
    p = sum(abs(d) >= abs(best) - 1e-9 for d in every) / len(every)
    assert smallest_p_two_groups(treated, control) <= p + 1e-12


def test_sign_flips_against_full_enumeration() -> None:
    gains = [1.0, 2.0, 4.0, 8.0]
    sums = [
        sum(s * g for s, g in zip(signs, gains, strict=True))
        for signs in product((1, -1), repeat=4)
    ]
    p = sum(abs(total) >= sum(gains) for total in sums) / len(sums)
    assert smallest_p_sign_flip(4) == p


def test_nothing_to_compare_is_refused() -> None:
    with pytest.raises(BadInput, match="at least one green in each group"):
        smallest_p_two_groups(0, 3)
    with pytest.raises(BadInput, match="at least one green"):
        smallest_p_sign_flip(0)
