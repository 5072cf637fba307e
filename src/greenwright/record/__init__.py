"""The store: nothing is overwritten, and every row knows since when it was known."""

from greenwright.record.answers import KeptAnswer, keep_answer, kept_answers
from greenwright.record.audit import audit, rebuild
from greenwright.record.browsing import BrowsedRow, LoadedFile, PastLoad, browse, loads
from greenwright.record.copies import Seal, backup, restore, verify
from greenwright.record.corrections import correct, revisions, withdraw
from greenwright.record.courses import courses, known
from greenwright.record.exporting import Exported, export_record
from greenwright.record.extents import Extent, extent
from greenwright.record.forecasts import (
    ForecastRow,
    StoredForecast,
    forecasts,
    keep_forecast,
)
from greenwright.record.loading import load
from greenwright.record.snapshots import snapshot
from greenwright.record.store import Store, open_store

__all__ = [
    "BrowsedRow",
    "Exported",
    "Extent",
    "ForecastRow",
    "KeptAnswer",
    "LoadedFile",
    "PastLoad",
    "Seal",
    "Store",
    "StoredForecast",
    "audit",
    "backup",
    "browse",
    "correct",
    "courses",
    "export_record",
    "extent",
    "forecasts",
    "keep_answer",
    "keep_forecast",
    "kept_answers",
    "known",
    "load",
    "loads",
    "open_store",
    "rebuild",
    "restore",
    "revisions",
    "snapshot",
    "verify",
    "withdraw",
]
