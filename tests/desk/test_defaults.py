"""What nobody entered is told, with the number that stands in for it."""

from __future__ import annotations

import pytest

from greenwright.desk.defaults import told_defaults


@pytest.mark.parametrize(
    ("keys", "about", "says"),
    [
        (["targets.default.member.green_speed"], "default:targets", "green speed"),
        (["labour.mow.hours_per_18", "labour.roll.hours_per_18"], "default:crew", "mow, roll"),
        (["labour.cost_per_h"], "default:crew", "wage"),
        # 0.13 mm: common practice, as the evidence table says
        (["limits.default.max_height_step_mm"], "default:limits", "(0.13 mm)"),
        (["limits.default.rolls_week.sand"], "default:limits", "(6)"),
        (["complaints.base_rate"], "default:other", "0.005"),
    ],
)
def test_a_default_is_told(keys: list[str], about: str, says: str) -> None:
    (row,) = told_defaults(keys)
    assert row["about"] == about and says in row["text"]
    assert row["why"] and row["reading"] is None


def test_one_gap_for_each_sheet() -> None:
    keys = [
        "labour.mow.hours_per_18",
        "limits.default.max_height_step_mm",
        "limits.default.min_step_interval_d",
        "targets.default.smoothness",
        "targets.default.smoothness.half_width",
    ]
    assert [row["about"] for row in told_defaults([*keys, *keys])] == [
        "default:targets",
        "default:crew",
        "default:limits",
    ]


def test_nothing_is_told_where_all_was_entered() -> None:
    assert told_defaults([]) == ()
    assert told_defaults(["targets.default.smoothness.half_width"]) == ()
