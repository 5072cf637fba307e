"""The command, called as a person calls it, with what it printed and its exit code."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from greenwright.cli import app

SMALL = Path(__file__).resolve().parents[1] / "data" / "record-small"


@dataclass(frozen=True)
class Called:
    """Exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Return standard output as JSON."""
        return json.loads(self.out)


Call = Callable[..., Called]


@pytest.fixture(scope="session")
def call() -> Call:
    """Give a function that calls the command with words and paths."""

    def run(*words: str | Path) -> Called:
        done = CliRunner().invoke(app, [str(word) for word in words])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Called(done.exit_code, done.stdout, done.stderr)

    return run


@pytest.fixture(scope="module")
def small(call: Call, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a record file that holds the small example record."""
    path = tmp_path_factory.mktemp("cli") / "small.db"
    assert call("load", SMALL, "--record", path, "--on", "2026-06-05").code == 3
    return path
