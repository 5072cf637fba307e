"""The versions that the tables of a store have had, oldest first."""

from __future__ import annotations

RELEASED: tuple[str, ...] = ("0001", "0002")
"""Every schema version, oldest first; each is a file of ``migrations/versions``."""

HEAD = RELEASED[-1]
