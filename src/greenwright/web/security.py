"""Who may ask: only this machine, only our own pages; and what every reply carries."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

HOSTS = frozenset({"localhost", "127.0.0.1", "[::1]"})
BODY_LIMIT = 12 * 1024 * 1024
FORM_LIMIT = 128 * 1024
"""Bytes of a form without files."""

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    # Not no-referrer: with it a browser hides the Origin of our own forms from us.
    "referrer-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """Refuse strangers, limit bodies, and put the safety headers on every reply, faults too.

    Args:
        app: what is guarded.
        fault: makes the reply to a fault of ours.
    """

    def __init__(self, app: App, fault: Callable[[Request, Exception], Response]) -> None:
        self.app, self.fault = app, fault

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one request through, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = refused(scope)
        if refusal is not None:
            await refusal(scope, receive, _headed(scope, send))
            return
        limited = _limited(receive, limit_for(Headers(scope=scope)))
        headed = _headed(scope, send)
        try:
            await self.app(scope, limited, headed)
        except TooLarge:
            await _too_large()(scope, receive, headed)
        except Exception as error:
            await self.fault(Request(scope), error)(scope, receive, headed)


class TooLarge(Exception):
    """The body passed its limit while it was read."""


def refused(scope: Scope) -> Response | None:
    """Return the refusal of a request that is not for us, not from us, or too large."""
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    if not known_host(host, scope):
        return _say(421, f"This program answers only on this machine, not as {host[:80]!r}.")
    if scope["method"] not in ("GET", "HEAD") and not from_us(headers, host, scope):
        return _say(403, "This change was asked for by another page, so nothing was done.")
    length = headers.get("content-length", "0")
    if not length.isdigit() or int(length) > limit_for(headers):
        return _too_large()
    return None


def known_host(host: str, scope: Scope) -> bool:
    """Tell whether a Host header names this machine and the port that we listen on."""
    name, port = split_port(host)
    listening = (scope.get("server") or (None, None))[1]
    return name in HOSTS and (not port or listening is None or port == str(listening))


def split_port(host: str) -> tuple[str, str]:
    """Return name and port of a Host header.

    >>> split_port("[::1]:8747"), split_port("localhost")
    (('[::1]', '8747'), ('localhost', ''))
    """
    head, colon, tail = host.rpartition(":")
    if not colon or tail.endswith("]"):
        return host.lower(), ""
    return head.lower(), tail


def from_us(headers: Headers, host: str, scope: Scope) -> bool:
    """Tell whether a change was asked for by one of our own pages (or by no page at all)."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site not in ("same-origin", "none"):
        return False
    return origin is None or origin == f"{scope.get('scheme', 'http')}://{host}"


def limit_for(headers: Headers) -> int:
    """Return how many bytes a request may carry."""
    kind = headers.get("content-type", "")
    return BODY_LIMIT if kind.startswith("multipart/form-data") else FORM_LIMIT


def _limited(receive: Receive, limit: int) -> Receive:
    seen = 0

    async def _counted() -> MutableMapping[str, Any]:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > limit:
            raise TooLarge
        return message

    return _counted


def _headed(scope: Scope, send: Send) -> Send:
    static = scope["path"].startswith("/static/")

    async def _sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers.setdefault("cache-control", "no-cache" if static else "no-store")
        await send(message)

    return _sent


def _too_large() -> Response:
    return _say(413, "That is too large: send at most 12 MB of files at a time.")


def _say(status: int, text: str) -> Response:
    return PlainTextResponse(text + "\n", status_code=status)
