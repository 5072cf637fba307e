"""Which kinds of reading inform a quantity, and what is believed before any is seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from greenwright.base.errors import UnknownKey
from greenwright.base.evidence import log_sd
from greenwright.base.evidence import value as number
from greenwright.stats import HyperPrior, PoolingPrior

_LEAST_LOG_SD = 0.4
_UNUSED = HyperPrior(1.0, 0.1)

_PARTS: Mapping[str, str] = MappingProxyType(
    {
        "unit_sd": "green_sd",
        "day_sd": "day_sd",
        "unit_day_sd": "green_day_sd",
        "noise_sd": "noise_sd",
        "rater_sd": "observer_sd",
        "day_correlation": "correlation_days",
        "unit_correlation": "correlation_days",
    }
)
"""Hyper-parameter of the pooled model -> last word of its evidence key."""

_SPEED_KEYS: Mapping[str, str] = MappingProxyType(
    {
        "unit_sd": "measure.sd_between_greens",
        "day_sd": "measure.day_sd",
        "unit_day_sd": "measure.green_day_sd",
        "noise_sd": "measure.set_sd",
        "rater_sd": "measure.observer_sd_speed",
        "spot_sd": "measure.sd_within_green",
        "day_correlation": "measure.correlation_days",
        "unit_correlation": "measure.green_day_correlation_days",
    }
)


@dataclass(frozen=True, slots=True)
class Family:
    """One quantity's way of being read.

    Args:
        quantity: key of base.tables.quantities().
        evidence: first words of its evidence keys.
        kinds: kinds of reading that inform it, the direct one first.
        scale: plain | log, where beliefs are near normal.
        by_method: methods are kept apart.
        usual_method: what a reading without a method counts as, where methods are kept apart.
        rater: who is calibrated first, observer | instrument (the other where unnamed).
        odd_key: evidence of the difference that makes a green stand apart.
        ordinal: scores of an eye scale that pile up at its ends.
    """

    quantity: str
    evidence: str
    kinds: tuple[str, ...]
    odd_key: str
    scale: str = "plain"
    by_method: bool = False
    usual_method: str = ""
    rater: str = "observer"
    ordinal: bool = False


_TABLE: tuple[Family, ...] = (
    Family(
        "green_speed",
        "measure.green_speed",
        ("roll_distance", "green_speed"),
        "notice.speed_threshold",
    ),
    Family(
        "smoothness",
        "measure.smoothness",
        ("smoothness_score", "roll_score", "hops", "clean_rolls", "profile_vertical"),
        "notice.smoothness_threshold",
        ordinal=True,
    ),
    Family(
        "trueness_score",
        "measure.trueness_score",
        ("trueness_score", "roll_score", "drifts", "clean_rolls"),
        "notice.trueness_threshold",
        ordinal=True,
    ),
    Family(
        "trueness",
        "measure.trueness_log",
        ("end_offset", "path_wander"),
        "measure.odd.trueness_log",
        scale="log",
        rater="instrument",
    ),
    Family(
        "firmness",
        "measure.firmness_log",
        ("firmness",),
        "measure.odd.firmness_log",
        scale="log",
        by_method=True,
        rater="instrument",
    ),
    Family(
        "moisture", "measure.moisture", ("moisture",), "measure.odd.moisture", rater="instrument"
    ),
    Family(
        "clippings",
        "measure.clippings_log",
        ("clippings",),
        "measure.odd.clippings_log",
        scale="log",
    ),
    Family(
        "height_of_cut",
        "measure.height_of_cut",
        ("height_of_cut",),
        "measure.odd.height_of_cut",
        by_method=True,
        usual_method="bench",
        rater="instrument",
    ),
    Family("quality", "measure.quality", ("quality",), "measure.odd.quality"),
)


def families() -> Mapping[str, Family]:
    """Return the families by quantity."""
    return MappingProxyType({family.quantity: family for family in _TABLE})


def family(quantity: str) -> Family:
    """Return the family of a quantity.

    Raises:
        UnknownKey: the quantity is not estimated from readings here.
    """
    try:
        return families()[quantity]
    except KeyError:
        raise UnknownKey(
            f"{quantity!r} is not estimated from readings",
            where="measure",
            expected=", ".join(families()),
        ) from None


def prior_keys(of: Family) -> dict[str, str]:
    """Return hyper-parameter -> evidence key, and level_sd (and level where there is one)."""
    parts = {name: f"{of.evidence}.{last}" for name, last in _PARTS.items()}
    keys = dict(_SPEED_KEYS) if of.quantity == "green_speed" else parts
    keys |= {"slow_sd": "measure.slow.share", "slow_correlation": "measure.slow.days"}
    keys["level_sd"] = f"{of.evidence}.level_sd"
    if of.evidence != "measure.firmness_log":
        keys["level"] = f"{of.evidence}.level"
    return keys


def pooling_prior(of: Family, *, typical: float) -> PoolingPrior:
    """Return the prior of a family.

    Args:
        typical: mean of the readings on the family's scale, the level where the evidence
            table names none (a firmness method's own scale).
    """
    keys = prior_keys(of)
    level = number(keys["level"]) if "level" in keys else typical
    hyper = {k: _hyper(key) for k, key in keys.items() if k not in ("level", "level_sd")}
    share, day = hyper["slow_sd"], hyper["day_sd"]
    hyper["slow_sd"] = HyperPrior(share.median * day.median, share.log_sd)
    return PoolingPrior(level, number(keys["level_sd"]), {"spot_sd": _UNUSED, **hyper})


def _hyper(key: str) -> HyperPrior:
    return HyperPrior(number(key), max(_LEAST_LOG_SD, log_sd(key)))
