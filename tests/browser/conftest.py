"""A real browser on pages served by a child process that is always stopped."""

from __future__ import annotations

import os
import re
import select
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from greenwright.desk import books

CHROMIUM = Path(os.environ.get("CHROMIUM", "/usr/bin/chromium"))
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
ROOT = Path(__file__).parents[2]
SMALL = ROOT / "tests" / "data" / "record-small"
ON = date(2026, 6, 5)
SERVE = """
import sys
from datetime import date
from pathlib import Path
from greenwright.web import serve
serve(Path(sys.argv[1]), port=0, today=lambda: date(2026, 6, 5),
      announce=lambda address: print(address, flush=True))
"""
WIDTHS = {"phone": (360, 740), "laptop": (1280, 800)}
STARTUP_S = 40


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder as a browser test."""
    for item in items:
        if "tests/browser" in str(item.path):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start the browser once; without one, skip here and fail where CI promises it."""
    if not CHROMIUM.exists():
        reason = f"no browser at {CHROMIUM}: install chromium, or name one in CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as play:
        held = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        try:
            yield held
        finally:
            held.close()


@pytest.fixture(scope="session")
def record_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a record with the small example in it."""
    path = tmp_path_factory.mktemp("browser") / "small.db"
    with books.open_book(path, create=True) as store:
        books.load_paths(store, [SMALL], on=ON, who="test")
    return path


@pytest.fixture(scope="session")
def site(record_path: Path) -> Iterator[str]:
    """Serve the record in a child process; return its address."""
    yield from served(record_path)


def served(path: Path, serve: str = SERVE) -> Iterator[str]:
    """Serve a record until the caller is done, and then surely stop."""
    child = subprocess.Popen(
        [sys.executable, "-c", serve, str(path)], stdout=subprocess.PIPE, cwd=ROOT
    )
    try:
        yield _address(child)
    finally:
        child.terminate()
        try:
            child.wait(timeout=10)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait(timeout=10)
        if child.stdout:
            child.stdout.close()


def _address(child: subprocess.Popen[bytes]) -> str:
    assert child.stdout is not None
    ready, _, _ = select.select([child.stdout], [], [], STARTUP_S)
    line = child.stdout.readline().decode() if ready else ""
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\n", line), f"not served: {line!r}"
    address = line.strip().rstrip("/")
    _await_answer(int(address.rsplit(":", 1)[1]))
    return address


def _await_answer(port: int) -> None:
    """Wait until the port takes calls: the address is told a moment before."""
    end = time.monotonic() + STARTUP_S
    while time.monotonic() < end:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except ConnectionRefusedError:
            time.sleep(0.05)
        else:
            return
    raise AssertionError(f"nothing answers on port {port}")


Opener = Callable[..., Page]


@pytest.fixture
def opened(browser: Browser, site: str) -> Iterator[Opener]:
    """Open pages in fresh contexts; any script error or blocked resource fails the test."""
    yield from opener(browser, site)


def opener(browser: Browser, site: str) -> Iterator[Opener]:
    """Give what opens pages of a site, and close them at the end."""
    contexts: list[BrowserContext] = []
    trouble: list[str] = []

    def make(
        path: str, *, width: str = "phone", scheme: str = "light", script: bool = True
    ) -> Page:
        size = WIDTHS[width]
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme=scheme,
            java_script_enabled=script,
            base_url=site,
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: trouble.append(str(error)))
        page.on("console", lambda m: trouble.append(m.text) if "Content Security" in m.text else 0)
        # An answer may come while the page that waits for it still loads, and lead on from it.
        page.goto(path, wait_until="commit")
        page.wait_for_load_state()
        return page

    yield make
    for context in contexts:
        context.close()
    assert trouble == []


def settle(page: Page, *, seconds: int = 60) -> None:
    """Wait until the answer has taken the place of its progress."""
    page.locator("#progress").wait_for(state="detached", timeout=seconds * 1000)
    page.locator("h1").wait_for()
    page.wait_for_load_state()
