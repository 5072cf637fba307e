"""Error pages: what is wrong, where, what was expected, and the one thing to do next."""

from __future__ import annotations

import logging

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from greenwright.base.errors import (
    BadInput,
    CannotAnswer,
    GreenwrightError,
    RefusedInput,
    StoreError,
)
from greenwright.web.asking import Asked, room_of

LOG = logging.getLogger("greenwright.web")
STATUS = {BadInput: 400, RefusedInput: 422, CannotAnswer: 409, StoreError: 503}
TITLES = {
    BadInput: "That cannot be used",
    RefusedInput: "That was not kept",
    CannotAnswer: "The record cannot answer this yet",
    StoreError: "The record cannot be read or written",
}


def plain(request: Request, error: Exception) -> Response:
    """Return the page (or JSON) of an error raised on purpose."""
    held = error if isinstance(error, GreenwrightError) else GreenwrightError(str(error))
    kind = next((k for k in STATUS if isinstance(held, k)), GreenwrightError)
    return _reply(request, held, STATUS.get(kind, 400), TITLES.get(kind, "That did not work"))


def missing(request: Request, error: Exception) -> Response:
    """Return the page of an address that leads nowhere, or of another refusal of the server."""
    status = error.status_code if isinstance(error, HTTPException) else 404
    if status == 404:
        held = GreenwrightError(
            "There is no page at this address",
            where=request.url.path[:120],
            do="Start again from Today",
        )
        return _reply(request, held, 404, "Nothing here")
    held = GreenwrightError("This address cannot be used in this way", do="Start from Today")
    return _reply(request, held, status, "That cannot be done here")


def unread(request: Request, error: Exception) -> Response:
    """Return the page of an address or field that cannot be read as what it stands for."""
    faults = error.errors() if isinstance(error, RequestValidationError) else []
    place, name = faults[0]["loc"][:2] if faults and len(faults[0]["loc"]) > 1 else ("", "")
    if place == "path":
        return missing(request, HTTPException(404))
    typed = str(faults[0].get("input"))[:40] if faults else ""
    whole = bool(faults) and faults[0]["type"].startswith("int")
    expected = "a whole number" if whole else ""
    return plain(request, BadInput(f"{typed!r} cannot be used", where=str(name), expected=expected))


def broken(request: Request, error: Exception) -> Response:
    """Return the page of a fault of ours; what happened goes to the log, not to the page."""
    LOG.error("fault on %s", request.url.path.encode("unicode_escape").decode(), exc_info=error)
    held = GreenwrightError(
        "Something went wrong in the program; the record is as it was before",
        do="Try again; if it stays so, write down what you did and report it",
    )
    return _reply(request, held, 500, "Something went wrong")


def _reply(request: Request, held: GreenwrightError, status: int, title: str) -> Response:
    if request.url.path.startswith("/api/"):
        told = {"what": held.what, "where": held.where, "expected": held.expected, "do": held.do}
        return JSONResponse({"error": told}, status_code=status)
    views = request.app.state.views
    return views.draw(
        request, "error.html", _asked(request), status=status, title=title, error=held
    )


def _asked(request: Request) -> Asked | None:
    try:
        return room_of(request).asked(request)
    except GreenwrightError:
        return None
