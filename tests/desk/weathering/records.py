"""Small records of a course and its weather, written as files and loaded; numbers invented."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from greenwright.desk import books
from greenwright.record import Store
from tests.desk.records import write_csv

ON = date(2026, 6, 12)
COURSE = "course,name,latitude,longitude,elevation_m\nfen,Fen,52.0,0.5,20\n"
GREENS = "green,group,grass,rootzone\n1,A,creeping bentgrass,sand\n2,A,creeping bentgrass,sand\n"
WEATHER = "date,kind,issued,t_min_c,t_max_c,rain_mm,rh_mean_pct,wind_m_s,solar_mj_m2,leaf_wet_h\n"
FINE = "11,23,0,68,2.1,20,"


def line(k: int, numbers: str = FINE, kind: str = "observed", issued: str = "") -> str:
    """Return one row of weather.csv, k days after ON."""
    return f"{ON + timedelta(days=k)},{kind},{issued},{numbers}\n"


def seen(days: Iterable[int], numbers: str = FINE) -> str:
    """Return rows of observed days."""
    return "".join(line(k, numbers) for k in days)


def ahead(days: Iterable[int], numbers: str = FINE) -> str:
    """Return rows of a forecast issued on ON."""
    return "".join(line(k, numbers, "forecast", str(ON)) for k in days)


def fill(store: Store, folder: Path, **files: str) -> Store:
    """Load a course with its greens and whatever else is given; every row must be kept."""
    held = {"course": COURSE, "greens": GREENS} | files
    for name, text in held.items():
        if text:
            write_csv(folder, name, text)
    report = books.load_paths(store, [folder], on=ON)
    assert report.total.refused == 0, report
    return store
