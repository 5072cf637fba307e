"""Loading files: first a look at what would be kept and refused, then the load itself."""

from __future__ import annotations

import re
from collections import OrderedDict
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from greenwright.base.errors import BadInput, GreenwrightError
from greenwright.base.tables import record_files
from greenwright.base.values import LoadReport
from greenwright.desk import books
from greenwright.web.asking import Room, room_of
from greenwright.web.forms import FormOf, Upload
from greenwright.web.reckoning import maybe

router = APIRouter(prefix="/record/load", include_in_schema=False)
RoomOf = Annotated[Room, Depends(room_of)]
SHOWN = 200
"""Refusals and changes listed on a page."""


class Waiting:
    """Files that were looked at and wait for a yes; the oldest make room."""

    def __init__(self, most: int = 8) -> None:
        self._held: OrderedDict[str, TemporaryDirectory[str]] = OrderedDict()
        self._most, self._lock = most, Lock()

    def put(self, files: tuple[Upload, ...]) -> tuple[str, Path]:
        """Keep files in a folder of their own and return its token."""
        folder = TemporaryDirectory(prefix="greenwright-load-")
        for one in files:
            (Path(folder.name) / safe_name(one.name)).write_bytes(one.body)
        token = uuid4().hex
        with self._lock:
            self._held[token] = folder
            while len(self._held) > self._most:
                self._held.popitem(last=False)[1].cleanup()
        return token, Path(folder.name)

    def take(self, token: str) -> TemporaryDirectory[str] | None:
        """Hand over the files of a token; they can be taken once."""
        with self._lock:
            return self._held.pop(token, None)


WAITING = Waiting()


def safe_name(name: str) -> str:
    """Return a file name without folders and strange characters.

    >>> safe_name("../../etc/pass wd.csv"), safe_name("C:\\\\x\\\\Work.CSV")
    ('pass_wd.csv', 'work.csv')
    """
    last = re.split(r"[\\/]", name)[-1]
    return re.sub(r"[^A-Za-z0-9_.-]", "_", last).lstrip(".").lower()[:80] or "file"


@router.get("")
def form(request: Request, room: RoomOf) -> Response:
    """Show the form that takes files."""
    return _page(request, room, report=None)


@router.post("/look")
def look(request: Request, room: RoomOf, form: FormOf) -> Response:
    """Show what loading the files would keep and refuse; nothing is kept yet."""
    try:
        if not form.files:
            raise BadInput("No file was chosen", do="Choose one or more files and look again")
        _refuse_namesakes(form.files)
        token, folder = WAITING.put(form.files)
        report = _load(request, room, folder, dry_run=True)
    except GreenwrightError as error:
        return _page(request, room, report=None, error=error, who=form.get("who"))
    return _page(request, room, report=report, token=token, who=form.get("who"))


def _refuse_namesakes(files: tuple[Upload, ...]) -> None:
    """Refuse two files of one name: the second would silently take the place of the first."""
    names = [safe_name(one.name) for one in files]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise BadInput(
            f"Two files are called {twice}", where="files", do="Load them one after the other"
        )


@router.post("/keep")
def keep(request: Request, room: RoomOf, form: FormOf) -> Response:
    """Load the files that were looked at."""
    folder = WAITING.take(form.get("token"))
    if folder is None:
        error = BadInput(
            "These files are no longer waiting here", do="Choose them again; nothing was lost"
        )
        return _page(request, room, report=None, error=error, who=form.get("who"))
    try:
        with folder as name:
            report = _load(request, room, Path(name), dry_run=False, who=form.get("who"))
    except GreenwrightError as error:
        return _page(request, room, report=None, error=error, who=form.get("who"))
    return _page(request, room, report=report)


def _load(
    request: Request, room: Room, folder: Path, *, dry_run: bool, who: str = ""
) -> LoadReport:
    asked = maybe(request, room)
    files = sorted(folder.iterdir())
    own = any(p.name == "course.csv" or p.suffix == ".xlsx" for p in files)
    key = asked.course.course if asked and len(asked.courses) > 1 and not own else None
    return books.load_paths(
        room.store,
        files,
        course=key,
        on=room.today(asked.course.course if asked else None),
        who=who or "web page",
        why="files loaded",
        dry_run=dry_run,
    )


def _page(
    request: Request,
    room: Room,
    *,
    report: LoadReport | None,
    error: GreenwrightError | None = None,
    token: str = "",
    who: str = "",
) -> Response:
    return request.app.state.views.draw(
        request,
        "load.html",
        maybe(request, room),
        status=422 if error else 200,
        title="Load files",
        report=report,
        shown=SHOWN,
        names=[f"{name}.csv" for name in record_files()],
        token=token,
        who=who,
        error=error,
    )
