"""What players notice, say and miss: three answers, never blended.

``feedback`` (a course's own remarks) is imported from its module, as it brings scipy with it.
"""

from greenwright.golfers.complaints import (
    COMPLAINT_KEYS,
    chance_of_any,
    complaint_rate,
    expected_complaints,
)
from greenwright.golfers.consistency import (
    Spread,
    spread_from_pair,
    spread_from_range,
    spread_from_sd,
)
from greenwright.golfers.notice import (
    WorstPair,
    any_two_notice,
    notice_belief,
    notice_chance,
    notice_keys,
    pair_notice,
    worst_pair,
)
from greenwright.golfers.telling import putts_to_tell, rounds_to_tell

__all__ = [
    "COMPLAINT_KEYS",
    "Spread",
    "WorstPair",
    "any_two_notice",
    "chance_of_any",
    "complaint_rate",
    "expected_complaints",
    "notice_belief",
    "notice_chance",
    "notice_keys",
    "pair_notice",
    "putts_to_tell",
    "rounds_to_tell",
    "spread_from_pair",
    "spread_from_range",
    "spread_from_sd",
    "worst_pair",
]
