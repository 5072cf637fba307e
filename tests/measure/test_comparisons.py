"""Today against other days and greens: by hand, against the surface, against draws."""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.errors import UnknownKey
from greenwright.base.values import Reading
from greenwright.measure import Comparisons, compared, comparisons, surface
from greenwright.measure import surveying as surveying_room
from tests.measure.invented import day, reading, record

GREENS = ("1", "2", "3", "4")


def diary(
    levels: dict[str, float], days: int = 25, *, drop: float = 0.0, kind: str = "green_speed"
) -> list[Reading]:
    """Each green read at four spots every day; the last day lower by ``drop``."""
    rng, rows = np.random.default_rng(3), []
    for t in range(days):
        for green, level in levels.items():
            for spot in "ABCD":
                value = level - (drop if t == days - 1 else 0) + 0.02 * rng.standard_normal()
                rows.append(reading(kind, value, date=day(t), green=green, station=spot))
    return rows


LEVELS = {"1": 2.5, "2": 2.7, "3": 2.9, "4": 3.3}


def of(rows: list[Reading], quantity: str = "green_speed", **more: object) -> Comparisons:
    on = max(r.date for r in rows)
    found = comparisons(record(rows, greens=GREENS, on=on, **more), quantity)
    assert found is not None
    return found


def test_nothing_read_nothing_compared() -> None:
    assert comparisons(record([]), "smoothness") is None
    with pytest.raises(UnknownKey, match="bounce"):
        comparisons(record([]), "bounce")


def test_a_fall_since_yesterday_is_found() -> None:
    one = of(diary(LEVELS, drop=0.3))
    # planted: 0.3 m on the last day, against yesterday and against the 14 days before alike
    assert one.yesterday.value == pytest.approx(-0.3, abs=0.04)
    assert one.lately.value == pytest.approx(-0.3, abs=0.04)
    assert all(e.value == pytest.approx(-0.3, abs=0.07) for e in one.per_green_yesterday)
    assert one.yesterday.high < 0


def test_lately_is_the_mean_of_fourteen_days() -> None:
    """Planted: a steady climb of 1 cm a day. By hand: today less the mean of 1 to 14 ago, 7.5."""
    rows = []
    for t in range(30):
        for green in GREENS:
            for spot in "ABCD":
                value = 2.5 + 0.01 * t
                rows.append(reading("green_speed", value, date=day(t), green=green, station=spot))
    one = of(rows)
    assert one.lately.value == pytest.approx(0.075, abs=0.015)
    assert one.yesterday.value == pytest.approx(0.01, abs=0.01)


def test_against_the_others_by_hand() -> None:
    one = of(diary(LEVELS))
    # by hand: 3.3 - (2.5 + 2.7 + 2.9) / 3 = 0.6; 2.5 - (2.7 + 2.9 + 3.3) / 3 = -0.467
    assert one.against_others[3].value == pytest.approx(0.6, abs=0.06)
    assert one.against_others[0].value == pytest.approx(-0.467, abs=0.06)


def test_a_resting_green_is_compared_with_those_in_play() -> None:
    one = of(diary(LEVELS), resting=("4",))
    # by hand: 3.3 - (2.5 + 2.7 + 2.9) / 3 = 0.6, and 2.5 - (2.7 + 2.9) / 2 = -0.3
    assert one.against_others[3].value == pytest.approx(0.6, abs=0.06)
    assert one.against_others[0].value == pytest.approx(-0.3, abs=0.06)
    assert one.in_play == (True, True, True, False)


def test_consistency_by_hand() -> None:
    held = of(diary(LEVELS)).consistency
    assert held is not None
    # by hand: sd of 2.5, 2.7, 2.9, 3.3; range 0.8; gaps .2 .4 .8 .2 .6 .4, median 0.4
    assert held.sd.value == pytest.approx(np.std([2.5, 2.7, 2.9, 3.3], ddof=1), abs=0.05)
    assert held.range.value == pytest.approx(0.8, abs=0.09)
    assert held.pair.value == pytest.approx(0.4, abs=0.06)
    assert held.range.low < 0.8 < held.range.high


def test_one_green_has_no_consistency_and_no_others() -> None:
    rows = [reading("green_speed", 2.7, date=day(t)) for t in range(9)]
    found = comparisons(record(rows, greens=("1",), on=day(8)), "green_speed")
    assert found is not None
    assert found.consistency is None
    assert (found.against_others[0].value, found.against_others[0].sd) == (0, 0)
    assert found.draws(5, 1).shape == (5, 1)


def test_levels_are_the_surface_and_nothing_is_fitted_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    snapshot = record(diary(LEVELS, 10), greens=GREENS, on=day(9))
    fits, real = [], surveying_room.fit_pooled

    def counting(*args: object, **more: object) -> object:
        fits.append(1)
        return real(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(surveying_room, "fit_pooled", counting)
    one = comparisons(snapshot, "green_speed")
    assert one is not None
    assert len(fits) == 1
    levels = surface(snapshot, "green_speed")
    assert levels is not None
    assert one.levels.per_green == levels.per_green
    again = compared(levels)
    assert len(fits) == 2  # the surface's own
    assert again.yesterday == one.yesterday
    assert (one.quantity, one.unit, one.on, one.greens) == ("green_speed", "m", day(9), GREENS)


@pytest.mark.parametrize("quantity", ["green_speed", "smoothness", "clippings"])
def test_draws_agree_with_the_estimates(quantity: str) -> None:
    scale = {"green_speed": 1.0, "smoothness": 2.6, "clippings": 5.0}[quantity]
    kind = "smoothness_score" if quantity == "smoothness" else quantity
    rows = diary({g: v * scale for g, v in LEVELS.items()}, 15, kind=kind)
    one = of(rows, quantity)
    today = one.draws(20_000, 3)
    assert today.shape == (20_000, 4)
    mean = today.mean(axis=0)
    expected = one.levels.mean if quantity != "smoothness" else np.clip(one.levels.mean, 0, 10)
    assert mean == pytest.approx(expected, rel=0.02)
    for told, drawn in (
        (one.yesterday, one.yesterday_draws(20_000, 3)),
        (one.lately, one.lately_draws(20_000, 3)),
    ):
        assert drawn.mean() == pytest.approx(told.value, abs=0.05 * told.sd + 1e-3)
        assert drawn.std() == pytest.approx(told.sd, rel=0.05)


def test_draws_of_one_seed_belong_together() -> None:
    one = of(diary(LEVELS, 10))
    assert np.array_equal(one.draws(50, 7), one.draws(50, 7))
    assert not np.array_equal(one.draws(50, 7), one.draws(50, 8))
    joint, weights = one.levels.joint, one.levels.playing
    now, then = joint.cov[:4, :4], joint.cov[:4, 4:8]
    # by hand: cov(today, today - yesterday) of two weighted means of a joint normal
    shared = weights @ (now - then) @ weights
    expected = shared / (one.levels.course.sd * one.yesterday.sd)
    high = one.draws(40_000, 7) @ weights
    found = np.corrcoef(high, one.yesterday_draws(40_000, 7))[0, 1]
    assert found == pytest.approx(expected, abs=0.02)


def test_nobody_reads_above_ten() -> None:
    rows = [reading("smoothness_score", 10.0, date=day(t), green=g)
            for t in range(12) for g in GREENS]  # fmt: skip
    one = of(rows, "smoothness")
    drawn = one.draws(2000, 1)
    assert drawn.max() <= 10.0
    # both days are at the end of the scale as far as one can tell
    assert one.yesterday.low < 0.2 and one.yesterday.high > -0.2
    assert one.yesterday.sd < one.levels.day_sd * 1.2
    assert one.consistency is not None
    assert one.consistency.range.value < 1.5
