"""The Today page, warm, through the whole web face."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from statistics import quantiles

from bench.timing import Row, seconds

CALLS = 100


def rows(store: Path, day: date) -> list[Row]:
    """Return the 95th percentile of the Today page over many calls."""
    from starlette.testclient import TestClient

    from greenwright.web import create_app

    with TestClient(create_app(store, today=lambda: day), base_url="http://127.0.0.1") as client:
        client.get("/").raise_for_status()
        times = [seconds(lambda: client.get("/").raise_for_status()) for _ in range(CALLS)]
    return [
        Row("Today page, warm, 95th percentile", quantiles(times, n=20)[-1] * 1000, "ms", 150.0)
    ]
