"""load(export(x)) = x, for rows that no person would think of."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from greenwright import record
from tests.record.made import DAY, course, load, parsed, roll
from tests.record.test_export import EVER, again

PRINTABLE = st.characters(exclude_categories=["C", "Z"], include_characters=" ")
WORDS = st.text(PRINTABLE, min_size=1, max_size=12).map(str.strip)
TEXT = st.one_of(
    WORDS.filter(bool), st.builds(str.__add__, st.sampled_from("=+-@'"), WORDS.filter(bool))
)
DAYS = st.dates(date(2025, 1, 1), DAY)
NUMBER = st.floats(0.7, 9.9)


def optional(**columns: st.SearchStrategy) -> st.SearchStrategy[dict]:
    return st.fixed_dictionaries({}, optional=columns)


ROLLS = st.lists(
    st.builds(
        lambda day, number, rest: roll(number, date=day, given=repr(number)) | rest,
        DAYS,
        NUMBER,
        optional(
            time=st.times().map(lambda t: t.replace(microsecond=0)),
            station=TEXT,
            observer=TEXT,
            note=TEXT,
            n=st.integers(1, 9),
            set=TEXT,
            direction=st.sampled_from("ab"),
            pass_=st.sampled_from(["along", "across"]),
            roll_length_m=st.floats(0.0, 30.0),
            entered_at=st.datetimes(datetime(2025, 1, 1), datetime(2026, 1, 1)),
            other=st.dictionaries(st.sampled_from(["sky", "wind", "Zeta"]), TEXT, min_size=1),
            id=st.uuids().map(str),
        ),
    ),
    max_size=12,
)
CALENDAR = st.lists(
    st.builds(
        lambda start, days, name, rest: (
            {
                "start": start,
                "end": start + timedelta(days),
                "name": name,
                "kind": "event",
            }
            | rest
        ),
        DAYS,
        st.integers(0, 5),
        TEXT,
        optional(weight=st.floats(0.0, 10.0), rounds=st.floats(0.0, 2000.0), note=TEXT),
    ),
    max_size=5,
    unique_by=lambda row: (row["start"], row["name"]),
)


@settings(max_examples=30, deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate])
@given(rolls=ROLLS, events=CALENDAR)
def test_load_of_export_is_the_record(
    tmp_path_factory: pytest.TempPathFactory, rolls: list[dict], events: list[dict]
) -> None:
    folder = tmp_path_factory.mktemp("round")
    with record.open_store(folder / "first.db", create=True) as store:
        load(store, course(note="=2+2"), parsed("greens", {"green": "1"}))
        load(store, parsed("readings", *rolls), parsed("calendar", *events))
        seen = record.snapshot(store, None, on=EVER)
        assert again(store, folder) == seen
