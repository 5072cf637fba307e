"""The Today page, warm, over a real connection to a real server."""

from __future__ import annotations

import subprocess
from datetime import date
from pathlib import Path
from statistics import quantiles
from time import sleep

import httpx

from bench.timing import COMMAND, Row, seconds

CALLS = 100
READY = "Green speed on each green"


def rows(store: Path, day: date) -> list[Row]:
    """Return the 95th percentile of the Today page over many calls, once it is answered."""
    words = [COMMAND, "serve", "--record", str(store), "--on", day.isoformat(), "--port", "0"]
    server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        address = server.stdout.readline().split()[1]
        with httpx.Client(base_url=address) as client:
            first = seconds(lambda: _until_answered(client))
            times = [seconds(lambda: _page(client)) for _ in range(CALLS)]
    finally:
        server.terminate()
        server.wait()
    slow = quantiles(times, n=20)[-1] * 1000
    beside = f"first answer {first:.1f} s"
    return [Row("Today page, warm, 95th percentile", slow, "ms", 150.0, beside=beside)]


def _until_answered(client: httpx.Client) -> None:
    for _ in range(200):
        if READY in client.get("/").raise_for_status().text:
            return
        sleep(0.1)
    raise RuntimeError("the Today page never showed its answer")


def _page(client: httpx.Client) -> None:
    if READY not in client.get("/").raise_for_status().text:
        raise RuntimeError("the page was not the answer")
