"""The default courses stay what they are, to the byte, whatever new options are added."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from greenwright.simulate import Manager, Simulated, World, course, write_record, write_truth


def digest(made: Simulated, folder: Path) -> str:
    """SHA-256 over the files of the record and of the truth, in order of their names."""
    found = hashlib.sha256()
    for path in sorted(write_record(made, folder)):
        found.update(path.name.encode())
        found.update(path.read_bytes())
    write_truth(made, folder / "t.json")
    found.update((folder / "t.json").read_bytes())
    return found.hexdigest()


# Each made by this function at the commit before there were options: they hold nothing but that
# nothing has moved since.
FROZEN = {
    "demo": "2222265bd48b3bfd02b8ee2c1f389a7ab836a4caaebd6741f950da320b57026b",
    "small": "72984264452431fd39f33dbc8d449bb186f38fbaadf96fad4e04c5694ee9c7b1",
    "by need": "9b4ce38f451a7dff165b73d0686c6f988265a2347b81546e17594b4c6cef0b81",
}


def made(name: str) -> Simulated:
    if name == "demo":
        return course(7)
    if name == "small":
        return course(3, world=World(greens=6, days=60))
    driven = Manager.coin_flip().driven(1.5)
    return course(5, world=World(greens=6, days=120, manager=driven))


@pytest.mark.parametrize("name", list(FROZEN))
def test_the_default_course_is_the_same_to_the_byte(name: str, tmp_path: Path) -> None:
    assert digest(made(name), tmp_path) == FROZEN[name]


def test_another_seed_is_another_course(tmp_path: Path) -> None:
    other = course(4, world=World(greens=6, days=60))
    assert digest(other, tmp_path) != FROZEN["small"]
