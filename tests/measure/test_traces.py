"""Made traces with known truth: speed, wander, events, roughness, and what cannot be told."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from greenwright.base.evidence import look_up
from greenwright.measure.traces import BANDS_M, MotionTrace, TraceReadings, read_trace, two_way
from greenwright.measure.traces.readings import SLOPE_UNKNOWN, TRACE_KEYS
from greenwright.measure.traces.vertical import without_gravity

from .rolled_balls import RELEASE, felt, film, index_of, shaken, spinning, way

SLOWING = 0.55  # m/s2, a green of RELEASE^2 / 2a = 3.04 m


def band(told: TraceReadings, wave: float) -> object:
    (one,) = (b for b in told.bands if b.low_m <= wave < b.high_m)
    return one


@pytest.mark.parametrize("make", [film, spinning, shaken, felt])
@pytest.mark.parametrize("slowing", [0.4, 0.7])
def test_deceleration_and_speed_are_found_from_every_kind_of_sensor(make, slowing: float) -> None:
    told = read_trace(make(way(slowing=slowing)))
    slack = 0.5 * (told.deceleration.high - told.deceleration.low)  # 90 % twice over
    assert told.deceleration.low - slack < slowing < told.deceleration.high + slack
    assert told.ramp_roll.value == pytest.approx(RELEASE**2 / (2 * slowing), rel=0.04)


def test_sources_are_named_for_what_they_are() -> None:
    makes = {"position": film, "rotation": spinning, "speed": shaken, "acceleration": felt}
    for source, make in makes.items():
        assert read_trace(make(way())).source == source


@pytest.mark.parametrize("make", [film, spinning])
def test_intervals_of_the_deceleration_hold(make) -> None:
    hits = 0
    for seed in range(40):
        told = read_trace(make(way(walk=8e-5, seed=seed), seed=seed + 500)).deceleration
        hits += told.low <= SLOWING <= told.high
    # at least nine in ten; the floor of 0.3 % makes clean made traces hold more often
    assert hits >= 34


def test_length_and_first_speed() -> None:
    told = read_trace(film(way()))
    # by hand: 1.8^2 / (2 * 0.55) = 2.945 m to rest, the last 0.1 m/s (9 mm) not used
    assert told.length_m == pytest.approx(2.945 - 0.009, abs=0.02)
    assert told.first_speed_m_s == pytest.approx(1.8, rel=0.01)


def test_one_roll_leaves_the_slope_open_and_two_do_not() -> None:
    # by hand, speed 3.04 m and 1 % slope: a of 0.55 +- (5/7) g 0.01 = 0.07005
    up, down = (read_trace(film(way(slowing=SLOWING + s))) for s in (0.07005, -0.07005))
    both = two_way(up, down)
    assert both.green_speed.value == pytest.approx(RELEASE**2 / (2 * SLOWING), rel=0.005)
    assert both.slope == pytest.approx(0.01, abs=0.0005)
    assert both.green_speed.sd < up.green_speed.sd / 3
    assert SLOPE_UNKNOWN in up.cannot


@pytest.mark.parametrize("walk", [2e-5, 8e-5, 5e-4])
def test_wander_of_the_path_becomes_t(walk: float) -> None:
    errors = []
    for seed in range(24):
        told = read_trace(film(way(walk=walk, side=0.003, seed=seed), noise=3e-4, seed=seed + 99))
        errors.append(math.log(told.trueness_t.value / index_of(walk, SLOWING)))
    # 24 paths, sd of one about 0.45: mean within three sds
    assert abs(np.mean(errors)) < 0.28


def test_intervals_of_t_hold_from_one_path() -> None:
    hits, n = 0, 100
    for seed in range(n):
        rng = np.random.default_rng([seed, 3])
        walk, noise = 8e-5 * math.exp(rng.normal(0, 0.7)), 10 ** rng.uniform(-4, -3)
        one = way(walk=walk, side=rng.normal(0, 0.004), seed=seed)
        told = read_trace(film(one, noise=noise, seed=seed + 77)).trueness_t
        truth = index_of(walk, SLOWING)
        hits += told is not None and told.low <= truth <= told.high
    # binomial sd of 100 at 0.9 is 3 points
    assert 0.81 <= hits / n <= 0.99


def test_index_walk_and_wander_speak_of_one_surface() -> None:
    told = read_trace(film(way(walk=8e-5, seed=2)))
    speed, walk = told.green_speed.value, told.heading_k.value
    assert told.trueness_t.value == pytest.approx(4 * (0.2387 / speed) ** 2 * walk, rel=1e-3)
    # mean along the path: 0.2468 of sqrt(K / L); at rest all of it
    per_metre = 1000 * math.sqrt(walk / speed)
    assert told.path_wander.value == pytest.approx(0.2468 * per_metre, rel=1e-3)
    assert told.sideways.value == pytest.approx(per_metre, rel=0.01)


def test_noise_of_the_positions_may_hide_the_wander() -> None:
    told = read_trace(film(way(walk=1e-6), noise=0.01))
    assert told.trueness_t is None and told.path_wander is None
    assert any("hides" in text for text in told.cannot)


def test_knocks_are_counted_per_metre() -> None:
    told = read_trace(shaken(way(), bumps=tuple(np.arange(0.3, 2.3, 0.25))))
    # eight knocks of 25 m/s2 on 2.94 m
    assert told.events.value == pytest.approx(8 / 2.936, rel=0.01)
    assert told.events.low < 8 / 2.936 < told.events.high


def test_no_knock_is_bounded_all_the_same() -> None:
    told = read_trace(shaken(way())).events
    # none on 2.936 m: the 95 % end of an exact Poisson count is 3.00 (textbook)
    assert (told.value, told.low) == (0.0, 0.0)
    assert told.high == pytest.approx(3.00 / 2.936, rel=0.01)


@pytest.mark.parametrize(("wave", "height"), [(0.03, 0.0002), (0.07, 0.0005), (0.15, 0.002)])
def test_a_wave_of_the_surface_stands_in_its_band(wave: float, height: float) -> None:
    told = read_trace(shaken(way(), wave=(height, wave)))
    here = band(told, wave).rms
    # rms of a sine is its amplitude over root two
    assert here.value == pytest.approx(1000 * height / math.sqrt(2), rel=0.15)
    shorter = [b.rms.value for b in told.bands if b.high_m <= wave and b.rms]
    assert all(v < 0.3 * here.value for v in shorter)


def test_heights_give_the_same_wave_as_accelerations() -> None:
    one = way()
    told = film(one, rate=500)
    along = np.interp(told.time_s, one.time, one.distance)
    tall = MotionTrace(
        time_s=told.time_s,
        x_m=told.x_m,
        y_m=told.y_m,
        z_m=0.001 * np.sin(2 * math.pi * along / 0.15),
    )
    assert band(read_trace(tall), 0.15).rms.value == pytest.approx(1 / math.sqrt(2), rel=0.15)


def test_42_hz_cannot_show_waves_below_87_mm() -> None:
    # at 1.83 m/s a sample each 43.6 mm, so 2 v / f = 87 mm (worked for an instrumented sphere)
    told = read_trace(shaken(way(launch=1.83), rate=42, wave=(0.0005, 0.07)))
    assert told.spacing_m == pytest.approx(0.0436, rel=0.01)
    assert told.finest_m == pytest.approx(0.087, abs=0.001)
    assert told.events is None and any("too coarse" in text for text in told.cannot)
    told_bands = {b.low_m: b.rms is not None for b in told.bands}
    assert told_bands == {0.02: False, 0.05: False, 0.1: True, 0.2: True}
    assert told.ramp_roll.value == pytest.approx(3.04, rel=0.01)


def test_slow_sampling_of_a_slow_ball_is_fine_enough() -> None:
    told = read_trace(shaken(way(launch=1.0), rate=120))
    assert told.spacing_m < 0.01 and told.events is not None


def test_a_launch_in_the_trace_is_left_out() -> None:
    one = film(way(), noise=1e-4)
    time = np.concatenate([np.arange(-0.5, -1e-9, 1 / 120), one.time_s])
    run_up = [np.full(60, v[0]) for v in (one.x_m, one.y_m)]
    told = read_trace(
        MotionTrace(
            time_s=time,
            x_m=np.concatenate([run_up[0], one.x_m]),
            y_m=np.concatenate([run_up[1], one.y_m]),
        )
    )
    assert told.deceleration.value == pytest.approx(SLOWING, rel=0.01)
    assert told.start_s > 0.15 and "slides" in told.notes[0]


def test_rest_after_the_roll_is_left_out() -> None:
    one = film(way(), noise=1e-4)
    time = np.concatenate([one.time_s, one.time_s[-1] + np.arange(1, 241) / 120])
    held = [np.concatenate([v, np.full(240, v[-1])]) for v in (one.x_m, one.y_m)]
    told = read_trace(MotionTrace(time_s=time, x_m=held[0], y_m=held[1]))
    assert told.deceleration.value == pytest.approx(SLOWING, rel=0.01)


def test_a_span_can_be_chosen() -> None:
    told = read_trace(film(way()), start_s=0.5, end_s=2.0)
    assert told.start_s >= 0.5 and told.end_s <= 2.0
    assert told.deceleration.value == pytest.approx(SLOWING, rel=0.02)


def test_acceleration_without_rest_gives_no_distances() -> None:
    told = read_trace(felt(way(), rest=0.0))
    assert told.length_m is None and told.events is None and told.finest_m is None
    assert "does not come to rest" in told.cannot[0] and "offset" in told.notes[0]
    sure = read_trace(felt(way(), rest=1.0))
    assert told.deceleration.sd > 2 * sure.deceleration.sd


def test_the_frame_does_not_matter() -> None:
    one = way(walk=8e-5, seed=4)
    here, there = read_trace(film(one, turn=0.1)), read_trace(film(one, turn=2.5))
    assert here.deceleration.value == pytest.approx(there.deceleration.value, rel=2e-3)


def test_the_same_trace_says_the_same() -> None:
    one, two = (read_trace(film(way(walk=8e-5))) for _ in range(2))
    assert one == two


def test_gravity_is_taken_off_and_said() -> None:
    assert without_gravity(np.array([9.8, 9.9, 12.0])).tolist() == pytest.approx([-0.1, 0, 2.1])
    assert "gravity" in " ".join(read_trace(shaken(way())).notes)


def test_bands_touch_and_every_outside_number_is_in_the_table() -> None:
    assert all(a[1] == b[0] for a, b in pairwise(BANDS_M))
    assert all(look_up(key).grade for key in TRACE_KEYS)
