"""Published fits of two tables of made putts, reproduced from the tables.

Tables and fits: "Model building and expansion for golf putting" (mc-stan.org case study, 2019 and
2023), "New golf putting data and a new golf putting model" (2019), posterior printouts of the case
study's model. The physical player model and the refits to four digits were made beforehand by
independent code, a general optimiser on the same tables ("refit" below).
"""

from __future__ import annotations

import numpy as np
import pytest

from greenwright.base.evidence import look_up, value
from greenwright.golfers.putt_tables import (
    fit_angle_distance,
    fit_logistic,
    fit_one_angle,
    fit_physical,
)
from tests.golfers.putting_tables import FOOT, table

DEGREE = np.pi / 180


def at_feet(fit_chances: np.ndarray, distances_m: np.ndarray, feet: float) -> float:
    return float(fit_chances[np.abs(distances_m - feet * FOOT).argmin()])


def test_the_tables_add_up_to_their_printed_totals() -> None:
    small, large = table(19), table(31)
    # published totals
    assert (small.tried.sum(), small.made.sum()) == (5988, 3390)
    assert (large.tried.sum(), large.made.sum()) == (1_253_196, 766_741)


def test_logistic_of_the_19_rows() -> None:
    fit = fit_logistic(table(19))
    # published: 2.23 +- 0.06, -0.26 +- 0.01 per foot; refit 2.2312, -0.2557
    assert fit.numbers["intercept"] == pytest.approx(2.2312, abs=1e-4)
    assert fit.numbers["slope"] * FOOT == pytest.approx(-0.2557, abs=1e-4)
    assert round(fit.sds["intercept"], 2) == 0.06
    assert round(fit.sds["slope"] * FOOT, 2) == 0.01
    assert fit.numbers["intercept"] == pytest.approx(value("players.logistic.intercept"), abs=0.01)


def test_one_angle_of_the_19_rows() -> None:
    held = table(19)
    fit = fit_one_angle(held)
    # refit by maximum likelihood: 0.026645 rad = 1.527 degrees +- 0.023; published 1.5
    assert fit.numbers["angle_sd"] == pytest.approx(0.026645, abs=2e-6)
    assert fit.numbers["angle_sd"] / DEGREE == pytest.approx(1.527, abs=1e-3)
    assert fit.sds["angle_sd"] / DEGREE == pytest.approx(0.023, abs=5e-4)
    assert round(fit.numbers["angle_sd"] / DEGREE, 1) == 1.5
    # refit: p(5, 10, 20 ft) = 0.5785, 0.3122, 0.1593
    found = [at_feet(fit.chances, held.distance_m, feet) for feet in (5, 10, 20)]
    assert found == pytest.approx([0.5785, 0.3122, 0.1593], abs=1e-4)


def test_angle_and_distance_of_the_31_rows() -> None:
    fit = fit_angle_distance(table(31))
    # refit (posterior mode): 0.01780 rad, 0.0801, extra 0.0028
    assert fit.numbers["angle_sd"] == pytest.approx(0.01780, abs=5e-6)
    assert fit.numbers["distance_sd"] == pytest.approx(0.0801, abs=5e-5)
    assert fit.numbers["extra_sd"] == pytest.approx(0.0028, abs=5e-5)
    # published: 0.0178 +- 0.0001 rad, 0.0801 +- 0.0013, 0.0031 +- 0.0006
    for name, key in (("angle_sd", "angle_sd"), ("distance_sd", "distance_sd")):
        entry = look_up(f"players.angle_distance.{key}")
        assert entry.sd is not None
        assert abs(fit.numbers[name] - value(entry.key)) < entry.sd
        assert fit.sds[name] == pytest.approx(entry.sd, rel=0.15)
    assert fit.numbers["extra_sd"] == pytest.approx(0.0031, abs=0.0006)


@pytest.mark.parametrize(
    ("feet", "chance"), [(4.94, 0.757), (9.95, 0.389), (20.44, 0.143), (40.37, 0.042)]
)
def test_angle_and_distance_chances(feet: float, chance: float) -> None:
    held = table(31)
    found = at_feet(fit_angle_distance(held).chances, held.distance_m, feet)
    # refit at 5, 10, 20 and 40 ft; the rows lie up to 0.44 ft off, worth half a point
    assert found == pytest.approx(chance, abs=0.007)


def physical(**more: bool) -> dict[str, float]:
    speed, relative = value("players.tour.green_speed"), value("players.tour.distance_sd")
    return fit_physical(table(31), green_speed_m=speed, distance_sd=relative, **more).numbers


def test_the_physical_model_of_the_31_rows() -> None:
    found = physical()
    # refit, least squares on the shares: 1.1867 degrees, 0.4115 m, 1.3226 m/s
    assert found["angle_sd"] / DEGREE == pytest.approx(1.1867, abs=3e-4)
    assert found["overshoot_m"] == pytest.approx(0.4115, abs=2e-4)
    assert found["capture_speed"] == pytest.approx(1.3226, abs=2e-4)
    # the evidence entries are these, rounded
    assert value("players.tour.angle_sd") / DEGREE == pytest.approx(1.19, abs=1e-6)
    assert value("players.tour.overshoot") == round(found["overshoot_m"], 2)
    assert value("players.tour.capture_speed") == round(found["capture_speed"], 2)


def test_counting_every_putt_alike_gives_another_player() -> None:
    found = physical(by_counts=True)
    # refit, plain binomial likelihood: 1.02 degrees, 0.22 m, 1.21 m/s
    assert found["angle_sd"] / DEGREE == pytest.approx(1.02, abs=0.005)
    assert found["overshoot_m"] == pytest.approx(0.22, abs=0.005)
    assert found["capture_speed"] == pytest.approx(1.21, abs=0.005)


def test_a_wrong_table_is_not_fitted_to_the_published_numbers() -> None:
    held = table(19)
    spoiled = type(held)(held.distance_m, held.tried, np.floor(held.made * 0.9))
    # planted: a tenth of the made putts taken away moves the fit by many of its sds
    assert fit_one_angle(spoiled).numbers["angle_sd"] > 0.026645 + 5 * 0.0004
