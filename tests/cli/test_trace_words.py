"""A trace in words: each sentence says its number, its range and its unit, or why it cannot."""

from __future__ import annotations

from dataclasses import replace

import pytest

from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.values import FileCount, LoadReport, Refusal
from greenwright.cli.trace_words import trace_words
from greenwright.desk.traces import ToldTrace
from greenwright.measure.traces import Band, TraceReadings, TwoRolls


def plain(value: float, unit: str) -> Estimate:
    """Return an estimate whose range is a tenth either way."""
    return Estimate(value, unit, 0.06 * value, 0.9 * value, 1.1 * value)


ROLL = TraceReadings(
    source="rotation",
    samples=1500,
    rate_hz=500.0,
    start_s=0.2,
    end_s=3.2,
    length_m=2.9,
    first_speed_m_s=1.8,
    deceleration=plain(0.55, "m/s2"),
    ramp_roll=plain(3.0, "m"),
    green_speed=normal_estimate(3.048, 0.2, "m"),
    spacing_m=0.0036,
    finest_m=0.0072,
    events=plain(2.0, "1/m"),
    trueness_t=plain(2e-6, "m"),
    heading_k=plain(8e-5, "m"),
    sideways=plain(5.0, "mm/m"),
    path_wander=plain(1.25, "mm/m"),
    bands=(Band(0.05, 0.1, plain(0.3, "mm")), Band(0.2, 0.5, None, "too long")),
    cannot=("the moon: it is too far",),
    notes=("a note",),
)
TOLD = ToldTrace(("there.csv",), "0", ROLL, None, None, 0, ())


def test_every_number_stands_with_its_range() -> None:
    # by hand: a tenth either way of each number above; 3.048 m is 10 ft
    for sentence in (
        "there.csv: 1500 samples of rotation at 500 Hz, 0.20 to 3.20 s, 2.90 m.",
        "It slows down by 0.550 (0.495 to 0.605) m/s².",
        "From the ramp it would have run 3.00 (2.70 to 3.30) m this way.",
        "Vertical events: 2.0 (1.8 to 2.2) per metre.",
        "moves balls 5.0 (4.5 to 5.5) mm sideways per metre; T = 2.00 (1.80 to 2.20) µm.",
        "Roughness in waves of 50 to 100 mm: 0.300 (0.270 to 0.330) mm rms.",
        "Waves shorter than 7 mm cannot be seen at this sampling.",
        "Cannot be told: the moon: it is too far.",
        "Note: a note.",
        "Green speed: 3.05 (2.72 to 3.38) m (10'0\"), one roll one way, slope unknown.",
    ):
        assert sentence in trace_words(TOLD)


@pytest.mark.parametrize(
    ("gone", "silent"),
    [
        ({"events": None}, "Vertical events"),
        ({"trueness_t": None, "sideways": None}, "sideways"),
        ({"bands": ()}, "Roughness"),
        ({"finest_m": None}, "Waves shorter"),
        ({"length_m": None}, "2.90 m"),
    ],
)
def test_what_is_not_known_is_not_said(gone: dict[str, object], silent: str) -> None:
    told = trace_words(replace(TOLD, there=replace(ROLL, **gone)))
    assert silent not in told and "None" not in told and "nan" not in told


def test_a_band_that_cannot_be_told_is_left_out() -> None:
    assert "200 to 500 mm" not in trace_words(TOLD)


def test_both_ways_say_the_slope() -> None:
    both = TwoRolls(normal_estimate(3.0, 0.03, "m"), -0.012)
    told = trace_words(replace(TOLD, names=("a.csv", "b.csv"), back=ROLL, both=both))
    assert "a.csv:" in told and "b.csv:" in told
    assert "level; the line slopes 1.2 %" in told


def test_rows_and_columns_left_out_are_named() -> None:
    told = trace_words(replace(TOLD, left_out=3, unknown=("frame", "remark")))
    assert "Rows left out for an empty cell: 3." in told
    assert "Columns not used: frame, remark." in told


def report(kept: int, *refusals: Refusal) -> LoadReport:
    count = FileCount(kept + len(refusals), kept, len(refusals))
    return LoadReport("linden", False, files={"readings": count}, refusals=refusals)


def test_what_was_kept_is_counted_and_a_refusal_said_once() -> None:
    wrong = Refusal("readings", 1, "green", "77", "'77' is not a green here", "")
    assert "Kept 2 of 2 readings in the record." in trace_words(TOLD, [report(1), report(1)])
    told = trace_words(TOLD, [report(0, wrong), report(0, wrong)])
    assert "Kept 0 of 2" in told and told.count("not a green here") == 1
