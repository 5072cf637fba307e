"""The project speaks of itself alone, in the words of its trade."""

from __future__ import annotations

import re

from tests.architecture.sources import ROOT, tracked_text_files

MACHINE_PATH = re.compile(r"(?<![\w.\-])/(?:home|root|Users|mnt)/\w")
SIGNS = re.compile("[\U0001f300-\U0001faff\u2600-\u27bf]")
SELF = "test_language.py"


def lines_matching(pattern: re.Pattern[str], endings: tuple[str, ...]) -> list[str]:
    return [
        f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
        for path in tracked_text_files()
        if path.suffix in endings and path.name != SELF
        for number, line in enumerate(path.read_text("utf-8", "replace").splitlines(), 1)
        if pattern.search(line)
    ]


def test_no_path_of_one_machine() -> None:
    assert (
        lines_matching(MACHINE_PATH, (".py", ".md", ".toml", ".html", ".css", ".js", ".json", ""))
        == []
    )


def test_no_smileys_or_pictograms_on_pages() -> None:
    assert lines_matching(SIGNS, (".html", ".css", ".py", ".md")) == []


def test_a_planted_word_would_be_seen() -> None:
    assert MACHINE_PATH.search("see /home/ana/notes.md") and SIGNS.search("\u2705")
