"""How many days ahead a question is asked to look."""

from __future__ import annotations

from greenwright.base.errors import BadInput


def days_ahead_of(given: float | str, *, most: int) -> int:
    """Return how many days an option asks to look ahead.

    Args:
        given: as typed.
        most: how far the question can look [d].

    Raises:
        BadInput: no whole number, or one outside 1 to most.

    >>> days_ahead_of("7", most=14)
    7
    """
    try:
        count = int(given)
        if count == float(given) and 1 <= count <= most:
            return count
    except (TypeError, ValueError, OverflowError):
        pass
    raise BadInput(
        f"{given!r} is no number of days to look ahead",
        where="days",
        expected=f"a whole number from 1 to {most}",
    )
