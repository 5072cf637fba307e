"""Serving the pages on this machine."""

from __future__ import annotations

import socket
from collections.abc import Callable
from datetime import date
from pathlib import Path

from greenwright.base.errors import BadInput
from greenwright.web.app import create_app

LOCAL = ("127.0.0.1", "localhost", "::1")


def serve(
    path: Path,
    host: str = "127.0.0.1",
    port: int = 8747,
    *,
    today: Callable[[], date] | None = None,
    announce: Callable[[str], None] | None = None,
) -> None:
    """Serve a record's pages until stopped.

    Args:
        path: the record file.
        host: an address of this machine; others are refused.
        port: 0 = any free one.
        today: the day taken as today; None = the course's own.
        announce: told the address as soon as the port is ours.

    Raises:
        BadInput: the address is not this machine's, or the port is taken.
    """
    import uvicorn

    if host not in LOCAL:
        raise BadInput(f"{host} is not an address of this machine", expected=" | ".join(LOCAL))
    app = create_app(path, today=today)
    with listening(host, port) as sock:
        if announce:
            shown = f"[{host}]" if ":" in host else host
            announce(f"http://{shown}:{sock.getsockname()[1]}/")
        config = uvicorn.Config(app, log_level="warning", server_header=False, date_header=False)
        uvicorn.Server(config).run(sockets=[sock])


def listening(host: str, port: int) -> socket.socket:
    """Return a socket that listens on an address of this machine.

    Raises:
        BadInput: the port is taken.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((host, port))
    except OSError as error:
        sock.close()
        raise BadInput(
            f"port {port} cannot be used: {error.strerror}",
            where=host,
            do="choose another with --port, or 0 for any free one",
        ) from error
    return sock
