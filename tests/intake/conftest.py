"""One way into the room for every test: texts of files -> what the room made of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from greenwright.base.values import Known, ParsedFile
from greenwright.intake import read_paths

TODAY = date(2026, 6, 5)
COURSE = Known("heron", ("1", "2", "3"), ("A", "B"), (("1", "C"),))

Read = Callable[..., dict[str, ParsedFile]]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Return a function that writes files into a folder and reads the folder."""

    def read_files(known: Known = COURSE, **files: str | bytes) -> dict[str, ParsedFile]:
        for name, content in files.items():
            data = content.encode("utf-8") if isinstance(content, str) else content
            (tmp_path / f"{name}.csv").write_bytes(data)
        parsed, _ = read_paths([tmp_path], today=TODAY, known=known)
        for file in parsed:
            assert file.read == len(file.rows) + len({r.row for r in file.refusals})
        return {file.name: file for file in parsed}

    return read_files
