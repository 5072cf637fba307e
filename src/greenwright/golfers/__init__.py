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
from greenwright.golfers.holing import (
    HOLING_DISTANCES_M,
    Holing,
    holing_chance,
    holing_estimates,
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
from greenwright.golfers.players import (
    PLAYERS,
    custom_player,
    fit_player,
    fit_players,
    player,
    player_keys,
)
from greenwright.golfers.putting_round import PuttsPerRound, putts_per_round
from greenwright.golfers.stroke import Player
from greenwright.golfers.telling import putts_to_tell, rounds_to_tell

__all__ = [
    "COMPLAINT_KEYS",
    "HOLING_DISTANCES_M",
    "PLAYERS",
    "Holing",
    "Player",
    "PuttsPerRound",
    "Spread",
    "WorstPair",
    "any_two_notice",
    "chance_of_any",
    "complaint_rate",
    "custom_player",
    "expected_complaints",
    "fit_player",
    "fit_players",
    "holing_chance",
    "holing_estimates",
    "notice_belief",
    "notice_chance",
    "notice_keys",
    "pair_notice",
    "player",
    "player_keys",
    "putts_per_round",
    "putts_to_tell",
    "rounds_to_tell",
    "spread_from_pair",
    "spread_from_range",
    "spread_from_sd",
    "worst_pair",
]
