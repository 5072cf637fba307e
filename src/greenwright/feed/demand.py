"""Nitrogen by growth: a ceiling a month times growth potential, and what clippings take away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, isfinite

from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import evidence, look_up, value
from greenwright.weather import growth_potential

MONTHS = 12
CEILING_GRASSES: tuple[str, ...] = (
    "creeping bentgrass",
    "annual bluegrass",
    "bermudagrass",
    "bentgrass-bluegrass mix",
)
"""Grasses that a published ceiling speaks of; the last is the mean of the first two."""


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The most nitrogen in a month at growth potential 1 [g/m2], and the key it stands under."""

    g_m2: float
    key: str


@dataclass(frozen=True, slots=True)
class Ratio:
    """How measured clippings correct nitrogen.

    Args:
        value: wanted over measured yield, within its bounds; 1 where it is not used.
        raw: the same before the bounds, None without clippings or target.
        why: empty where it is used, else why not.
        bounded: whether the bounds changed it.
    """

    value: float
    raw: float | None
    why: str = ""
    bounded: bool = False


def nitrogen_ceiling(grass: str) -> Ceiling:
    """Return the most nitrogen in a month at growth potential 1.

    Args:
        grass: as in the record.

    Raises:
        UnknownKey: no ceiling is published for that grass; the course is asked.

    >>> nitrogen_ceiling("bentgrass-bluegrass mix").g_m2
    2.5
    """
    key = f"nitrogen.ceiling.{grass.strip().lower().replace('-', '_').replace(' ', '_')}"
    if key not in evidence():
        raise UnknownKey(
            f"no monthly nitrogen ceiling is published for {grass}",
            expected=", ".join(CEILING_GRASSES),
            do="Enter n_month_g_m2 for these greens: it is then taken as the ceiling",
        )
    return Ceiling(value(key), key)


def nitrogen_by_month(t_mean_c: Sequence[float], n_max: float, grass: str) -> tuple[float, ...]:
    """Return nitrogen by month [g/m2]: ceiling times growth potential of the monthly mean.

    Args:
        t_mean_c: mean air temperature of each of twelve months [degC].
        n_max: most nitrogen in a month at growth potential 1, 0..10 [g/m2].
        grass: a grass of the record, or c3 | c4.

    Valid for: an upper envelope; light, water and humidity are not in it.

    Raises:
        BadInput: not twelve temperatures, or a ceiling outside its range.

    >>> round(sum(nitrogen_by_month([20.0] * 12, 2.0, "c3")), 6)
    24.0
    """
    if len(t_mean_c) != MONTHS:
        raise BadInput(
            f"{len(t_mean_c)} monthly temperatures", where="t_mean", expected="12, January first"
        )
    if not isfinite(n_max) or not 0 <= n_max <= 10:
        raise BadInput(f"{n_max:g} g/m2 a month", where="n_max", expected="0 to 10 g/m2")
    return tuple(n_max * float(growth_potential(t, grass)) for t in t_mean_c)


def month_need(growth: float, ceiling: float, ratio: float, *, ahead_share: float) -> Estimate:
    """Return the nitrogen need of one month [g/m2].

    The spread joins the rule's own and, as far as the month is still to come, that of its weather.

    Args:
        growth: mean of the daily growth potential, 0..1.
        ceiling: at growth potential 1 [g/m2].
        ratio: correction by clippings.
        ahead_share: share of the month's days that were not seen, 0..1.
    """
    centre = ceiling * growth * ratio
    unseen = ceiling * ratio * value("feed.growth_sd") * ahead_share
    sd = hypot(centre * value("feed.nitrogen_cv"), unseen)
    return bounded_below(normal_estimate(centre, sd, "g/m2", basis="model"))


def total(parts: Sequence[Estimate]) -> Estimate:
    """Return the sum of estimates whose errors go together: the same rule makes all of them."""
    centre, sd = sum(p.value for p in parts), sum(p.sd for p in parts)
    return bounded_below(normal_estimate(centre, sd, "g/m2", basis="model"))


def bounded_below(held: Estimate) -> Estimate:
    """Return an estimate of an amount: nothing below nought."""
    return Estimate(
        max(held.value, 0.0),
        held.unit,
        held.sd,
        max(held.low, 0.0),
        max(held.high, 0.0),
        held.level,
        held.n,
        held.basis,
    )


def clippings_nitrogen(
    volume_ml_m2: float, grass: str = "", leaf_n_pct: float | None = None
) -> tuple[float, float]:
    """Return dry mass and nitrogen [g/m2] of a volume of fresh loose clippings.

    Args:
        volume_ml_m2: volume for an area, at least 0 [mL/m2].
        grass: decides the dry mass of a litre.
        leaf_n_pct: nitrogen of the dry clippings, 0..8 [%]; None = the default of the table.

    Raises:
        BadInput: a number outside its range.

    >>> [round(x, 3) for x in clippings_nitrogen(450.0, "creeping bentgrass")]
    [27.0, 1.08]
    """
    held = value("clippings.leaf_n_default") if leaf_n_pct is None else leaf_n_pct
    if not isfinite(volume_ml_m2) or volume_ml_m2 < 0:
        raise BadInput(f"a clipping volume of {volume_ml_m2:g}", expected="0 or more mL/m2")
    if not 0 <= held <= 8:
        raise BadInput(f"{held:g} % nitrogen in leaves", expected="0 to 8 % of dry matter")
    dry = volume_ml_m2 / 1000 * value(dry_mass_key(grass))
    return dry, dry * held / 100


def dry_mass_key(grass: str) -> str:
    """Return the evidence key of the dry mass of a litre of a grass's clippings."""
    key = f"clippings.dry_mass.{grass.strip().lower().replace('-', '_').replace(' ', '_')}"
    return key if key in evidence() else "clippings.dry_mass.default"


def growth_ratio(
    wanted_ml_m2: float | None, measured_ml_m2: float | None, *, growth: float, suspended: str = ""
) -> Ratio:
    """Return how clippings correct nitrogen: wanted over measured yield, within its bounds.

    Args:
        wanted_ml_m2, measured_ml_m2: yield of one mowing [mL/m2]; None = not known.
        growth: growth potential of the days measured, 0..1; low growth suspends the ratio.
        suspended: why clippings are low for another reason (regulator, drought, disease).

    Evidence keys: clippings.ratio_clamp, clippings.ratio_min_growth.

    >>> growth_ratio(15.0, 5.0, growth=0.9).value
    1.5
    """
    if wanted_ml_m2 is None or not measured_ml_m2:
        missing = "no clippings were measured" if wanted_ml_m2 else "no target for clippings"
        return Ratio(1.0, None, missing)
    raw = wanted_ml_m2 / measured_ml_m2
    if suspended:
        return Ratio(1.0, raw, suspended)
    if growth < value("clippings.ratio_min_growth"):
        return Ratio(1.0, raw, "it is too cold or too hot for growth to tell")
    ends = look_up("clippings.ratio_clamp").value
    held = min(max(raw, ends["low"]), ends["high"])  # type: ignore[index,call-overload]
    return Ratio(held, raw, bounded=held != raw)
