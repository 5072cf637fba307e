"""Is it the same within a margin, or at least no worse? Two one-sided tests."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import stdtr, stdtrit

from greenwright.base.errors import BadInput


@dataclass(frozen=True, slots=True)
class Within:
    """A difference held against a margin.

    Args:
        p_low: chance of such data were the true difference -margin or lower.
        p_high: the same were it +margin or higher.
        low, high: the interval that both tests together look at [unit].
    """

    p_low: float
    p_high: float
    low: float
    high: float
    level: float

    @property
    def alike(self) -> bool:
        """Tell whether it lies inside the margin on both sides."""
        return max(self.p_low, self.p_high) < 1 - self.level

    @property
    def no_worse(self) -> bool:
        """Tell whether it is not lower by more than the margin."""
        return self.p_low < 1 - self.level


def within_margin(
    value: float, se: float, df: float, *, margin: float, level: float = 0.95
) -> Within:
    """Return the two one-sided tests of a difference against a margin.

    Args:
        value, se: difference and its standard error [unit]; df: degrees of freedom.
        margin: largest difference that does not matter, above zero [unit].
        level: one-sided confidence of each test.

    Raises:
        BadInput: a margin or standard error that is not above zero.

    >>> within_margin(0.0, 1.0, 10.0, margin=2.0).alike
    True
    """
    if not (margin > 0 and se > 0):
        raise BadInput("a margin and a standard error above zero are needed", where="equivalence")
    reach = float(stdtrit(df, level)) * se
    return Within(
        p_low=float(stdtr(df, -(value + margin) / se)),
        p_high=float(stdtr(df, (value - margin) / se)),
        low=value - reach,
        high=value + reach,
        level=level,
    )
