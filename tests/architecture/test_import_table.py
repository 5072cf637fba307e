"""Who may import whom: the table of ARCHITECTURE.md against the code."""

from __future__ import annotations

import re

import pytest

from tests.architecture.sources import PACKAGE, ROOT, imported_names, modules, room_of

PURE = ("stats", "weather", "roll", "measure", "golfers", "feed", "respond", "advise", "verify")
UNCLEAN = ("os", "io", "pathlib", "time", "random", "socket", "sqlite3", "urllib", "subprocess")


def table() -> dict[str, set[str]]:
    rows = re.findall(
        r"^\| (\w+) \| [^|]+ \| ([\w, ]*)\|$", (ROOT / "ARCHITECTURE.md").read_text(), re.M
    )
    return {
        room: {r.strip() for r in allowed.split(",") if r.strip()}
        for room, allowed in rows
        if room != "room"
    }


def breaches(room: str, names: set[str], allowed: set[str]) -> list[str]:
    used = {n.split(".")[1] for n in names if n.startswith("greenwright.") and "." in n}
    return sorted(used - allowed - {room, "__version__"})


def test_the_table_names_every_room_and_only_rooms() -> None:
    rooms = {p.name for p in PACKAGE.iterdir() if p.is_dir() and (p / "__init__.py").exists()}
    assert rooms - {"evidence"} == set(table())


def test_rooms_import_only_what_the_table_lists() -> None:
    rules = table()
    found = {
        str(path.relative_to(ROOT)): bad
        for path, tree in modules().items()
        if room_of(path) in rules
        and (bad := breaches(room_of(path), imported_names(tree), rules[room_of(path)]))
    }
    assert found == {}


def test_a_forbidden_import_would_be_seen() -> None:
    assert breaches("verify", {"greenwright.advise.plan.plan_week"}, {"base", "stats"}) == [
        "advise"
    ]


def test_pure_rooms_touch_no_file_clock_or_global_chance() -> None:
    found = {}
    for path, tree in modules().items():
        if room_of(path) in PURE:
            heads = {n.split(".")[0] for n in imported_names(tree)}
            text = path.read_text("utf-8")
            calls = re.findall(
                r"\b(print\(|open\(|date\.today\(|datetime\.now\(|np\.random\.(?!default_rng|Generator)\w+)",
                text,
            )
            if bad := sorted(heads & set(UNCLEAN)) + calls:
                found[str(path.relative_to(ROOT))] = bad
    assert found == {}


def test_every_room_explains_itself_in_half_a_page() -> None:
    for room in table():
        readme = PACKAGE / room / "README.md"
        assert readme.exists(), f"{room} has no README.md"
        words = len(readme.read_text("utf-8").split())
        assert 60 <= words <= 450, f"{room}/README.md has {words} words, wanted half a page"


@pytest.mark.parametrize("room", ["utils", "helpers", "common", "misc"])
def test_no_drawer_that_never_closes(room: str) -> None:
    assert [p for p in modules() if p.stem == room or room in p.relative_to(PACKAGE).parts] == []
