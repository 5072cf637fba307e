"""Quick entry on a phone: a reading or a piece of work, the next green offered, an undo."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Annotated
from urllib.parse import quote, unquote
from uuid import uuid4

from fastapi import APIRouter, Depends, Request
from starlette.responses import RedirectResponse, Response

from greenwright.base.errors import BadInput, GreenwrightError
from greenwright.base.values import Refusal
from greenwright.desk import books
from greenwright.web import entryforms, rowwords
from greenwright.web.asking import Asked, Room, room_of
from greenwright.web.entryforms import Entry
from greenwright.web.forms import Form, FormOf
from greenwright.web.records import greens_of, latest_cells

router = APIRouter(prefix="/record", include_in_schema=False)
RoomOf = Annotated[Room, Depends(room_of)]
KEPT = ("observer", "instrument", "operator")
"""Fields that the phone remembers from entry to entry."""


@router.get("/enter")
def form(request: Request, room: RoomOf) -> Response:
    """Show the form for one reading or one piece of work."""
    return _page(request, room, Entry.of(request.query_params))


@router.post("/enter")
def save(request: Request, room: RoomOf, form: FormOf) -> Response:
    """Keep what was typed, or show it again with what is wrong."""
    asked, entry = room.asked(request), Entry.of(form.texts())
    try:
        rows = entryforms.rows(entry, form, asked.course)
        refusals = _refusals(room, asked, entry, rows, keep=False)
        refusals = refusals or _refusals(room, asked, entry, rows, keep=True)
    except GreenwrightError as error:
        return _page(request, room, entry, typed=form, faults=[_fault(error)])
    if refusals:
        return _page(request, room, entry, typed=form, faults=_told(refusals))
    return _saved(room, asked, entry, form=form, rows=rows)


def _refusals(
    room: Room, asked: Asked, entry: Entry, rows: Sequence[Mapping[str, str]], *, keep: bool
) -> list[tuple[int, Refusal]]:
    found = []
    for place, cells in enumerate(rows):
        report = books.enter(
            room.store,
            entry.file,
            cells,
            course=asked.course.course,
            on=asked.today,
            who=cells.get("observer") or cells.get("operator") or "",
            dry_run=not keep,
        )
        found += [(place, refusal) for refusal in report.refusals]
    return found


def _told(refusals: Sequence[tuple[int, Refusal]]) -> list[tuple[str, str]]:
    several = len({place for place, _ in refusals}) > 1 or any(place for place, _ in refusals)
    return [
        (r.column, f"Roll {place + 1}: {_spoken(r)}" if several else _spoken(r))
        for place, r in refusals
    ]


def _spoken(refusal: Refusal) -> str:
    parts = (refusal.why, refusal.do)
    return " ".join(f"{t[:1].upper()}{t[1:].rstrip('.')}." for t in parts if t)


def _fault(error: GreenwrightError) -> tuple[str, str]:
    return error.where, ". ".join(t for t in (error.what, error.do) if t)


def _saved(
    room: Room, asked: Asked, entry: Entry, *, form: Form, rows: Sequence[Mapping[str, str]]
) -> Response:
    greens = [g["green"] for g in greens_of(room, asked) if g["in_play"]]
    target = asked.link(
        "/record/enter",
        of=entry.of_what,
        kind=entry.kind,
        green=entryforms.next_green(form.get("green"), greens),
        station=form.get("station") if len(greens) == 1 else "",
        saved=",".join(cells["id"] for cells in rows),
    )
    reply = RedirectResponse(target, status_code=303)
    for name in KEPT:
        if name in form.held:
            _remember(reply, name, form.get(name))
    return reply


def _remember(reply: Response, name: str, value: str) -> None:
    held = quote(value[:80])
    reply.set_cookie(name, held, max_age=400 * 86400, samesite="strict", httponly=True)


@router.post("/undo")
def undo(request: Request, room: RoomOf, form: FormOf) -> Response:
    """Take back what was just saved; it stays in its history."""
    asked, entry = room.asked(request), Entry.of(form.texts())
    ids = [row_id for row_id in form.get("ids").split(",") if row_id]
    if not ids or len(ids) > entryforms.MOST_ROWS:
        raise BadInput("There is nothing to take back", do="Open the record and choose a row")
    for row_id in ids:
        books.withdraw(
            room.store,
            entry.file,
            row_id,
            course=asked.course.course,
            who=form.get("who") or "quick entry",
            why="taken back right after entry",
            on=asked.today,
        )
    back = {"of": entry.of_what, "kind": entry.kind, "green": form.get("green")}
    target = asked.link("/record/enter", undone=",".join(ids), **back)
    return RedirectResponse(target, status_code=303)


def _page(
    request: Request,
    room: Room,
    entry: Entry,
    *,
    typed: Form | None = None,
    faults: Sequence[tuple[str, str]] = (),
) -> Response:
    asked = room.asked(request)
    told = typed.texts() if typed else _offered(request, room, asked)
    return request.app.state.views.draw(
        request,
        "enter.html",
        asked,
        status=422 if faults else 200,
        title="Enter a reading" if entry.of_what == "reading" else "Enter work",
        entry=entry,
        spec=entryforms.spec(entry, asked.course),
        greens=greens_of(room, asked),
        typed=defaultdict(str, told),
        picked=typed.all("greens") if typed else (),
        token=told.get("token") or str(uuid4()),
        faults=faults,
        wrong={column for column, _ in faults},
        known=_known(room, asked, entry),
        saved=_message(request, room, asked, entry=entry, name="saved"),
        undone=_message(request, room, asked, entry=entry, name="undone"),
    )


def _offered(request: Request, room: Room, asked: Asked) -> dict[str, str]:
    kept = {name: unquote(request.cookies.get(name, ""))[:80] for name in KEPT}
    asked_for = {n: request.query_params.get(n, "")[:80] for n in ("green", "station")}
    time = entryforms.clock_time(asked.course.timezone) if room.live and not asked.dated else ""
    return {**kept, **asked_for, "date": asked.on.isoformat(), "time": time}


def _known(room: Room, asked: Asked, entry: Entry) -> dict[str, list[str]]:
    """Return the names that were used lately, to choose from."""
    rows, _ = books.browse(room.store, entry.file, course=asked.course.course, limit=100)
    names = ("observer", "instrument", "station") if entry.file == "readings" else ("operator",)
    names = (*names, "material") if entry.file == "work" else names
    return {n: sorted({str(r.fields[n]) for r in rows if r.fields.get(n)}) for n in names}


def _message(
    request: Request, room: Room, asked: Asked, *, entry: Entry, name: str
) -> dict[str, str] | None:
    """Return what a message says about rows that are really in the record."""
    ids = [i for i in request.query_params.get(name, "").split(",") if i][: entryforms.MOST_ROWS]
    try:
        states = [
            books.revisions(room.store, entry.file, i, course=asked.course.course) for i in ids
        ]
    except GreenwrightError:
        return None
    held = [latest_cells(entry.file, one) for one in states]
    if not held:
        return None
    text = rowwords.summary(entry.file, held[0])
    if len(held) > 1:
        text = f"{len(held)} rolls, green {held[0].get('green', '')}"
    return {"text": text, "ids": ",".join(ids), "green": held[0].get("green", "")}
