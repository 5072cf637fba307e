"""Growth regulators as an answer tells them: by day, and where each use stands."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.desk.answering import Row
from greenwright.desk.weathering.told import row
from greenwright.weather.applied import Applied
from greenwright.weather.given import GivenDay
from greenwright.weather.regulators import top_up


def left_rows(uses: Sequence[Applied], days: Sequence[GivenDay]) -> list[Row]:
    """Return the part left of each use by day, above its threshold once growth may come back."""
    made = []
    for one in uses:
        if one.regulator is None:
            continue
        for day in days:
            gdd = one.gdd_at(day.weather.date)
            left = one.regulator.left(gdd) if gdd is not None else None
            if left is None:
                continue
            state = one.regulator.state(gdd)
            more = {"low": left[1], "high": left[2], "state": state, "total": gdd}
            fading = None if state == "not known" else state != "suppressed"
            made.append(
                row(day, "regulator_left", left[0], "1", above_threshold=fading, **more)
                | {"green": _whose(one), "active": one.active}
            )
    return made


def use_rows(uses: Sequence[Applied], on: date) -> list[Row]:
    """Return where each use stands on a day: state, degree days, what would top it up."""
    return [_use(one, on) for one in uses]


def evidence_of(uses: Sequence[Applied]) -> frozenset[str]:
    """Return the evidence keys behind the uses."""
    keys = {key for one in uses if one.regulator for key in one.regulator.evidence_keys}
    return frozenset(keys | {"regulator.worn_off_gdd"}) if keys else frozenset()


def _use(one: Applied, on: date) -> Row:
    held, gdd = one.regulator, one.gdd_at(on)
    left = held.left(gdd) if held and gdd is not None else None
    rate = one.amount if one.amount and left and held else None
    return {
        "greens": list(one.greens),
        "material": one.material,
        "active": one.active,
        "grass": one.grass,
        "applied": one.on,
        "amount": one.amount,
        "unit": one.unit,
        "base_c": held.base_c if held else None,
        "degree_days": gdd,
        "state": one.state_at(on),
        "left": left and {"value": left[0], "low": left[1], "high": left[2]},
        "half_life": held.half_life if held else None,
        "reapply_gdd": held.reapply_gdd if held else None,
        "rebound_gdd": held.rebound_gdd if held else None,
        "fades": one.first_at(held.reapply_gdd) if held else None,
        "rebounds": one.first_at(held.rebound_gdd) if held else None,
        "top_up": top_up(rate, gdd, held.half_life) if rate and gdd is not None else None,
    }


def _whose(one: Applied) -> str:
    return one.greens[0] if len(one.greens) == 1 else ";".join(one.greens)
