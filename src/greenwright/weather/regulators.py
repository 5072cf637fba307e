"""Growth regulators by degree days: how much is left, and whether growth may come back."""

from __future__ import annotations

from dataclasses import dataclass

from greenwright.base.errors import BadInput
from greenwright.base.evidence import evidence, look_up, value

STATES: tuple[str, ...] = ("suppressed", "fading", "rebound risk", "worn off", "not known")


@dataclass(frozen=True, slots=True)
class Regulator:
    """One active on one grass, by degree days over its own base.

    Args:
        active, grass: what it holds for.
        base_c: base temperature of its degree days [degC].
        half_life, half_low, half_high: degree days in which half of it is gone, and its range.
        reapply_gdd: until there growth is held back [degC.d]; None = no source says.
        rebound_gdd: from there growth may be more than without [degC.d]; None = no source says.
        evidence_keys: what it rests on.
    """

    active: str
    grass: str
    base_c: float
    half_life: float | None
    half_low: float | None
    half_high: float | None
    reapply_gdd: float | None
    rebound_gdd: float | None
    evidence_keys: tuple[str, ...]

    def state(self, gdd: float) -> str:
        """Return one of STATES for degree days since it was applied."""
        _not_negative(gdd)
        if self.reapply_gdd is None:
            return "not known"
        if gdd < self.reapply_gdd:
            return "suppressed"
        if gdd >= value("regulator.worn_off_gdd"):
            return "worn off"
        if self.rebound_gdd is not None and gdd >= self.rebound_gdd:
            return "rebound risk"
        return "fading"

    def left(self, gdd: float) -> tuple[float, float, float] | None:
        """Return the share left, with its range by the half-life's; None without a half-life."""
        if self.half_life is None:
            return None
        low = self.half_low or self.half_life
        high = self.half_high or self.half_life
        return (
            part_left(gdd, self.half_life),
            part_left(gdd, low),
            part_left(gdd, high),
        )


def regulator_of(
    active: str, grass: str, *, half_life_gdd: float | None = None
) -> Regulator | None:
    """Return what is known of an active on a grass, or None where nothing is.

    A number for one grass is never used for another; a mixture of bentgrass and bluegrass has
    none of its own.

    Args:
        active: common name of the active ingredient.
        grass: of the record's vocabulary.
        half_life_gdd: the material's own [degC.d]; before that of the evidence table.

    Source keys: regulator.<active>.<grass>.*

    >>> regulator_of("trinexapac-ethyl", "creeping bentgrass").reapply_gdd
    200.0
    >>> regulator_of("trinexapac-ethyl", "zoysiagrass") is None
    True
    """
    stem = f"regulator.{_key(active)}.{_key(grass)}"
    if f"{stem}.base_c" not in evidence():
        return None
    used = [f"{stem}.{part}" for part in _PARTS if f"{stem}.{part}" in evidence()]
    held = {key.rsplit(".", 1)[1]: look_up(key) for key in used}
    life = held.get("half_life_gdd")
    own = half_life_gdd is not None
    return Regulator(
        active,
        grass,
        value(f"{stem}.base_c"),
        half_life_gdd if own else life.value if life else None,  # type: ignore[arg-type]
        None if own or life is None else life.low,
        None if own or life is None else life.high,
        value(f"{stem}.reapply_gdd") if "reapply_gdd" in held else None,
        value(f"{stem}.rebound_gdd") if "rebound_gdd" in held else None,
        tuple(used),
    )


_PARTS = ("base_c", "half_life_gdd", "reapply_gdd", "rebound_gdd")


def _key(name: str) -> str:
    return "_".join(name.strip().lower().replace("-", " ").split())


def part_left(degree_days: float, half_life: float) -> float:
    """Return the share of an active that is left after degree days: 0.5^(gdd / half-life).

    Args:
        degree_days: since it was applied [degC.d], over the model's base.
        half_life: degree days in which half of it is gone [degC.d].

    Raises:
        BadInput: degree days under 0 or a half-life that is not over 0.

    >>> round(part_left(200.0, 116.0), 4)
    0.3027
    """
    _not_negative(degree_days)
    if not half_life > 0:
        raise BadInput(f"a half-life of {half_life:g} degree days", expected="more than 0")
    return 0.5 ** (degree_days / half_life)


def top_up(rate: float, degree_days: float, half_life: float) -> float:
    """Return what brings the rest back to a full rate [unit of the rate]: R (1 - part left).

    Arithmetic, not permission: the label's rate, interval and yearly limit come first.

    >>> round(top_up(7.0, 100.0, 116.0), 3)
    3.149
    """
    if rate < 0:
        raise BadInput(f"a rate of {rate:g}", expected="0 or more", where="rate")
    return rate * (1 - part_left(degree_days, half_life))


def _not_negative(degree_days: float) -> None:
    if not degree_days >= 0:
        raise BadInput(f"{degree_days:g} degree days", expected="0 or more", where="degree_days")
