"""How small a p-value a comparison can ever reach, before anyone starts it."""

from __future__ import annotations

from math import comb

from greenwright.base.errors import BadInput


def smallest_p_two_groups(treated: int, control: int) -> float:
    """Return the smallest two-sided randomisation p of a two-group comparison.

    Under complete randomisation each of C(treated + control, treated) layouts is equally likely,
    and the observed one has a mirror image as extreme only where the groups are equal in size.

    Args:
        treated, control: number of greens in each group, at least 1.

    Returns:
        A probability, 0..1.

    Raises:
        BadInput: a group is empty.

    >>> round(smallest_p_two_groups(3, 3), 2)
    0.1
    """
    if treated < 1 or control < 1:
        raise BadInput(
            "a comparison needs at least one green in each group",
            where=f"{treated} against {control}",
            do="Leave at least one green alone.",
        )
    mirror = 2 if treated == control else 1
    return min(1.0, mirror / comb(treated + control, treated))


def smallest_p_sign_flip(pairs: int) -> float:
    """Return the smallest two-sided p of a paired (crossover) comparison by sign flips.

    Args:
        pairs: number of greens that had both treatments, at least 1.

    Returns:
        A probability, 0..1.

    Raises:
        BadInput: there is no pair.

    >>> smallest_p_sign_flip(5)
    0.0625
    """
    if pairs < 1:
        raise BadInput("a paired comparison needs at least one green", where=f"{pairs} pairs")
    return min(1.0, 2.0 / 2**pairs)
