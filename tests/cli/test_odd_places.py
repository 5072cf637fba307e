"""Records in odd places: other alphabets, no rights, no file, another program's file."""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.cli.conftest import SMALL, Call

DAY = ("--on", "2026-06-05")
NAMES = (
    "Sjöängens bana",
    "ゴルフ場",
    "with 'quotes' & more",
    "-dash first",
    "tab\tin it",
    "ü" * 60,
)


@pytest.mark.parametrize("name", NAMES)
def test_paths_of_any_letters_hold_a_record(tmp_path: Path, call: Call, name: str) -> None:
    folder = tmp_path / name
    shutil.copytree(SMALL, folder / "files")
    path = folder / f"{name}.db"
    assert call("load", folder / "files", "--record", path, *DAY).code == 3
    assert "Heron Fen" in call("ask", "today", "--record", path, *DAY).out
    assert call("export", folder / "ut", "--record", path).code == 0
    assert call("backup", folder / "kopia.db", "--record", path).code == 0
    assert (folder / "ut" / "readings.csv").exists() and (folder / "kopia.db").exists()


def test_files_of_any_letters_are_named_as_they_are(tmp_path: Path, call: Call) -> None:
    got = call("load", tmp_path / "läsningar.csv", "--record", tmp_path / "x.db")
    assert got.code == 3 and "läsningar.csv" in got.err and not (tmp_path / "x.db").exists()


@pytest.mark.parametrize(
    "words",
    [("ask", "today"), ("audit",), ("load", str(SMALL)), ("export", "out")],
)
def test_a_newer_record_is_left_alone(
    small: Path, tmp_path: Path, call: Call, words: tuple[str, ...]
) -> None:
    newer = tmp_path / "newer.db"
    shutil.copy(small, newer)
    with sqlite3.connect(newer) as conn:
        conn.execute("UPDATE alembic_version SET version_num = '9999'")
    conn.close()
    before = newer.read_bytes()
    got = call(*words, "--record", newer)
    assert got.code == 1 and "newer version" in got.err and "newer.db" in got.err
    assert newer.read_bytes() == before


@pytest.mark.parametrize("content", [b"", b"SQLite format 3\0" + b"\0" * 90, b"PK\x03\x04" * 400])
def test_a_file_that_is_no_record_is_left_as_it_is(
    tmp_path: Path, call: Call, content: bytes
) -> None:
    path = tmp_path / "other.db"
    path.write_bytes(content)
    for words in (("ask", "today"), ("audit",), ("backup", str(tmp_path / "b.db"))):
        got = call(*words, "--record", path)
        assert got.code == 1 and "other.db" in got.err and "Traceback" not in got.err
    assert path.read_bytes() == content and not (tmp_path / "b.db").exists()


def test_another_program_s_database_is_no_record(tmp_path: Path, call: Call) -> None:
    path = tmp_path / "music.db"
    with sqlite3.connect(path) as conn:
        conn.execute("CREATE TABLE song (name TEXT)")
    conn.close()
    for words in (("ask", "today"), ("load", str(SMALL))):
        got = call(*words, "--record", path)
        assert got.code == 1 and "music.db" in got.err
    with sqlite3.connect(path) as conn:
        names = [row[0] for row in conn.execute("SELECT name FROM sqlite_master")]
    conn.close()
    assert names == ["song"]


@pytest.mark.parametrize("words", [("ask", "today"), ("audit",), ("export", "x"), ("backup", "y")])
def test_a_folder_is_no_record(tmp_path: Path, call: Call, words: tuple[str, ...]) -> None:
    got = call(*words, "--record", tmp_path)
    assert got.code == 1 and "folder" in got.err and not list(tmp_path.iterdir())


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is closed to the administrator")
def test_a_folder_that_may_not_be_written(small: Path, tmp_path: Path, call: Call) -> None:
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0o500)
    for words in (
        ("load", str(SMALL), "--record", str(closed / "x.db")),
        ("backup", str(closed / "b.db"), "--record", str(small)),
        ("export", str(closed / "out"), "--record", str(small)),
        ("demo", "--record", str(closed / "d.db")),
    ):
        got = call(*words)
        assert got.code == 1 and "Traceback" not in got.err and "closed" in got.err


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize(
    ("error", "says"),
    [
        (PermissionError(13, "Permission denied", "shed.db"), "shed.db"),
        (OSError(28, "No space left on device"), "No space left"),
    ],
)
def test_a_disk_that_refuses_is_told_in_words(
    call: Call, monkeypatch: pytest.MonkeyPatch, error: OSError, says: str, as_json: bool
) -> None:
    from greenwright.desk import books

    def refuse(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(books, "open_book", refuse)
    got = call("ask", "today", *(["--json"] if as_json else []))
    assert got.code == 1 and says in got.err and "Traceback" not in got.err
    assert got.json["error"]["do"] if as_json else got.out == ""


def test_a_load_that_keeps_nothing_leaves_no_file(tmp_path: Path, call: Call) -> None:
    folder = tmp_path / "r"
    folder.mkdir()
    (folder / "readings.csv").write_text("date,green,kind,value\n2026-06-05,1,x,9\n", "utf-8")
    got = call("load", folder, "--record", tmp_path / "new.db", *DAY)
    assert got.code in (1, 3) and not (tmp_path / "new.db").exists()


def test_trying_a_load_out_makes_no_file(tmp_path: Path, call: Call) -> None:
    got = call("load", SMALL, "--record", tmp_path / "new.db", *DAY, "--dry-run")
    assert got.code == 3 and "Would keep 96 of 109" in got.out  # sums of expected.json
    assert not list(tmp_path.iterdir())


def test_short_and_full_words(small: Path, call: Call) -> None:
    short, full = (
        call("ask", "week", "--record", small, *DAY, *extra).out for extra in ((), ("--full",))
    )
    assert "--full" in short.splitlines()[-1] and "--full" not in full
    assert len(short.splitlines()) <= 85 < len(full.splitlines())
    assert "How we know" in full and "How we know" not in short
    for warned in ("Leave the work if", "Labels, local codes and licensed practice"):
        assert warned in short
    assert "Lightning: at the first thunder everybody leaves" in full
