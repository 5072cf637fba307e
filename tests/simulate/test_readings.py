"""What the crew writes holds the truth within its stated errors, and holds its biases."""

from __future__ import annotations

import re
from collections import defaultdict

import numpy as np
import pytest

from greenwright.simulate import Simulated
from greenwright.simulate.readings import roll_lengths, write_length

FOOT = 0.3048  # m, international foot
RAMP = {"ramp-1": 0.0, "ramp-2": 0.03}  # stated parameters of the world
BIAS = {"Ida": 0.0, "Bram": 0.02, "Suki": -0.01}
LENIENCY = {"Ida": 0.0, "Bram": 0.5, "Suki": -0.4}


def length(row: dict[str, str]) -> float:
    if found := re.fullmatch(r"(\d+)'(\d+)\"", row["value"]):
        return (int(found[1]) + int(found[2]) / 12) * FOOT
    return float(row["value"]) * (FOOT / 12 if row["unit"] == "in" else 1.0)


def where(made: Simulated, row: dict[str, str]) -> tuple[int, int]:
    days = {day.isoformat(): i for i, day in enumerate(made.truth.days)}
    return days[row["date"]], made.truth.greens.index(row["green"])


def two_way_errors(made: Simulated) -> tuple[np.ndarray, np.ndarray]:
    """Two-way speed less truth by set: as written, and with the known biases taken out."""
    sets = defaultdict(lambda: {"a": [], "b": []})
    for row in made.tables["readings"]:
        if row["kind"] == "roll_distance":
            key = (*where(made, row), row["set"], row["observer"], row["instrument"])
            sets[key][row["direction"]].append(length(row))
    raw, clean = [], []
    for (day, green, _, observer, ramp), ways in sets.items():
        up, down = np.mean(ways["a"]), np.mean(ways["b"])
        error = 2 * up * down / (up + down) - made.truth.quantities["green_speed"][day, green]
        raw.append(error)
        clean.append(error - BIAS[observer] - RAMP[ramp])
    return np.array(raw), np.array(clean)


def test_two_way_speeds_hold_the_truth(demo: Simulated) -> None:
    _, clean = two_way_errors(demo)
    assert len(clean) > 1500
    # by hand: hours drift at most -0.008 * 0.9; mean of so many sets is known to 0.002 m
    assert abs(clean.mean()) < 0.01
    # by hand: sqrt(0.05**2 station + 0.03**2 set + 0.05**2 / 6 rolls) = 0.062 m
    assert clean.std() == pytest.approx(0.062, abs=0.012)


def test_the_writers_biases_are_in_what_they_write(demo: Simulated) -> None:
    raw, clean = two_way_errors(demo)
    assert raw.mean() > clean.mean() + 0.003


def test_rolls_on_a_slope_follow_the_ball() -> None:
    # equation of motion with rolling friction, worked out at 10 ft: 1 % and 3 % of slope
    for slope, up, down in ((0.01, 8.868, 11.464), (0.03, 7.234, 16.215)):
        got = np.array(roll_lengths(10 * FOOT, slope)) / FOOT
        np.testing.assert_allclose(got, [up, down], atol=0.012)
        assert 2 * got[0] * got[1] / got.sum() == pytest.approx(10)  # level speed comes back


def test_lengths_are_written_as_people_write_them(demo: Simulated) -> None:
    assert write_length(3.6576, "ft") == ("12'0\"", "")  # 12 ft exactly
    assert write_length(2.54, "in") == ("100", "in")
    written = defaultdict(set)
    for row in demo.tables["readings"]:
        if row["kind"] == "roll_distance":
            written[row["observer"]].add(row.get("unit", ""))
    assert written == {"Ida": {"m"}, "Bram": {""}, "Suki": {"in"}}


def test_scores_hold_each_observers_leniency(demo: Simulated) -> None:
    off = defaultdict(list)
    for row in demo.tables["readings"]:
        if row["kind"] == "smoothness_score":
            day, green = where(demo, row)
            truth = demo.truth.quantities["smoothness"][day, green]
            off[row["observer"]].append(float(row["value"]) - truth)
    for observer, leniency in LENIENCY.items():
        # sd of one score about 0.5, so the mean of 150 is known to 0.04; ceiling at 10
        assert np.mean(off[observer]) == pytest.approx(leniency, abs=0.13), observer
        assert len(off[observer]) > 100


def test_moisture_and_firmness_average_to_the_truth(demo: Simulated) -> None:
    # stated scatter of one reading: 1.5 % and 5 g
    for kind, scatter in (("moisture", 1.5), ("firmness", 5.0)):
        errors = np.array([
            float(r["value"]) - demo.truth.quantities[kind][where(demo, r)]
            for r in demo.tables["readings"] if r["kind"] == kind
        ])  # fmt: skip
        assert abs(errors.mean()) < 4 * scatter / np.sqrt(len(errors))
        assert errors.std() == pytest.approx(scatter, rel=0.06)


@pytest.mark.parametrize("length", [1.5, 3.0])
def test_end_offsets_scatter_as_the_index_says(demo: Simulated, length: float) -> None:
    ratios = []
    for row in demo.tables["readings"]:
        if row["kind"] == "end_offset" and float(row["roll_length_m"]) == length:
            day, green = where(demo, row)
            speed = demo.truth.quantities["green_speed"][day, green]
            friction = 0.7832 / (speed / FOOT)  # rolling resistance coefficient
            heading = demo.truth.quantities["trueness"][day, green] / (4 * friction**2)
            variance = heading * length + (0.002 * length) ** 2  # and the ramp's own 2 mrad
            ratios.append((float(row["value"]) / 1000) ** 2 / variance)
    # a chi-square mean of n squares has sd sqrt(2 / n)
    assert np.mean(ratios) == pytest.approx(1, abs=4 * np.sqrt(2 / len(ratios)))


def test_clean_rolls_rise_with_the_score(demo: Simulated) -> None:
    pairs = []
    for row in demo.tables["readings"]:
        if row["kind"] == "clean_rolls":
            day, green = where(demo, row)
            pairs.append((demo.truth.quantities["smoothness"][day, green], float(row["value"])))
    score, clean = np.array(pairs).T
    assert np.corrcoef(score, clean)[0, 1] > 0.4


def test_mornings_greens_and_observers_vary(demo: Simulated) -> None:
    greens = defaultdict(set)
    for row in demo.tables["readings"]:
        if row["kind"] == "roll_score":
            greens[row["date"]].add(row["green"])
    counts = [len(g) for g in greens.values()]
    assert min(counts) >= 6 and max(counts) <= 9
    months = [int(day[5:7]) for day in greens]
    summer = sum(5 <= m <= 9 for m in months)
    assert 2.5 < summer / (153 + 43) * 7 < 3.5  # mornings a week; days May-September to today


def test_two_observers_meet_on_one_green_sometimes(demo: Simulated) -> None:
    seen = defaultdict(set)
    for row in demo.tables["readings"]:
        if row["kind"] == "roll_score":
            seen[row["date"], row["green"]].add(row["observer"])
    both = sum(len(names) == 2 for names in seen.values())
    assert 20 < both < 200
