"""The evidence table is clean, its checker refuses bad entries, its numbers are the sources'."""

from __future__ import annotations

import json
import math
import re
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

import greenwright
from greenwright.base.errors import BadInput, UnknownKey
from greenwright.base.evidence import (
    GRADES,
    GRADES_WITH_CITATION,
    Evidence,
    as_source,
    bibliography,
    check_entries,
    citation_text,
    evidence,
    look_up,
    raw_entries,
    value,
)

SOURCES = {"a-source-1999": {"title": "On sand", "venue": "A journal", "year": 1999}}


def good(**changes: Any) -> dict[str, Any]:
    row = {
        "key": "effect.sand.speed",
        "label": "what sand does to speed",
        "value": 1.0,
        "unit": "m",
        "sd": 0.5,
        "validity": "greens",
        "grade": "published",
        "source": "a-source-1999",
    }
    return {name: held for name, held in {**row, **changes}.items() if held is not None}


def problems_of(**changes: Any) -> list[str]:
    return check_entries([good(**changes)], SOURCES)


def test_the_table_is_clean() -> None:
    assert check_entries(raw_entries(), bibliography()) == []


def test_a_good_entry_passes() -> None:
    assert problems_of() == []


@pytest.mark.parametrize("field", ["label", "value", "unit", "validity", "grade"])
def test_a_missing_field_is_refused(field: str) -> None:
    assert f"effect.sand.speed: missing {field}" in problems_of(**{field: None})


@pytest.mark.parametrize("field", ["label", "unit", "validity", "grade"])
def test_a_blank_field_is_refused(field: str) -> None:
    assert f"effect.sand.speed: missing {field}" in problems_of(**{field: " "})


def test_an_entry_without_key_is_refused() -> None:
    assert "entry without key: missing key" in problems_of(key=None)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"key": "plain"}, "key is not dotted words"),
        ({"key": "effect..sand"}, "key is not dotted words"),
        ({"grade": "certain"}, "unknown grade certain"),
        ({"source": "nobody-2000"}, "unknown source nobody-2000"),
        ({"source": ["a-source-1999", "nobody-2000"]}, "unknown source nobody-2000"),
        ({"sd": None}, "missing uncertainty"),
        ({"sd": 0.0}, "sd is not above zero"),
        ({"sd": -1.0}, "sd is not above zero"),
        ({"uncertainty": "who knows"}, "unknown uncertainty who knows"),
        ({"sd": None, "uncertainty": "elicited"}, "elicited uncertainty without sd"),
        ({"low": 2.0}, "value is outside its low and high"),
        ({"high": 0.5}, "value is outside its low and high"),
        ({"value": math.nan}, "a number is not finite"),
        ({"value": [1.0, math.inf]}, "a number is not finite"),
        ({"value": {"low": math.inf}}, "a number is not finite"),
        ({"unit": "ft"}, "unit ft is not SI"),
        ({"unit": "lb/1000 ft2"}, "is not SI"),
        ({"author": "Somebody"}, "unknown field author"),
    ],
)
def test_a_planted_fault_is_named(changes: dict[str, Any], said: str) -> None:
    assert any(said in problem for problem in problems_of(**changes))


@pytest.mark.parametrize("grade", GRADES)
def test_only_published_and_reported_need_a_citation(grade: str) -> None:
    found = check_entries([good(grade=grade, source=None)], {})
    assert bool(found) == (grade in GRADES_WITH_CITATION)


def test_a_duplicate_key_is_refused() -> None:
    assert "effect.sand.speed: entered 2 times" in check_entries([good(), good()], SOURCES)


def test_an_unused_source_is_refused() -> None:
    sources = {**SOURCES, "idle-2001": {"title": "Idle", "venue": "A journal"}}
    assert "source idle-2001: cited by no entry" in check_entries([good()], sources)


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ({"title": "On sand", "venue": "J", "author": "Someone"}, "unknown field author"),
        ({"title": "On sand", "venue": "J", "authors": ["Someone"]}, "unknown field authors"),
        ({"title": "Someone et al: on sand", "venue": "J"}, "names an author"),
        ({"title": "On sand", "venue": "Someone, A. B., J"}, "names an author"),
        ({"venue": "J"}, "missing title"),
        ({"title": "On sand"}, "missing venue"),
    ],
)
def test_a_bad_source_is_refused(source: dict[str, Any], said: str) -> None:
    found = check_entries([good()], {"a-source-1999": source})
    assert any(said in problem for problem in found)


def test_an_unknown_key_names_near_ones() -> None:
    with pytest.raises(UnknownKey, match=r"effect\.roll\.green_speed"):
        look_up("effect.rol.green_speed")


def test_a_far_key_still_says_what_to_do() -> None:
    with pytest.raises(UnknownKey, match="enter the number with its grade and source"):
        look_up("zzz")


def test_value_refuses_a_table_and_a_list() -> None:
    for key in ("targets.default.smoothness", "crop_coefficient.c3.monthly"):
        with pytest.raises(BadInput, match="not one number"):
            value(key)


def test_keys_come_in_alphabetical_order() -> None:
    assert all(one < two for one, two in pairwise(evidence()))


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        evidence()["x"] = look_up("loss.cap")  # type: ignore[index]
    with pytest.raises(TypeError):
        look_up("targets.default.smoothness").value["low"] = 0.0  # type: ignore[index]


def test_as_source_has_the_answer_keys_and_is_json() -> None:
    for entry in evidence().values():
        row = as_source(entry)
        assert list(row) == ["key", "value", "unit", "grade", "citation"]
        assert json.loads(json.dumps(row, allow_nan=False)) == row


def test_citations_are_joined_or_empty() -> None:
    assert as_source(look_up("loss.cap"))["citation"] == ""
    two = look_up("golfers.holing_test_correlation")
    assert as_source(two)["citation"].count("; ") == len(two.sources) - 1 == 1


def test_citation_text_gives_a_doi_only_where_one_was_read() -> None:
    source = {**SOURCES["a-source-1999"], "doi": "10.1/x"}
    assert citation_text(source) == "On sand, A journal, 1999, doi:10.1/x"
    assert citation_text({"title": "On sand", "venue": "A journal"}) == "On sand, A journal"


def test_graded_entries_carry_their_citation() -> None:
    bare = [
        e.key for e in evidence().values() if e.grade in GRADES_WITH_CITATION and not e.citation
    ]
    assert bare == []


def test_every_source_file_key_is_a_short_slug() -> None:
    odd = [key for key in bibliography() if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key)]
    assert odd == []


def test_no_table_is_longer_than_a_file_may_be() -> None:
    folder = Path(greenwright.__file__).parent / "evidence"
    lengths = {path.name: len(path.read_text("utf-8").splitlines()) for path in folder.iterdir()}
    assert {name: n for name, n in lengths.items() if n > 400} == {}


def test_evidence_is_frozen() -> None:
    entry = look_up("loss.cap")
    assert isinstance(entry, Evidence)
    with pytest.raises(AttributeError):
        entry.value = 1.0  # type: ignore[misc]


def test_tables_are_read_only_views() -> None:
    assert isinstance(look_up("targets.default.smoothness").value, MappingProxyType)


# Keys that other rooms take by name: a missing one would stop them.
def test_effects_that_code_builds_by_name_exist() -> None:
    for practice in ("topdress", "verticut"):
        for outcome in ("green_speed", "smoothness"):
            for part in ("early", "late", "early_days", "late_days"):
                assert f"effect.{practice}.{outcome}.{part}" in evidence()


def test_every_setting_has_a_speed_band() -> None:
    settings = ("daily-fee", "member", "resort", "event", "municipal", "other")
    bands = [look_up(f"targets.default.{setting}.green_speed").value for setting in settings]
    assert all(band["low"] < band["high"] for band in bands)  # type: ignore[index]


def test_bands_are_ordered_wherever_a_table_has_low_and_high() -> None:
    held = [e.value for e in evidence().values() if isinstance(e.value, MappingProxyType)]
    bands = [table for table in held if set(table) == {"low", "high"}]
    assert len(bands) > 20
    assert all(table["low"] < table["high"] for table in bands)


def test_late_effects_end_after_early_ones() -> None:
    starts = [key for key in evidence() if key.endswith("early_days")]
    late = [key.replace("early_days", "late_days") for key in starts]
    assert starts
    assert all(value(a) < value(b) for a, b in zip(starts, late, strict=True))
