"""Did it work: comparisons judged by a room that does not know who made the forecast."""

from greenwright.verify.randomisation import smallest_p_sign_flip, smallest_p_two_groups

__all__ = ["smallest_p_sign_flip", "smallest_p_two_groups"]
