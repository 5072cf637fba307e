"""A form's one row obeys the rules of a file's row."""

from __future__ import annotations

import pytest

from greenwright.base.errors import UnknownKey
from greenwright.intake import read_form
from tests.intake.conftest import COURSE, TODAY

GOOD = {"date": "2026-06-05", "green": "1", "kind": "roll_distance", "value": "9'6\"", "unit": ""}


def form(file="readings", **cells):
    return read_form(file, GOOD | cells if file == "readings" else cells, today=TODAY, known=COURSE)


def test_a_good_row_is_kept():
    parsed = form()
    assert (parsed.read, parsed.refusals) == (1, ())
    # by hand: 114 in x 0.0254
    assert parsed.rows[0].fields["value"] == pytest.approx(2.8956)


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"green": "9"}, "green"),
        ({"value": "40 ft"}, "value"),
        ({"date": ""}, "date"),
        ({"date": "05/06/2026"}, "date"),
        ({"note": "\ud800"}, "note"),
        ({"note": "\0"}, "note"),
    ],
)
def test_a_bad_row_is_refused_at_its_column(cells, column):
    parsed = form(**cells)
    assert (parsed.read, parsed.rows) == (1, ())
    assert parsed.refusals[0].column == column


def test_a_form_that_lacks_a_needed_field_says_which():
    assert form("rounds", date="2026-06-01").refusals[0].column == "rounds"
    assert form("rounds").refusals[0].column == "date"


def test_strange_fields_are_detail():
    parsed = form(tenant="x")
    assert parsed.unknown_columns == ("tenant",)
    assert parsed.rows[0].fields["other"] == {"tenant": "x"}


def test_no_such_file():
    with pytest.raises(UnknownKey):
        form("scores")


def test_an_apostrophe_that_was_typed_stays():
    assert form(note="'=1").rows[0].fields["note"] == "'=1"
