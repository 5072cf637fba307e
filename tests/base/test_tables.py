"""The tables of data agree with the values they become, and with each other."""

from __future__ import annotations

import dataclasses
from datetime import date

import pytest

from greenwright.base import values
from greenwright.base.errors import BadInput, GreenwrightError, UnknownKey
from greenwright.base.tables import (
    firmness_methods,
    kinds,
    practices,
    quantities,
    record_files,
    vocabulary,
)
from greenwright.base.values import Course, Green, Snapshot, greens_named

EXTRA = {"readings": {"given", "given_unit", "other"}, "work": {"given", "given_unit", "other"}}


@pytest.mark.parametrize("name", list(record_files()))
def test_a_file_and_its_value_have_the_same_fields(name: str) -> None:
    spec = record_files()[name]
    fields = {f.name for f in dataclasses.fields(getattr(values, spec.value))}
    assert fields == {c.field for c in spec.columns} | EXTRA.get(name, {"other"})
    assert set(spec.identity) <= {c.name for c in spec.columns}
    assert spec.known in {"date", "issued", "status", "always"}


def test_every_choice_has_its_words() -> None:
    for spec in record_files().values():
        for column in spec.columns:
            assert (column.type == "choice") == bool(column.of), column
            if column.of:
                assert len(vocabulary(column.of)) >= 2


def test_kinds_inform_quantities_and_have_a_window() -> None:
    # the windows of the record format: distances 0.6-10 m, speeds 1-5.5 m, heights 1.5-12 mm
    assert (kinds()["roll_distance"].low, kinds()["roll_distance"].high) == (0.6, 10.0)
    assert (kinds()["green_speed"].low, kinds()["green_speed"].high) == (1.0, 5.5)
    assert (kinds()["height_of_cut"].low, kinds()["height_of_cut"].high) == (1.5, 12.0)
    assert kinds()["clippings"].unit_required
    assert all(k.low < k.high for k in kinds().values())
    named = {k.quantity for k in kinds().values()}
    assert set(quantities()) <= named


def test_counts_are_of_n_rolls() -> None:
    assert {k.key for k in kinds().values() if k.of_n} == {"hops", "drifts", "clean_rolls"}


def test_firmness_methods_are_never_one_scale() -> None:
    assert {m.higher_is for m in firmness_methods().values()} == {"firmer", "softer"}
    assert len({m.key for m in firmness_methods().values()}) == 4


def test_practices_have_units_of_their_own_kind() -> None:
    for practice in practices().values():
        assert bool(practice.unit) == bool(practice.units), practice.key
        assert not practice.units or practice.units[0] == practice.unit


def test_an_unknown_vocabulary_is_named() -> None:
    with pytest.raises(UnknownKey, match="no vocabulary named 'colour'"):
        vocabulary("colour")


GREENS = tuple(Green(green=k, group=g) for k, g in (("1", "A"), ("2", "A"), ("3", "B")))


@pytest.mark.parametrize(
    ("text", "keys"),
    [("all", "123"), ("", "123"), ("A", "12"), ("3;1", "13"), ("B; 1", "13"), ("2", "2")],
)
def test_greens_are_named_by_key_group_or_all(text: str, keys: str) -> None:
    assert greens_named(text, GREENS) == tuple(keys)


def test_a_green_key_wins_over_a_group_of_the_same_name() -> None:
    greens = (Green(green="A", group="B"), Green(green="2", group="A"))
    assert greens_named("A", greens) == ("A",)


def test_a_green_that_is_not_there_is_named() -> None:
    with pytest.raises(UnknownKey, match="'9' is not a green or a group") as caught:
        greens_named("1;9", GREENS)
    assert "1, 2, 3" in caught.value.sentence()


def test_a_snapshot_groups_the_greens_in_play() -> None:
    idle = Green(green="P", group="A", in_play=False)
    alone = Green(green="N")
    made = Snapshot(
        course=Course(course="fen", name="Fen"),
        as_of=date(2026, 6, 5),
        greens=(*GREENS, idle, alone),
    )
    assert made.groups == {"A": ("1", "2"), "B": ("3",), "N": ("N",)}


def test_an_error_says_what_where_expected_and_do() -> None:
    error = BadInput("no number", where="row 3", expected="a number", do="Write 2.5.")
    assert error.sentence() == "row 3: no number. Expected a number. Write 2.5."
    assert isinstance(error, GreenwrightError) and error.exit_code == 2
