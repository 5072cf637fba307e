"""What players will say: the complaints to expect from a surface."""

from greenwright.golfers.complaints import (
    COMPLAINT_KEYS,
    chance_of_any,
    complaint_rate,
    expected_complaints,
)

__all__ = ["COMPLAINT_KEYS", "chance_of_any", "complaint_rate", "expected_complaints"]
