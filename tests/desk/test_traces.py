"""A trace from its file to the record and on to the surface."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from greenwright.base.errors import BadInput, RefusedInput
from greenwright.desk import books, traces
from greenwright.measure import surface
from greenwright.measure.traces import MotionTrace
from greenwright.measure.traces.readings import SLOPE_UNKNOWN
from greenwright.record import Store, snapshot
from tests.measure.rolled_balls import RELEASE, film, shaken, way

DAY = date(2026, 6, 2)


def written(trace: MotionTrace, path: Path) -> Path:
    held = trace.channels()
    rows = zip(trace.time_s, *held.values(), strict=True)
    lines = [",".join(["time_s", *held]), *(",".join(f"{x:.6f}" for x in row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


@pytest.fixture
def there(tmp_path: Path) -> Path:
    return written(film(way(walk=8e-5, slowing=0.6, seed=1)), tmp_path / "there.csv")


@pytest.fixture
def back(tmp_path: Path) -> Path:
    return written(film(way(walk=8e-5, slowing=0.5, seed=2)), tmp_path / "back.csv")


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    folder = tmp_path / "record"
    folder.mkdir()
    (folder / "course.csv").write_text("course,name,timezone\nlinden,Linden,UTC\n")
    (folder / "greens.csv").write_text("green,in_play\n1,yes\n2,yes\n")
    with books.open_book(tmp_path / "course.db", create=True) as held:
        books.load_paths(held, [folder], on=DAY)
        yield held


def test_a_file_says_what_its_trace_says(there: Path) -> None:
    told = traces.read_trace(there)
    assert told.names == ("there.csv",)
    # by hand: 1.8288^2 / (2 * 0.6) = 2.787 m
    assert told.green_speed.value == pytest.approx(2.787, rel=0.01)
    assert SLOPE_UNKNOWN in told.cannot(told.there)


def test_two_ways_give_a_level_speed(there: Path, back: Path) -> None:
    told = traces.read_trace(there, back=back)
    # by hand: 2ab / (a + b) of 2.787 and 3.345 m is v0^2 / (0.6 + 0.5) = 3.0405 m
    assert told.green_speed.value == pytest.approx(RELEASE**2 / 1.1, rel=0.005)
    assert SLOPE_UNKNOWN not in told.cannot(told.there)


def test_one_roll_is_kept_as_a_roll_and_a_wander(store: Store, there: Path) -> None:
    told = traces.read_trace(there)
    traces.save(store, told, green="1", on=DAY, direction="a", instrument="film-1", who="ash")
    rows = {r.kind: r for r in snapshot(store, None, on=DAY).readings}
    assert set(rows) == {"roll_distance", "path_wander"}
    roll, wander = rows["roll_distance"], rows["path_wander"]
    assert roll.value == pytest.approx(2.787, rel=0.01)
    assert (roll.direction, roll.method, roll.instrument) == ("a", "motion trace", "film-1")
    assert (roll.note, roll.observer) == ("there.csv", "ash")
    assert float(wander.other["low"]) < wander.value < float(wander.other["high"])
    assert wander.roll_length_m == pytest.approx(roll.value, abs=0.001)


def test_what_was_kept_says_again_what_the_trace_said(
    store: Store, there: Path, back: Path
) -> None:
    told = traces.read_trace(there, back=back)
    traces.save(store, told, green="1", on=DAY)
    record = snapshot(store, None, on=DAY)
    assert {r.kind for r in record.readings} == {"green_speed", "path_wander"}
    found = surface(record, "trueness", on=DAY)
    index = told.there.trueness_t
    # one path beside a wide prior: between the two, and inside the trace's own interval
    assert index.low < found.per_green[0].value < index.high


def test_the_same_trace_is_kept_once(store: Store, there: Path) -> None:
    for _ in range(2):
        traces.save(store, traces.read_trace(there), green="1", on=DAY)
    assert len(snapshot(store, None, on=DAY).readings) == 2
    traces.save(store, traces.read_trace(there), green="2", on=DAY)
    assert len(snapshot(store, None, on=DAY).readings) == 4


def test_without_positions_there_is_no_wander(store: Store, tmp_path: Path) -> None:
    told = traces.read_trace(written(shaken(way()), tmp_path / "shaken.csv"))
    reports = traces.save(store, told, green="1", on=DAY)
    assert [r.total.kept for r in reports] == [1]


def test_a_green_is_needed_and_must_be_known(store: Store, there: Path) -> None:
    told = traces.read_trace(there)
    with pytest.raises(BadInput, match="no green"):
        traces.save(store, told, green="", on=DAY)
    assert all(r.total.refused for r in traces.save(store, told, green="77", on=DAY))


def test_json_is_plain_and_names_its_sources(there: Path, back: Path) -> None:
    shape = json.loads(json.dumps(traces.as_dict(traces.read_trace(there, back=back))))
    assert len(shape["rolls"]) == 2 and shape["slope"] == pytest.approx(0.00714, rel=0.05)
    roll = shape["rolls"][0]
    assert {"deceleration", "green_speed", "path_wander", "trueness_t", "roughness"} <= set(roll)
    assert roll["events"] is None and roll["roughness"][0]["why"]
    assert {"key", "value", "unit", "grade", "citation"} <= set(shape["sources"][0])


def test_a_bad_file_or_trace_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("time_s,x\n0,1\n")
    with pytest.raises(RefusedInput, match="no unit"):
        traces.read_trace(path)
    path.write_text("time_s,x_m,y_m\n0,1,1\n1,2,1\n")
    with pytest.raises(RefusedInput, match="too few"):
        traces.read_trace(path)
