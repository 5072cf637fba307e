"""Constants of a rolling ball: standards and mechanics, nothing that a green could change."""

from __future__ import annotations

GRAVITY_M_S2 = 9.80665
"""Standard acceleration of gravity [m/s2]."""

BALL_RADIUS_M = 0.02134
"""Radius of the smallest ball allowed, diameter 1.68 in [m]."""

HOLE_RADIUS_M = 0.05398
"""Radius of the hole, diameter 4.25 in [m]."""

ROLLING_FACTOR = 5 / 7
"""Share of a force that moves a solid sphere which rolls without slipping: 1 / (1 + 2/5)."""

PULL_M_S2 = ROLLING_FACTOR * GRAVITY_M_S2
"""Acceleration of a ball that rolls straight down: what friction and slope are shares of."""

RELEASE_SPEED_M_S = 1.8288
"""Speed of the ball when it rolls on the level after leaving the ramp, 6.00 ft/s [m/s].

From memory; the ramp's geometry (0.762 m at 20 degrees, ball carried on two contact lines
12.7 mm apart, slip ended on the green) gives 1.829 m/s.
"""

STOPPING_LENGTH_M = RELEASE_SPEED_M_S**2 / (2 * PULL_M_S2)
"""Green speed times rolling resistance: v0^2 / (2 (5/7) g) = 0.2387 m (0.7832 ft)."""
