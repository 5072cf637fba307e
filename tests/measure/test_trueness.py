"""From the record to T: end offsets, path wander, what they share, and the whole surface."""

from __future__ import annotations

import math

import numpy as np
import pytest

from greenwright.base.evidence import value as number
from greenwright.base.values import Reading, Snapshot
from greenwright.measure import surface
from greenwright.measure.trueness import MOTION_TRACE, TruenessSite, trueness_sites

from .invented import DAY, balls, day, reading, record

RHO_S = 0.2387  # m: rolling resistance times green speed


def rolls(rng: np.random.Generator, t: float, **more: object) -> list[Reading]:
    """Ten rolls at 1.5 and 4.5 m on a surface of index t at 3 m green speed, launcher 2 mrad."""
    walk = t / (4 * (RHO_S / 3.0) ** 2)
    made = []
    for length in (1.5, 4.5):
        sd = 1000 * math.sqrt((0.002 * length) ** 2 + walk * length)
        common = {"unit": "mm", "observer": "", "instrument": "ramp", "roll_length_m": length}
        made += [
            reading("end_offset", float(round(y)), **(common | more))
            for y in 40 + sd * rng.standard_normal(10)
        ]
    return made


def course(t: float = 2e-6, days: int = 6, seed: int = 1) -> Snapshot:
    rng = np.random.default_rng(seed)
    rows = [r for d in range(days) for g in "12" for r in rolls(rng, t, green=g, date=day(2 * d))]
    rows += [r for g in "12" for r in balls([3.0, 3.0], [3.0, 3.0], green=g)]
    return record(rows, on=day(2 * days))


def sites(rows: list[Reading]) -> tuple[TruenessSite, ...]:
    return trueness_sites(rows, record(rows, on=day(30)), on=day(30))


@pytest.mark.parametrize("t", [5e-7, 2e-6, 1e-5])
def test_a_known_surface_is_found(t: float) -> None:
    found = surface(course(t), "trueness")
    assert found is not None and found.unit == "m" and found.scale == "log"
    assert found.course.low < t < found.course.high
    # 240 rolls leave the log of T within about 0.5
    assert math.log(found.course.high / found.course.low) < 2.0


def test_a_green_never_rolled_is_wider() -> None:
    found = surface(course(), "trueness")
    widths = [math.log(e.high / e.low) for e in found.per_green]
    assert widths[2] > widths[0] and found.n_per_green == (120, 120, 0)
    assert found.per_green[2].basis == "model"


def test_the_instrument_is_who_is_calibrated_and_sources_are_named() -> None:
    found = surface(course(), "trueness")
    assert [o.observer for o in found.observers] == ["ramp"]
    assert "measure.trueness.launcher_jitter" in found.evidence
    assert "measure.score_rounding" not in found.evidence
    assert not [k for k in found.evidence if "link" in k or "wander" in k]


def test_balls_one_by_one_say_nothing() -> None:
    rows = [reading("end_offset", 12.0, unit="mm", direction=way) for way in "ab"]
    assert surface(record(rows), "trueness") is None


def test_order_of_rows_does_not_matter() -> None:
    snapshot = course()
    other = record(list(reversed(snapshot.readings)), on=snapshot.as_of)
    one, two = surface(snapshot, "trueness"), surface(other, "trueness")
    assert one.course.value == pytest.approx(two.course.value)


def test_lengths_of_a_place_speak_together() -> None:
    (one,) = sites(rolls(np.random.default_rng(3), 2e-6))
    assert (one.kind, one.rows, one.shift) == ("end_offset", 20, "launcher ramp")
    assert one.speed.basis == "prior"


def test_an_unread_speed_is_an_error_that_all_share() -> None:
    rows = rolls(np.random.default_rng(3), 2e-6)
    (alone,) = sites(rows)
    (beside,) = sites(rows + balls([3.0], [3.0]))
    assert alone.shift_sd > beside.shift_sd


def wander(value: float = 2.0, **more: object) -> TruenessSite:
    filled = {"unit": "mm/m", "instrument": "sphere", "roll_length_m": 3.0}
    rows = [reading("path_wander", value, **(filled | more)), *balls([3.0], [3.0])]
    (one,) = sites(rows)
    return one


def test_path_wander_becomes_t() -> None:
    one = wander(2.0, method=MOTION_TRACE)
    # by hand: K = (0.002 / 0.2468)^2 * 3 = 1.970e-4 m; T = 4 (0.2387 / 3)^2 K = 4.99e-6 m;
    # one path reads 0.43 low in log K
    assert one.value - 0.43 == pytest.approx(math.log(4.99e-6), abs=0.02)
    assert (one.shift, one.shift_sd) == ("", 0.0)


def test_ratio_of_wander_is_the_integral_it_says() -> None:
    u = (np.arange(200_000) + 0.5) / 200_000
    law = np.sqrt(1 - 2 * u * np.log(1 / u) - u**2)  # variance along the path over K L
    expected = math.sqrt(2 / math.pi) * law.mean()
    assert number("measure.path_wander.ratio") == pytest.approx(expected, rel=1e-3)


def test_bias_and_variance_of_one_path_are_those_of_the_walk() -> None:
    """Heading dpsi = sqrt(K) / r dW, deviation from the first heading, mean along the roll."""
    rng, length, n = np.random.default_rng(4), 3.0, 600
    left = np.maximum(length - (np.arange(n) + 0.5) * length / n, 0.01)
    turn = math.sqrt(length / n) / left * rng.standard_normal((2000, n))
    path = np.cumsum(np.cumsum(turn, axis=1), axis=1) * length / n
    ratio = np.abs(path).mean(axis=1) / length / math.sqrt(1 / length)
    logs = 2 * np.log(ratio / number("measure.path_wander.ratio"))
    assert -logs.mean() == pytest.approx(number("measure.path_wander.log_bias"), abs=0.12)
    assert logs.var() == pytest.approx(number("measure.path_wander.log_variance"), rel=0.12)


def test_a_foreign_instrument_shares_an_error_of_its_link() -> None:
    ours, theirs = wander(method=MOTION_TRACE), wander()
    assert theirs.shift == "path_wander"
    # half of the link's variance lasts: 0.7 * sqrt(0.5)
    assert theirs.shift_sd == pytest.approx(0.495, abs=0.001)
    assert theirs.variance > ours.variance


def test_several_paths_are_surer_than_one() -> None:
    assert wander(n=10, method=MOTION_TRACE).variance < wander(method=MOTION_TRACE).variance / 5


def test_a_trace_that_states_its_ends_is_believed_so() -> None:
    one = wander(2.0, method=MOTION_TRACE, other={"low": "1.4", "high": "2.8"})
    # by hand: log(2) / 3.29 = 0.2107 for the wander, twice that for K: variance 0.1776
    assert one.variance == pytest.approx(0.1776, abs=0.02)
    odd = wander(2.0, method=MOTION_TRACE, other={"low": "x", "high": "2"})
    assert odd.variance > 1


def test_no_wander_at_all_stays_finite() -> None:
    assert math.isfinite(wander(0.0).value)


def test_wander_alone_makes_a_surface() -> None:
    rows = [
        reading("path_wander", 2.0, unit="mm/m", instrument="sphere", date=day(d), green=g)
        for d in range(5)
        for g in "123"
    ]
    found = surface(record(rows, on=day(5)), "trueness")
    assert found is not None and found.n_readings == 15
    assert "measure.path_wander.link_sd" in found.evidence


def test_eye_scores_alone_do_not_inform_the_index() -> None:
    rows = [reading("trueness_score", 7.0, green=g) for g in "123"]
    assert surface(record(rows), "trueness") is None


def test_eye_scores_speak_where_both_were_taken() -> None:
    rng, rows = np.random.default_rng(6), []
    for n in range(24):
        log_t, green = -13 + 1.2 * rng.standard_normal(), "12"[n % 2]
        rows += rolls(rng, math.exp(log_t), green=green, date=day(n))
        score = float(np.clip(7 - (log_t + 13) / 0.8, 0, 10))
        rows.append(reading("trueness_score", score, green=green, date=day(n)))
    rows.append(reading("trueness_score", 4.0, green="3", date=day(24)))
    found = surface(record(rows, on=day(30)), "trueness")
    assert "measure.trueness_link.slope" in found.evidence
    told = [s for s in sites(rows) if s.kind == "trueness_score"]
    assert [s.green for s in told] == ["3"]
    # the line of the simulation: score 4 is log T = -13 + 2.4
    assert told[0].value == pytest.approx(-10.6, abs=0.9)
    assert told[0].shift == "trueness_score"


def test_nothing_after_the_day_is_seen() -> None:
    snapshot = course()
    assert surface(snapshot, "trueness", on=DAY).n_readings == 40
