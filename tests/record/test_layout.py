"""Stored rows and values: every file, every form, there and back."""

from __future__ import annotations

from dataclasses import MISSING, fields
from datetime import date, datetime, time

import pytest

from greenwright.base.errors import BadInput
from greenwright.base.tables import record_files
from greenwright.record.layout import (
    check_types,
    layout,
    make_values,
    row_fields,
    same_content,
    stored_columns,
)

FILES = list(record_files())
EXAMPLES = {
    "text": "a word",
    "real": 1.25,
    "integer": 3,
    "yesno": True,
    "date": date(2026, 2, 3),
    "time": time(6, 5),
    "datetime": datetime(2026, 2, 3, 6, 5),
}


def full_row(name: str) -> dict[str, object]:
    row: dict[str, object] = {f.name: EXAMPLES[f.form] for f in layout(name).fields}
    return row | {"other": {"wind": "N", "a": "1"}}


@pytest.mark.parametrize("name", FILES)
def test_every_field_of_a_value_is_stored(name: str) -> None:
    shape = layout(name)
    assert {f.name for f in fields(shape.value)} == {*shape.names, "id"}


@pytest.mark.parametrize("name", FILES)
def test_a_full_row_comes_back_as_the_class_would_make_it(name: str) -> None:
    shape, row = layout(name), full_row(name)
    columns = stored_columns(shape, [row])
    expected = shape.value(id="x", **row)
    assert make_values(shape, ["x"], columns) == (expected,)
    assert row_fields(shape, tuple(c[0] for c in columns)) == row


@pytest.mark.parametrize("name", FILES)
def test_missing_cells_become_the_defaults_of_the_class(name: str) -> None:
    shape = layout(name)
    needed = {f.name for f in fields(shape.value) if f.default is f.default_factory is MISSING}
    row = {n: EXAMPLES[shape.field(n).form] for n in needed}
    # A second, full row keeps every column from being left out altogether.
    both = make_values(shape, ["a", "b"], stored_columns(shape, [row, full_row(name)]))
    assert both[0] == shape.value(id="a", **row)
    alone = make_values(shape, ["a"], stored_columns(shape, [row]))
    assert alone[0] == shape.value(id="a", **row)


def test_values_share_nothing_that_could_be_changed() -> None:
    shape = layout("rounds")
    one, two = make_values(shape, ["a", "b"], stored_columns(shape, [{}, {}]))
    assert one.other == {} and one.other is not two.other


def test_zero_and_no_are_not_missing() -> None:
    shape = layout("feedback")
    row = {"date": date(2026, 6, 1), "topic": "slow", "count": 0, "asked": False, "n_asked": 0}
    content = tuple(c[0] for c in stored_columns(shape, [row]))
    assert row_fields(shape, content) == row


def test_the_way_a_quantity_was_written_is_not_what_it_says() -> None:
    shape = layout("readings")
    feet = {"value": 2.4384, "unit": "m", "given": "8 ft"}  # 8 x 0.3048 m, by hand
    inches = {**feet, "given": "96 in"}
    other = {**feet, "value": 2.5}
    one, two, three = (
        tuple(c[0] for c in stored_columns(shape, [row])) for row in (feet, inches, other)
    )
    assert same_content(shape, one, two)
    assert not same_content(shape, one, three)


@pytest.mark.parametrize(
    "wrong",
    [
        {"colour": "green"},
        {"value": "2.5"},
        {"value": float("nan")},
        {"n": True},
        {"n": 1.5},
        {"date": "2026-06-01"},
        {"green": 1},
    ],
)
def test_a_field_of_the_wrong_type_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        check_types(layout("readings"), wrong)


def test_right_types_and_emptied_cells_pass() -> None:
    check_types(layout("readings"), {"value": 2, "n": None, "time": time(7), "other": {}})


def test_an_unknown_file_is_named() -> None:
    with pytest.raises(BadInput, match="no record file named 'scores'"):
        layout("scores")
