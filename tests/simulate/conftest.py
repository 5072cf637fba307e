"""One full invented course and one small one, made once."""

from __future__ import annotations

from datetime import date

import pytest

from greenwright.simulate import Simulated, World, course

TODAY = date(2026, 6, 12)


@pytest.fixture(scope="session")
def demo() -> Simulated:
    return course(7, today=TODAY)


@pytest.fixture(scope="session")
def small() -> Simulated:
    return course(3, today=TODAY, world=World(greens=6, days=60))
