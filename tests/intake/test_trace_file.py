"""The CSV of a motion trace: units in headers, a stated mapping, refusals that say what to do."""

from __future__ import annotations

from math import pi

import pytest

from greenwright.intake.faults import FileRefused
from greenwright.intake.trace_file import TraceFile, read_trace_file


def read(text: str, **columns: str) -> TraceFile:
    return read_trace_file(text.encode(), columns=columns)


def test_columns_come_in_si_units() -> None:
    got = read("time_ms,x_mm,y (cm),az [g],wx deg/s,v_km_h\n10,1500,20,1,180,3.6\n")
    assert got.time_s == pytest.approx([0.01])
    held = {name: values[0] for name, values in got.channels.items()}
    # by hand: 1.5 m, 0.2 m, 9.80665 m/s2, pi rad/s, 1 m/s
    assert held == pytest.approx(
        {"x_m": 1.5, "y_m": 0.2, "az_m_s2": 9.80665, "wx_rad_s": pi, "speed_m_s": 1.0}
    )


@pytest.mark.parametrize(
    ("head", "channel", "factor"),
    [
        ("ax_m_s2", "ax_m_s2", 1.0),
        ("ax (m/s²)", "ax_m_s2", 1.0),
        ("AX [m/s^2]", "ax_m_s2", 1.0),
        ("az_mg", "az_m_s2", 0.00980665),
        ("rotation_rpm", "wx_rad_s", 2 * pi / 60),
        ("w (rad/s)", "wx_rad_s", 1.0),
        ("wz_rev_s", "wz_rad_s", 2 * pi),
        ("speed_ft_s", "speed_m_s", 0.3048),
        ("x_in", "x_m", 0.0254),
        ("y ft", "y_m", 0.3048),
        ("z [mm]", "z_m", 0.001),
    ],
)
def test_ways_to_write_a_header(head: str, channel: str, factor: float) -> None:
    got = read(f"t_s,{head}\n0,2\n")
    assert got.channels[channel] == pytest.approx([2 * factor])


def test_a_mapping_says_what_headers_do_not() -> None:
    got = read("Clock,px,py\n0,1000,5\n1,2000,6\n", time_s="Clock", x_mm="px", y_m="py")
    assert got.time_s == (0.0, 1.0)
    assert got.channels["x_m"] == pytest.approx((1.0, 2.0))
    assert got.unknown == ()


def test_a_mapping_overrules_a_header_without_unit() -> None:
    got = read("time,x\n0,10\n", time_s="time", x_cm="x")
    assert got.channels["x_m"] == pytest.approx([0.1])


def test_other_columns_are_named_and_left() -> None:
    assert read("time_s,x_m,frame,remark\n0,1,7,hello\n").unknown == ("frame", "remark")


def test_rows_with_an_empty_cell_are_left_out_and_counted() -> None:
    rows = "".join(f"{i},{i}\n" for i in range(30))
    got = read(f"time_s,x_m\n{rows}30,\n")
    assert (len(got.time_s), got.left_out) == (30, 1)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("x_m,y_m\n1,2\n", "does not name time"),
        ("time_s,frame\n1,2\n", "anything beside time"),
        ("time,x_m\n1,2\n", "names no unit"),
        ("time_s,x\n1,2\n", "names no unit"),
        ("time_s,x_furlong\n1,2\n", "no unit 'furlong' of x"),
        ("time_s,x_m,x_mm\n1,2,3\n", "both hold x_m"),
        ("time_s,w_rad_s,wx_rad_s\n1,2,3\n", "both hold wx_rad_s"),
        ("time_s,x_m\n1,abc\n", "row 2: 'abc' is not a number"),
        ('time_s,x_m\n1,"1,5"\n', "row 2"),
        ("time_s,x_m\n1,nan\n", "not a number"),
        ("time_s,x_m\n1,2\n2,\n", "1 of 2 rows have empty cells"),
        ("time_s;x_m\n1;2\n", "semicolons"),
        ("time_s,x_m\n1,2,3\n", "row 2: 3 cells"),
        ("", "empty"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, why: str) -> None:
    with pytest.raises(FileRefused, match=why) as told:
        read(text)
    assert told.value.exit_code == 3


def test_the_fault_names_column_and_value() -> None:
    with pytest.raises(FileRefused) as told:
        read("time_s,x_m\n1,abc\n")
    assert (told.value.fault.column, told.value.fault.value) == ("x_m", "abc")


@pytest.mark.parametrize(
    ("columns", "why"),
    [({"time_s": "Clock"}, "no column 'Clock'"), ({"depth_m": "x_m"}, "'depth_m' is not known")],
)
def test_a_mapping_that_does_not_fit_is_refused(columns: dict[str, str], why: str) -> None:
    with pytest.raises(FileRefused, match=why):
        read("time_s,x_m\n0,1\n", **columns)


def test_bytes_of_another_encoding_are_refused() -> None:
    with pytest.raises(FileRefused, match="UTF-16"):
        read_trace_file("time_s,x_m\n0,1\n".encode("utf-16"))
