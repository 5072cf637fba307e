"""`greenwright trace`: plain words, JSON, and readings kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from greenwright.base.errors import BadInput
from greenwright.cli.trace import ends, pairs
from tests.cli.conftest import Call
from tests.desk.test_traces import written
from tests.measure.rolled_balls import film, shaken, way


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("traces")
    return written(film(way(walk=8e-5, slowing=0.6, seed=1)), folder / "there.csv")


def test_words_say_what_was_seen_and_what_cannot_be_told(call: Call, there: Path) -> None:
    done = call("trace", there)
    assert done.code == 0
    # by hand: 1.8288^2 / (2 * 0.6) = 2.787 m = 9'2"
    assert "From the ramp it would have run 2.79" in done.out
    assert "9'2\"" in done.out and "one roll one way" in done.out
    assert "mm sideways per metre" in done.out
    assert "Cannot be told: vertical events" in done.out


def test_two_ways_say_level(call: Call, there: Path) -> None:
    back = written(film(way(walk=8e-5, slowing=0.5, seed=2)), there.parent / "back.csv")
    done = call("trace", there, "--back", back)
    assert "level; the line slopes 0.7 %" in done.out
    assert "roll a ball back" not in done.out


def test_events_and_roughness_are_told(call: Call, there: Path) -> None:
    one = written(shaken(way(), bumps=(0.5, 1.0, 1.5)), there.parent / "shaken.csv")
    done = call("trace", one)
    # three knocks on 2.94 m
    assert "Vertical events: 1.0 (" in done.out
    assert "Roughness in waves of 50 to 100 mm" in done.out


def test_json_holds_the_same(call: Call, there: Path) -> None:
    done = call("trace", there, "--json")
    assert done.json["trace"] == ["there.csv"] and done.json["saved"] == []
    assert done.json["rolls"][0]["source"] == "position"


def test_readings_are_kept(call: Call, there: Path, small: Path) -> None:
    words = ("trace", there, "--save", "--date", "2026-06-02", "--record", small)
    green = "1"
    done = call(*words, "--green", green, "--instrument", "film-1")
    assert done.code == 0, done.err
    assert "Kept 2 of 2 readings in the record." in done.out
    refused = call(*words, "--green", "no-such")
    assert refused.code == 3 and "not a green here" in refused.out
    assert call(*words).code == 2


def test_a_mapping_and_a_span_are_taken(call: Call, there: Path) -> None:
    text = there.read_text("utf-8").replace("time_s,x_m,y_m", "Clock,px,py", 1)
    odd = there.parent / "odd.csv"
    odd.write_text(text, "utf-8")
    assert call("trace", odd).code == 3
    done = call("trace", odd, "--columns", "time_s=Clock,x_m=px,y_m=py", "--span", "0.3:2.0")
    assert done.code == 0 and "0.30 to 2.00 s" in done.out


def test_faults_are_told_with_their_reason(call: Call, there: Path, tmp_path: Path) -> None:
    lost = call("trace", tmp_path / "none.csv", "--json")
    assert lost.code == 1 and "error" in lost.json
    bad = tmp_path / "bad.csv"
    bad.write_text("time_s,x_m,y_m\n0,1,1\n1,2,1\n")
    done = call("trace", bad, "--json")
    assert done.code == 3 and "too few" in done.json["error"]["what"]
    assert call("trace", there, "--columns", "oops").code == 2
    assert call("trace", there, "--span", "now").code == 2
    assert call("trace", there, "--date", "today", "--save").code == 2


def test_pairs_and_ends() -> None:
    assert pairs("") == {}
    assert ends(":2") == (None, 2.0)
    with pytest.raises(BadInput, match="MEANING=HEADER"):
        pairs("time_s=")
    with pytest.raises(BadInput, match="no span"):
        ends("3")
