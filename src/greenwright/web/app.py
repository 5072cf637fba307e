"""The application: routes, guard and error pages joined."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.staticfiles import StaticFiles

from greenwright.base.errors import GreenwrightError
from greenwright.web import api, entering, errors, loading, questions, reckoning, records
from greenwright.web.asking import Room
from greenwright.web.security import Guard
from greenwright.web.views import HERE, Views


def create_app(store_path: Path, *, today: Callable[[], date] | None = None) -> FastAPI:
    """Return the application over one record file, made empty when there is none.

    Args:
        store_path: the record.
        today: the day taken as today; None = today where the course is.

    Raises:
        StoreError: the file is no record.
    """
    app = FastAPI(
        title="Greenwright",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_lifespan,
    )
    app.state.room = Room(Path(store_path), today)
    app.state.views = Views()
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    # The questions come last: their address is any single word.
    for part in (api, entering, loading, records, reckoning, questions):
        app.include_router(part.router)
    app.add_exception_handler(GreenwrightError, errors.plain)
    app.add_exception_handler(HTTPException, errors.missing)
    app.add_exception_handler(RequestValidationError, errors.unread)
    app.add_middleware(Guard, fault=errors.broken)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    yield
    app.state.room.close()
