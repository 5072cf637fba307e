"""A browser's requests without a browser: straight into the application."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

from greenwright.web import create_app

HOST = "http://localhost"


class Client:
    """Sends requests to an application and remembers its cookies."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self._loop = asyncio.Runner()
        self._client = httpx.AsyncClient(
            transport=httpx.ASGITransport(app=app, raise_app_exceptions=False), base_url=HOST
        )

    def __enter__(self) -> Client:
        return self

    def __exit__(self, *_: object) -> None:
        self._loop.run(self._client.aclose())
        self._loop.close()
        self.app.state.room.close()

    def get(self, path: str, **more: Any) -> httpx.Response:
        """Ask for a page, following where it leads."""
        return self._send("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx.Response:
        """Send a form, following where it leads."""
        return self._send("POST", path, **more)

    def _send(self, method: str, path: str, **more: Any) -> httpx.Response:
        more.setdefault("follow_redirects", True)
        return self._loop.run(self._client.request(method, path, timeout=120, **more))


def client_of(path: Path, today: Any) -> Client:
    """Return a client that speaks to the pages of a record."""
    return Client(create_app(path, today=lambda: today))
