"""A few things worked out, held in memory for the next who asks; the longest unasked go first."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Held(Generic[Key, Value]):
    """Values by key, so many at the most; safe to ask from several threads.

    >>> held = Held[str, int](most=2)
    >>> for place, key in enumerate("abc"):
    ...     _ = held.keep(key, place)
    >>> held.get("a"), held.get("c"), len(held)
    (None, 2, 2)
    """

    def __init__(self, most: int) -> None:
        """Hold nothing yet.

        Args:
            most: how many values.
        """
        self._most = most
        self._values: OrderedDict[Key, Value] = OrderedDict()
        self._lock = Lock()

    def __len__(self) -> int:
        """Return how many values are held."""
        return len(self._values)

    def get(self, key: Key) -> Value | None:
        """Return what is held for a key, None where nothing is."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
            return self._values.get(key)

    def keep(
        self, key: Key, value: Value, *, joined: Callable[[Value, Value], Value] | None = None
    ) -> Value:
        """Hold a value; return it.

        Args:
            key: what it answers to.
            value: in place of what is held.
            joined: makes one of what is held and the new value, where both matter.
        """
        with self._lock:
            old = self._values.pop(key, None)
            both = value if joined is None or old is None else joined(old, value)
            self._values[key] = both
            while len(self._values) > self._most:
                self._values.popitem(last=False)
            return both

    def clear(self) -> None:
        """Let go of all."""
        with self._lock:
            self._values.clear()
