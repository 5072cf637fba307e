"""A browser's requests without a browser: straight into the application."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import httpx
from anyio.from_thread import start_blocking_portal
from fastapi import FastAPI

from greenwright.web import create_app

HOST = "http://localhost"


class Client:
    """Sends requests to an application and remembers its cookies."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        # A loop in a thread of its own: the browser's driver keeps one running in this thread.
        self._aside = start_blocking_portal()
        self._loop = self._aside.__enter__()
        self._client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url=HOST
        )

    def __enter__(self) -> Client:
        return self

    def __exit__(self, *_: object) -> None:
        self._loop.call(self._client.aclose)
        self._aside.__exit__(None, None, None)
        self.app.state.room.close()

    def get(self, path: str, **more: Any) -> httpx.Response:
        """Ask for a page, following where it leads."""
        return self._send("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx.Response:
        """Send a form, following where it leads."""
        return self._send("POST", path, **more)

    def _send(self, method: str, path: str, **more: Any) -> httpx.Response:
        more.setdefault("follow_redirects", True)
        return self._loop.call(partial(self._client.request, method, path, timeout=120, **more))


def client_of(path: Path, today: Any) -> Client:
    """Return a client that speaks to the pages of a record."""
    return Client(create_app(path, today=lambda: today))
