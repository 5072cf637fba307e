"""Which row is which: a row's own id, or a name made of what identifies it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from uuid import UUID

from greenwright.record.layout import Content, Field, Layout, Stored

NAMESPACE = UUID("6d2f1c5e-0b52-5b0e-9d0c-3f3a5a7c1e42")
"""Namespace of the ids made here (RFC 9562, version 5); it never changes."""

SEPARATOR = "\x1f"
_VARIANT = {digit: "89ab"[int(digit, 16) & 3] for digit in "0123456789abcdef"}


@dataclass(frozen=True, slots=True)
class Identities:
    """Row ids of one file: ordinal among rows alike, and whether the row brought its own id."""

    ids: list[str]
    ordinals: list[int]
    own: list[int]


def name_uuid(text: str) -> str:
    """Return the version 5 UUID of a text.

    The standard library's class makes the same, five times slower.

    >>> name_uuid("")[14]
    '5'
    """
    digest = hashlib.sha1(NAMESPACE.bytes + text.encode("utf-8"), usedforsecurity=False)
    h = digest.hexdigest()
    return f"{h[:8]}-{h[8:12]}-5{h[13:16]}-{_VARIANT[h[16]]}{h[17:20]}-{h[20:32]}"


def identify(
    shape: Layout, rows: Sequence[Mapping[str, Any]], columns: Sequence[Sequence[Stored]]
) -> Identities:
    """Return the ids of the rows of one file, in their order.

    Args:
        rows: values by field name, for the ids that rows bring themselves.
        columns: the same rows as stored columns.
    """
    found = Identities([], [], [])
    seen: dict[str, int] = {}
    for row, text in zip(rows, identity_texts(shape, columns), strict=True):
        own = row.get("id")
        ordinal = 0 if own else seen.get(text, 0)
        if not own:
            seen[text] = ordinal + 1
        found.ids.append(str(own) if own else name_uuid(f"{text}{SEPARATOR}{ordinal}"))
        found.ordinals.append(ordinal)
        found.own.append(1 if own else 0)
    return found


def identity_texts(shape: Layout, columns: Sequence[Sequence[Stored]]) -> list[str]:
    """Return for each row the text of its identity, without the ordinal.

    Two different rows that happened to share a text would only count as rows alike, and their
    ordinals would keep them apart.
    """
    parts = [_texts(shape.fields[i], columns[i]) for i in _identity_places(shape)]
    join = SEPARATOR.join
    return [join((shape.name, *cells)) for cells in zip(*parts, strict=True)]


@lru_cache(maxsize=32)
def _identity_places(shape: Layout) -> tuple[int, ...]:
    at = {f.column.name: i for i, f in enumerate(shape.fields) if f.column}
    return tuple(at[name] for name in shape.file.identity)


def _texts(f: Field, column: Sequence[Stored]) -> list[str]:
    # An empty cell means its default, so that "observed" and an empty kind are one row.
    default = "" if f.default is None else str(int(f.default) if f.form == "yesno" else f.default)
    if f.form == "text" and not default:
        return list(column)  # type: ignore[arg-type]
    if f.form == "real":
        return [default if cell is None else repr(cell) for cell in column]
    return [default if cell == f.empty else str(cell) for cell in column]


_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def digest(content: Content) -> str:
    """Return the fingerprint of a stored row: BLAKE2b-128 of its JSON array, in hex."""
    return hashlib.blake2b(_encode(content).encode("utf-8"), digest_size=16).hexdigest()
