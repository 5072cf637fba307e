"""Pages of why, forecast, track and effects over answers written by hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from greenwright import desk
from greenwright.base.answer import Answer
from tests.show import handmade_learning as made


def answered(*questions: str) -> pytest.MarkDecorator:
    """Return the mark of a test that only a version answering these questions can pass."""
    left = [q for q in questions if q not in desk.QUESTIONS_READY]
    return pytest.mark.skipif(bool(left), reason=f"this version does not answer {left}")


class Learned:
    """Stands in for the desk where these questions are asked; remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, dict[str, Any]]] = []
        self.every: list[str] = []
        self.tracked = made.track()
        self._real = desk.ask

    def __call__(self, question: str, *args: Any, **named: Any) -> Answer:
        """Answer the questions of learning by hand, others truly."""
        self.every.append(question)
        options = {k: v for k, v in named.items() if k not in ("on", "course", "progress")}
        hand = {
            "why": self._why,
            "forecast": self._forecast,
            "track": lambda **_: self.tracked,
            "effects": lambda **_: made.effects(),
        }.get(question)
        if hand is None:
            return self._real(question, *args, **named)
        self.asked.append((question, options))
        return hand(**options)

    def _why(self, **options: Any) -> Answer:
        return made.why(options.get("green", "course"), options.get("against", ""))

    def _forecast(self, **options: Any) -> Answer:
        return made.forecast(int(options.get("days", 14)), event="event" in options, greens=("1",))


@pytest.fixture
def learned(monkeypatch: pytest.MonkeyPatch) -> Iterator[Learned]:
    """Put the hand-made answers in the desk's place."""
    stand_in = Learned()
    monkeypatch.setattr(desk, "ask", stand_in)
    yield stand_in
