"""Frozen values: one class for each row of each record file, and the record on a day."""

from greenwright.base.values.loading import (
    Change,
    FileCount,
    Known,
    LoadReport,
    ParsedFile,
    ParsedRow,
    Refusal,
    Revision,
)
from greenwright.base.values.observed import (
    Feedback,
    LabResult,
    Putts,
    Reading,
    Rounds,
    WeatherDay,
    Work,
)
from greenwright.base.values.place import Course, Green, Station, greens_named
from greenwright.base.values.planned import CalendarEntry, CrewRow, Limit, Material, Target
from greenwright.base.values.snapshot import Snapshot

__all__ = [
    "CalendarEntry",
    "Change",
    "Course",
    "CrewRow",
    "Feedback",
    "FileCount",
    "Green",
    "Known",
    "LabResult",
    "Limit",
    "LoadReport",
    "Material",
    "ParsedFile",
    "ParsedRow",
    "Putts",
    "Reading",
    "Refusal",
    "Revision",
    "Rounds",
    "Snapshot",
    "Station",
    "Target",
    "WeatherDay",
    "Work",
    "greens_named",
]
