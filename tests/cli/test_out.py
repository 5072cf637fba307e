"""Progress shows on a terminal only, after a while only, and leaves nothing behind."""

from __future__ import annotations

import io
import time

import pytest

from greenwright.cli import out


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def on_terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    # Set inside the test: pytest takes standard error back between a fixture and its test.
    made = Terminal()
    monkeypatch.setattr("sys.stderr", made)
    return made


def test_quick_work_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = on_terminal(monkeypatch)
    with out.progress() as tell:
        tell("Reading", 0.5)
    assert terminal.getvalue() == ""


def test_slow_work_is_told_and_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(out, "PATIENCE_S", 0.02)
    terminal = on_terminal(monkeypatch)
    with out.progress() as tell:
        tell("Reading", 0.25)
        time.sleep(0.2)
        tell("Writing", 0.5)
    shown = terminal.getvalue()
    assert "Reading … 25 %" in shown and "Writing … 50 %" in shown
    assert shown.endswith("\r") and shown.rsplit("\r", 2)[1].strip() == ""


def test_away_from_a_terminal_nothing_is_told(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(out, "PATIENCE_S", 0.0)
    with out.progress() as tell:
        tell("Reading", 0.25)
        time.sleep(0.05)
    assert capsys.readouterr() == ("", "")


def test_json_keeps_letters_and_refuses_nan(capsys: pytest.CaptureFixture[str]) -> None:
    out.say_json({"name": "Bröndsø"})
    assert "Bröndsø" in capsys.readouterr().out
    with pytest.raises(ValueError, match="Out of range"):
        out.say_json({"x": float("nan")})
