"""Every example in a docstring is run."""

from __future__ import annotations

import doctest
import importlib

import pytest

from tests.architecture.sources import PACKAGE, modules

NAMES = [
    ".".join(("greenwright", *path.relative_to(PACKAGE).with_suffix("").parts))
    for path in modules()
    if ">>>" in path.read_text("utf-8")
]


def test_there_are_examples() -> None:
    assert len(NAMES) >= 5


@pytest.mark.parametrize("name", NAMES)
def test_examples_hold(name: str) -> None:
    module = importlib.import_module(name.removesuffix(".__init__"))
    result = doctest.testmod(module)
    assert result.attempted > 0 and result.failed == 0
