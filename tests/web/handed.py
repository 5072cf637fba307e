"""Pages of golfers over an answer written by hand: what the web does, without the science."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from greenwright import desk
from greenwright.base.answer import Answer
from greenwright.desk.golfing.asked import Asked
from tests.show import handmade_golfers as made

RHO_M = 0.23872  # ball-roll science: deceleration times speed over gravity on the level, 0.7832 ft


def index(sideways_mm_per_m: float, speed_m: float) -> float:
    """Return the index T of so much wander, by the printed law sideways = sqrt(T S) / (2 rho)."""
    return (2 * RHO_M * sideways_mm_per_m / 1000) ** 2 / speed_m


class Handed:
    """Stands in for the desk where golfers is asked; remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[dict[str, Any]] = []
        self._real = desk.ask

    def __call__(self, question: str, *args: Any, **named: Any) -> Answer:
        """Answer golfers by hand, other questions truly."""
        if question != "golfers":
            return self._real(question, *args, **named)
        options = {k: v for k, v in named.items() if k not in ("on", "course", "progress")}
        self.asked.append(options)
        Asked(**options)
        return self._made(options)

    def _made(self, options: dict[str, Any]) -> Answer:
        given = {n: options[n] for n in ("speed_m", "smoothness", "trueness_t") if n in options}
        if "sideways_mm_per_m" in options:
            speed = options.get("speed_m", 2.87)
            given["trueness_t"] = index(options["sideways_mm_per_m"], speed)
        putts = made.putts(**{n: options[n] for n in ("green", "player") if n in options})
        now = made.now(**{n: options[n] for n in ("rounds",) if n in options})
        return made.golfers(what_if=made.what_if(**given), putts=putts, now=now)


@pytest.fixture
def handed(monkeypatch: pytest.MonkeyPatch) -> Iterator[Handed]:
    """Put the hand-made answer in the desk's place."""
    stand_in = Handed()
    monkeypatch.setattr(desk, "ask", stand_in)
    yield stand_in
