"""Read each distinct text once: dates, greens and kinds repeat in nearly every row."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Any


class Remembered(dict[Hashable, Any]):
    """The results of one reader by what it has read."""

    def __init__(self, read: Callable[[Any], Any]) -> None:
        super().__init__()
        self._read = read

    def __missing__(self, key: Hashable) -> Any:
        result = self[key] = self._read(key)
        return result

    def each(self, keys: Iterable[Hashable]) -> list[Any]:
        """Return the result of every key, in order.

        >>> Remembered(len).each(["a", "bb", "a"])
        [1, 2, 1]
        """
        return list(map(self.__getitem__, keys))
