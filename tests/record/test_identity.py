"""Which row is which: names made of what identifies it, ordinals among rows alike."""

from __future__ import annotations

import hashlib
from datetime import date
from uuid import uuid5

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.record.identity import NAMESPACE, digest, identify, name_uuid
from greenwright.record.layout import layout, stored_columns
from tests.record.made import roll


def ids(name: str, *rows: dict) -> list[str]:
    shape = layout(name)
    return identify(shape, rows, stored_columns(shape, rows)).ids


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_names_are_version_5_uuids(text: str) -> None:
    # Outside reference: uuid.uuid5 of the standard library (RFC 9562).
    assert name_uuid(text) == str(uuid5(NAMESPACE, text))


def test_the_fingerprint_is_blake2b_of_a_json_array() -> None:
    # Outside reference: hashlib's BLAKE2b over the array written by hand.
    written = '["2026-06-01",2.5,null,"Loch é"]'.encode()
    expected = hashlib.blake2b(written, digest_size=16).hexdigest()
    assert digest(("2026-06-01", 2.5, None, "Loch é")) == expected


def test_rows_alike_are_told_apart_by_their_ordinal_and_never_by_their_value() -> None:
    first = ids("readings", roll(2.4), roll(2.5), roll(2.6))
    again = ids("readings", roll(9.9), roll(8.8), roll(7.7))
    assert len(set(first)) == 3
    assert first == again


@pytest.mark.parametrize(
    ("name", "row", "other"),
    [
        ("readings", roll(), {"observer": "ben"}),
        ("readings", roll(), {"direction": "b"}),
        ("readings", roll(), {"pass_": "across"}),
        ("work", {"date": date(2026, 6, 1), "green": "1", "practice": "mow"}, {"green": "all"}),
        ("weather", {"date": date(2026, 6, 1)}, {"kind": "forecast"}),
        ("lab", {"date": date(2026, 3, 1), "analyte": "K"}, {"depth_cm": 10.0}),
        ("feedback", {"date": date(2026, 6, 1), "topic": "slow"}, {"asked": True}),
        ("targets", {"quantity": "moisture"}, {"from_": date(2026, 6, 1)}),
    ],
)
def test_what_identifies_a_row_makes_another_row(name: str, row: dict, other: dict) -> None:
    assert ids(name, row) != ids(name, row | other)


@pytest.mark.parametrize(
    ("name", "row", "other"),
    [
        ("readings", roll(), {"value": 3.0, "n": 4, "note": "wind", "method": "x"}),
        ("work", {"date": date(2026, 6, 1), "green": "1", "practice": "mow"}, {"amount": 3.2}),
        ("weather", {"date": date(2026, 6, 1)}, {"kind": "observed"}),
        ("feedback", {"date": date(2026, 6, 1), "topic": "slow"}, {"asked": False}),
    ],
)
def test_the_rest_of_a_row_does_not(name: str, row: dict, other: dict) -> None:
    assert ids(name, row) == ids(name, row | other)


def test_a_row_with_its_own_id_keeps_it_and_leaves_the_ordinals_alone() -> None:
    own = "0b1e2c3d-0000-4000-8000-000000000001"
    assert ids("readings", roll(id=own), roll())[0] == own
    assert ids("readings", roll(id=own), roll())[1] == ids("readings", roll())[0]


def test_the_same_identity_in_two_files_is_two_rows() -> None:
    day = {"date": date(2026, 6, 1)}
    assert ids("rounds", day) != ids("lab", day)
