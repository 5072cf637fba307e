"""The holing integral: printed tables, an adaptive quadrature, a simulation, facts of the trade.

The chances to hole by player, distance and heading walk K were computed beforehand by independent
code ("table"). The make table is that of a web article quoting strokes-gained data, 2024.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from greenwright.base.evidence import look_up, value
from greenwright.golfers import Player, holing_chance, notice_chance, player
from greenwright.golfers.putt_tables import fit_angle_distance
from greenwright.roll.constants import HOLE_RADIUS_M, RELEASE_SPEED_M_S, STOPPING_LENGTH_M
from tests.golfers.putting_tables import FOOT, table

WALKS = np.array([0, 2e-5, 7.3e-5, 2e-4, 5.1e-4])
MACHINE = Player("machine", 0.0, 0.025, 0.41, 1.32, 3.048)
PRINTED = 0.00051  # half a unit of the last printed digit, and a hair


def now(who: Player, feet: float, speed_ft: float) -> np.ndarray:
    found = holing_chance(feet * FOOT, green_speed_m=speed_ft * FOOT, heading_k=WALKS, player=who)
    return np.asarray(found)


@pytest.mark.parametrize(
    ("feet", "percent"),
    [
        (5, (75.8, 75.5, 74.8, 73.2, 69.7)),
        (10, (38.4, 38.2, 37.9, 37.0, 35.2)),
        (20, (14.4, 14.4, 14.3, 14.1, 13.6)),
    ],
)
def test_tour_player_on_an_eleven_foot_green(feet: float, percent: tuple[float, ...]) -> None:
    assert now(player("tour"), feet, 11) == pytest.approx(np.array(percent) / 100, abs=PRINTED)


@pytest.mark.parametrize(
    ("feet", "percent"),
    [
        (5, (49.9, 49.8, 49.5, 48.9, 47.5)),
        (10, (20.7, 20.7, 20.6, 20.4, 19.9)),
        (20, (6.7, 6.7, 6.7, 6.7, 6.6)),
    ],
)
def test_90_shooter_on_a_ten_foot_green(feet: float, percent: tuple[float, ...]) -> None:
    assert now(player("90"), feet, 10) == pytest.approx(np.array(percent) / 100, abs=PRINTED)


def test_machine_from_eight_feet() -> None:
    # table: 2.4 m at S 10
    found = now(MACHINE, 2.4 / FOOT, 10)
    assert found == pytest.approx(np.array([100, 100, 100, 98.6, 87.8]) / 100, abs=PRINTED)


@pytest.mark.parametrize(
    ("feet", "percent"),
    [
        (2, 99.7),
        (3, 95.5),
        (5, 75.8),
        (8, 49.7),
        (10, 38.4),
        (15, 22.3),
        (20, 14.4),
        (30, 7.4),
        (40, 4.4),
    ],
)
def test_tour_player_by_distance(feet: float, percent: float) -> None:
    assert now(player("tour"), feet, 11)[0] == pytest.approx(percent / 100, abs=PRINTED)


def make_table() -> tuple[np.ndarray, np.ndarray]:
    held = [look_up(f"players.make_table.{k}").value for k in ("distance", "share")]
    return np.array(held[0], dtype=float), np.array(held[1], dtype=float)


def test_the_make_table_within_two_points() -> None:
    distance, share = make_table()
    found = holing_chance(distance, green_speed_m=11 * FOOT, player=player("tour"))
    assert np.abs(np.asarray(found) - share).max() <= 0.02
    # the two-number model of the 31 rows likewise, read between its rows
    held = table(31)
    between = np.interp(distance, held.distance_m, fit_angle_distance(held).chances)
    assert np.abs(between - share).max() <= 0.02


@pytest.mark.parametrize(("name", "speed_ft"), [("tour", 11), ("90", 10)])
def test_half_are_made_from_the_reported_distance(name: str, speed_ft: float) -> None:
    # reported: tour players 8 ft, 90-shooters 5 ft (International Journal of Golf Science 7732)
    half = value(f"players.half_made.{name}")
    found = holing_chance(half, green_speed_m=speed_ft * FOOT, player=player(name))
    assert found == pytest.approx(0.5, abs=0.005)


def by_quadrature(who: Player, d: float, speed: float, k: float) -> float:
    """Return the integral over the speed at the hole by adaptive quadrature."""
    a, aimed = RELEASE_SPEED_M_S**2 / (2 * speed), d + who.overshoot_m
    sd = who.distance_sd * aimed

    def integrand(v: float) -> float:
        r = v * v / (2 * a)
        u = d + r
        walked = k * (u - 2 * r * math.log(u / r) - r * r / u) if r > 0 else k * u
        spread = math.sqrt((who.angle_sd * d) ** 2 + walked)
        half = HOLE_RADIUS_M * math.sqrt(1 - v / who.capture_speed)
        share = math.erf(half / spread / math.sqrt(2)) if spread > 0 else 1.0
        return (
            math.exp(-(((u - aimed) / sd) ** 2) / 2) / sd / math.sqrt(2 * math.pi) * share * v / a
        )

    peaks = [math.sqrt(max(2 * a * (who.overshoot_m + z * sd), 0)) for z in (-3, 0, 3)]
    inside = sorted({p for p in peaks if 0 < p < who.capture_speed})
    return float(quad(integrand, 0, who.capture_speed, points=inside, limit=500, epsabs=1e-11)[0])


@pytest.mark.parametrize("d", [0.3, 0.61, 1.5, 2.4, 6.0, 15.0])
@pytest.mark.parametrize("k", [0.0, 7e-5, 1e-3])
def test_exact_to_a_millionth(d: float, k: float) -> None:
    players = [
        player("tour"),
        Player("robot", 0.003, 0.025, 0.41, 1.32, 3.0),
        Player("timid", 0.03, 0.15, 0.1, 1.63, 3.0),
    ]
    for who in players:
        for speed in (2.0, 3.0, 4.5):
            found = holing_chance(d, green_speed_m=speed, heading_k=k, player=who)
            # outside: scipy's adaptive quadrature
            assert found == pytest.approx(by_quadrature(who, d, speed, k), abs=1e-6)


@pytest.mark.parametrize("k", [0.0, 5e-4])
def test_against_putts_simulated_one_by_one(k: float) -> None:
    who, d, speed, n = player("90"), 2.0, 3.0, 400_000
    rng, a = np.random.default_rng(6), RELEASE_SPEED_M_S**2 / 6
    u = (d + who.overshoot_m) * (1 + who.distance_sd * rng.standard_normal(n))
    r = np.maximum(u - d, 1e-9)
    walked = k * (u - 2 * r * np.log(np.maximum(u, d) / r) - r**2 / u)
    y = who.angle_sd * d * rng.standard_normal(n)
    y += np.sqrt(np.maximum(walked, 0)) * rng.standard_normal(n)
    v = np.sqrt(2 * a * r)
    half = HOLE_RADIUS_M * np.sqrt(np.maximum(1 - v / who.capture_speed, 0))
    dropped = ((u > d) & (np.abs(y) < half)).mean()
    # Monte-Carlo error 0.0008
    found = holing_chance(d, green_speed_m=speed, heading_k=k, player=who)
    assert found == pytest.approx(dropped, abs=0.003)


@pytest.mark.parametrize(
    ("along_slope_rms", "change_ft"), [(0.01, -0.05), (0.02, -0.21), (0.03, -0.47)]
)
def test_bumps_that_are_seen_change_the_speed_by_less_than_golfers_detect(
    along_slope_rms: float, change_ft: float
) -> None:
    """Impact loss, an upper bound: rho rises by v0^2 s^2 / (4 g l), l = 20 mm, at S 10 ft."""
    rho = STOPPING_LENGTH_M / 3.048
    rise = RELEASE_SPEED_M_S**2 * along_slope_rms**2 / (4 * 9.80665 * 0.02)
    change_m = STOPPING_LENGTH_M / (rho + rise) - 3.048
    # table: -0.05, -0.21, -0.47 ft
    assert change_m / FOOT == pytest.approx(change_ft, abs=0.006)
    assert abs(change_m) < value("notice.speed_low")  # common practice: 6 to 8 in
    assert notice_chance(change_m, "green_speed") < 0.25


def test_ramp_balls_from_eight_feet_still_drop_on_rough_greens() -> None:
    """Reported: 90 to 100 % of ramp or machine putts from 8 ft drop, even after coring."""
    walks = np.linspace(0, 5e-4, 26)
    found = np.asarray(holing_chance(2.4384, green_speed_m=3.048, heading_k=walks, player=MACHINE))
    assert np.all(np.diff(found) <= 1e-9)
    # table: 87 to 100 % for K up to 5e-4 m
    assert found[0] == pytest.approx(1.0, abs=1e-6)
    assert found[-1] > 0.87
    # reported for greens in ordinary order
    entry = look_up("golfers.machine_holing_share")
    assert entry.low is not None and found[walks <= 4e-4].min() > entry.low
