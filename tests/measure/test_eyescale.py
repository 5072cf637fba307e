"""Readings of an eye scale as intervals, counts and logs, and the one estimate they give."""

from __future__ import annotations

import math

import numpy as np
import pytest

from greenwright.base.evidence import look_up
from greenwright.base.values import Reading
from greenwright.measure import Surface, share_in_band, surface
from greenwright.measure.eyescale import eye_keys, eye_soundings
from greenwright.measure.families import families, family
from greenwright.measure.sounding import COUNTS, DEVIATIONS
from greenwright.measure.soundings import observations, sites_of
from tests.measure.invented import day, reading, record

SMOOTH = family("smoothness")
PROFILE = "profile_vertical"


def of(rows: list[Reading], *, on: int = 0, **more: object) -> Surface:
    found = surface(record(rows, on=day(on), **more), "smoothness")
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("value", "low", "high"),
    # by hand: half a step of 0.5 either way; open at both ends of 0 to 10
    [(7.5, 7.25, 7.75), (10.0, 9.75, math.inf), (0.0, -math.inf, 0.25)],
)
def test_a_score_is_an_interval(value: float, low: float, high: float) -> None:
    one = eye_soundings([reading("smoothness_score", value)], SMOOTH)[0]
    assert (one.low, one.high) == (low, high)
    assert one.sited
    assert one.noise == 1.0


def test_whole_point_writers_have_whole_point_intervals() -> None:
    rows = [reading("smoothness_score", v, date=day(v)) for v in (5, 6, 7, 8, 9, 10, 7, 8)]
    one = eye_soundings(rows, SMOOTH)
    assert {round(s.high - s.low, 9) for s in one if math.isfinite(s.high)} == {1.0}


def test_the_mean_of_several_scores_is_a_plain_number() -> None:
    one = eye_soundings([reading("smoothness_score", 10.0, n=4)], SMOOTH)[0]
    assert not one.sited
    # by hand: 0.5^2 / 12 / 4
    assert one.variance == pytest.approx(0.25 / 48)


def test_a_count_is_binomial_with_its_own_link() -> None:
    one = eye_soundings([reading("hops", 3, n=10)], SMOOTH)[0]
    assert (one.hits, one.tries, one.noise) == (7, 10, 0.0)
    assert (one.centre, one.per) == pytest.approx((5.0, 1.8))  # evidence
    assert one.rater == ("ana", "counts")


def test_an_instrument_is_calibrated_by_its_link_alone() -> None:
    one = eye_soundings([reading(PROFILE, 1.0, instrument="sled")], SMOOTH)[0]
    assert (one.rater, one.shift, one.sited) == (None, f"{PROFILE} sled", False)


def test_arrays_say_how_each_was_seen() -> None:
    rows = [
        reading("smoothness_score", 10.0),
        reading("hops", 2, n=8, observer="ben"),
        reading(PROFILE, 0.8, instrument="sled"),
        reading("smoothness_score", 6.0, observer=""),
    ]
    found = eye_soundings(rows, SMOOTH)
    arrays, observers = observations(found, ("1",), on=day(0))
    sites = sites_of(found)
    assert observers == ("ana",)
    # ana, nobody, and ben's counting after them; the sled is nobody's
    assert arrays.rater.tolist() == [0, 2, -1, 1]
    assert arrays.noise.tolist() == [1, 0, 0, 1]
    assert sites.interval.tolist() == [0, 3]
    assert sites.count.tolist() == [1]
    assert arrays.variance[0] == 0.0
    assert arrays.variance[2] == found[2].variance
    assert arrays.variance[1] + sites.start[1] == pytest.approx(found[1].variance)


def test_ordinal_families_are_the_two_eye_scales() -> None:
    assert [q for q, f in families().items() if f.ordinal] == ["smoothness", "trueness_score"]
    assert {k for k in SMOOTH.kinds if k in COUNTS} == {"hops", "clean_rolls"}
    assert set(DEVIATIONS) <= set(SMOOTH.kinds)


def test_every_key_used_is_in_the_evidence_table() -> None:
    for key in eye_keys({"smoothness_score", "hops", PROFILE}):
        assert look_up(key).key == key
    assert eye_keys({"smoothness_score"}) == {"measure.observer_scatter_log_sd"}


def smooth_days(truth: np.ndarray, seed: int = 1) -> list[Reading]:
    """One score a day of each of three greens by ana, noise 0.6, half points."""
    rng, rows = np.random.default_rng(seed), []
    for t, level in enumerate(truth):
        for g in ("1", "2", "3"):
            value = np.clip(np.round(2 * (level + 0.6 * rng.standard_normal())) / 2, 0, 10)
            rows.append(reading("smoothness_score", float(value), date=day(t), green=g))
    return rows


def sled_days(truth: np.ndarray, first: int, *, at: float = 1.3, per: float = -0.4) -> list:
    """One pass a day of each green: log deviation at + per (level - 7), planted."""
    rng, rows = np.random.default_rng(7), []
    for t, level in enumerate(truth, start=first):
        for g in ("1", "2", "3"):
            log = at + per * (level - 7) + 0.05 * rng.standard_normal()
            rows.append(
                reading(PROFILE, math.exp(log), date=day(t), green=g, unit="mm/m",
                        instrument="sled", observer="")
            )  # fmt: skip
    return rows


def test_an_instrument_linked_by_days_with_both_speaks_on_its_own_later() -> None:
    """Planted: greens fall from 8 to 6 after the scores stop; only the sled still reads."""
    both = np.concatenate([np.linspace(7, 8, 15), np.linspace(8, 7, 15)])
    later = np.linspace(6.9, 6.0, 8)
    linked = [*smooth_days(both), *sled_days(both, 0), *sled_days(later, 30)]
    one = of(linked, on=37)
    blind = of(smooth_days(both), on=37)
    assert one.course.low < 6.0 < one.course.high
    assert one.course.value < blind.course.value - 0.4
    assert {c.kind for c in one.contributions} == {"smoothness_score", PROFILE}


def test_an_instrument_never_linked_tells_changes_but_hardly_the_level() -> None:
    falling = np.linspace(8, 6, 20)
    one = of(sled_days(falling, 0, at=2.5), on=19)
    assert one.course.high - one.course.low > 3.0  # points
    assert one.course_change_7d.value < -0.2


def test_contributions_add_up_and_name_every_kind() -> None:
    truth = np.full(20, 7.5)
    rows = [*smooth_days(truth), *(reading("hops", 2, n=10, date=day(t)) for t in range(20))]
    one = of(rows, on=19)
    assert [c.kind for c in one.contributions] == ["smoothness_score", "hops"]
    assert sum(c.share for c in one.contributions) == pytest.approx(1.0)
    assert [c.n for c in one.contributions] == [60, 20]
    alone = of(smooth_days(truth), on=19)
    assert alone.contributions[0].share == pytest.approx(1.0)
    speed = surface(record([reading("green_speed", 2.7)]), "green_speed")
    assert speed is not None
    assert [(c.kind, c.share) for c in speed.contributions] == [("green_speed", 1.0)]


def test_more_counts_bring_more() -> None:
    def share(n: int) -> float:
        counts = [reading("hops", n // 5, n=n, date=day(t)) for t in range(20)]
        one = of([*smooth_days(np.full(20, 7.5)), *counts], on=19)
        return {c.kind: c.share for c in one.contributions}["hops"]

    assert share(40) > share(5)


def test_scores_piled_up_at_ten_say_at_least_ten() -> None:
    """A course that everybody gives 10: sure to be near the top, no surer than that."""
    rows = [reading("smoothness_score", 10.0, date=day(t), green=g, observer=who)
            for t in range(15) for g in "123" for who in ("ana", "ben")]  # fmt: skip
    top = of(rows, on=14)
    near = of([Reading(**{**_cells(r), "value": 9.0}) for r in rows], on=14)
    assert top.course.high == 10.0
    assert top.course.value > near.course.value + 0.4
    assert share_in_band(top, 9.0, None).course > 0.9
    # the belief itself goes on above the end of the scale; what is told does not
    assert top.mean.max() > 10.0
    assert all(0 <= e.low <= e.value <= e.high <= 10 for e in top.per_green)


def _cells(row: Reading) -> dict[str, object]:
    return {name: getattr(row, name) for name in row.__dataclass_fields__}


def test_a_record_with_wild_readings_says_that_the_model_does_not_fit() -> None:
    rng, rows = np.random.default_rng(2), []
    for t in range(60):
        for g in "123":
            wild = rng.random() < 0.04
            value = 2.7 + (0.9 if wild else 0.04) * rng.standard_normal()
            rows.append(reading("green_speed", max(value, 0.5), date=day(t), green=g))
    wild, calm = (
        surface(record(r, on=day(59)), "green_speed")
        for r in (rows, [r for r in rows if abs(r.value - 2.7) < 0.15])
    )
    assert wild is not None and calm is not None
    assert "of 180 readings of green speed lie more than 3" in wild.misfit
    assert calm.misfit == ""
