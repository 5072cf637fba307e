"""Any text is either read or refused; numbers come back as they were written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.intake.faults import FileRefused
from greenwright.intake.trace_file import TraceFile, read_trace_file

NUMBERS = st.floats(-1e6, 1e6, allow_nan=False).map(lambda x: round(x, 6))
HEADS = st.sampled_from(["time_s", "x_m", "y (mm)", "az [g]", "wx", "frame", "", "time_ms", "t_s"])
CELLS = st.one_of(NUMBERS.map(str), st.sampled_from(["", "x", "1,5", "nan", "1e3", "-0"]))


def read_or_refused(data: bytes) -> TraceFile | None:
    try:
        return read_trace_file(data)
    except FileRefused as fault:
        assert fault.what and fault.exit_code == 3
        return None


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    read_or_refused(data)


@given(
    st.lists(HEADS, min_size=1, max_size=4),
    st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=6),
)
def test_any_table_is_read_or_refused(head: list[str], rows: list[list[str]]) -> None:
    text = "\n".join(",".join(f'"{c}"' for c in row) for row in [head, *rows])
    got = read_or_refused(text.encode())
    if got is not None:
        assert all(len(v) == len(got.time_s) for v in got.channels.values())


@given(st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=20))
def test_numbers_come_back(rows: list[tuple[float, float]]) -> None:
    text = "time_s,x_mm\n" + "".join(f"{t!r},{x!r}\n" for t, x in rows)
    got = read_trace_file(text.encode())
    assert got.time_s == pytest.approx([t for t, _ in rows])
    assert got.channels["x_m"] == pytest.approx([x / 1000 for _, x in rows])


@given(st.permutations(["time_s", "x_m", "y_m", "z_m"]))
def test_the_order_of_columns_does_not_matter(heads: list[str]) -> None:
    values = {"time_s": "1", "x_m": "2", "y_m": "3", "z_m": "4"}
    got = read_trace_file(f"{','.join(heads)}\n{','.join(values[h] for h in heads)}\n".encode())
    assert (got.time_s, dict(got.channels)) == (
        (1.0,),
        {"x_m": (2.0,), "y_m": (3.0,), "z_m": (4.0,)},
    )
