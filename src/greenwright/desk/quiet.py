"""The solver's greeting, taken off standard output, where only the answer may stand."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache

import highspy

_STDOUT = 1


@lru_cache(maxsize=1)
def settle_solver() -> None:
    """Let the solver greet into nothing.

    It prints its name once in a process, when it is first made and before it can be told not to.
    """
    with _output_dropped():
        highspy.Highs()


@contextmanager
def _output_dropped() -> Iterator[None]:
    try:
        kept = os.dup(_STDOUT)
    except OSError:
        # A process without standard output has none to spoil.
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDOUT)
        yield
    finally:
        os.dup2(kept, _STDOUT)
        os.close(kept)
        os.close(nowhere)
