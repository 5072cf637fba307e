"""The record: browse it, look at one row and its history, correct it, take it back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response

from greenwright.base.errors import BadInput, GreenwrightError, UnknownKey
from greenwright.base.tables import record_files, vocabulary
from greenwright.base.values import Revision
from greenwright.desk import books
from greenwright.desk.cells import as_cells
from greenwright.show import terms
from greenwright.web import rowwords
from greenwright.web.asking import Asked, Room, room_of
from greenwright.web.forms import Form, FormOf

router = APIRouter(prefix="/record", include_in_schema=False)
RoomOf = Annotated[Room, Depends(room_of)]
ROWS = 40
"""Rows on one page of a list."""


@router.get("")
def browse(
    request: Request,
    room: RoomOf,
    *,
    file: str = "readings",
    green: str = "",
    kind: str = "",
    page: int = 1,
) -> Response:
    """List the rows of one file, newest first."""
    asked = room.asked(request)
    spec = record_files().get(file)
    if spec is None:
        raise BadInput(f"There is no file {file[:40]!r} in a record", expected=", ".join(_files()))
    page = min(max(page, 1), 100_000)
    names = {c.name for c in spec.columns}
    kinds = _kinds(file)
    green = green[:80] if "green" in names else ""
    kind = kind if kind in dict(kinds) else ""
    rows, total = books.browse(
        room.store,
        file,
        course=asked.course.course,
        limit=ROWS,
        offset=(page - 1) * ROWS,
        green=green,
        kind=kind,
    )
    listed = rowwords.columns(file)
    return request.app.state.views.draw(
        request,
        "record.html",
        asked,
        title="The record",
        file=file,
        files=[(name, terms.FILES[name]) for name in _files()],
        green=green,
        greens=greens_of(room, asked) if "green" in names else [],
        kind=kind,
        kinds=kinds,
        heads=[terms.column(name) for name in listed],
        rows=[
            (r.id, [rowwords.cell(file, n, r.fields, year=asked.on.year) for n in listed])
            for r in rows
        ],
        total=total,
        page=page,
        pages=max(1, -(-total // ROWS)),
    )


def _files() -> list[str]:
    return [name for name in terms.FILES if name in record_files()]


def _kinds(file: str) -> list[tuple[str, str]]:
    if file == "readings":
        return [(k, terms.kind(k)) for k in vocabulary("kind")]
    if file == "work":
        return [(k, terms.practice(k)) for k in vocabulary("practice")]
    return []


def greens_of(room: Room, asked: Asked) -> list[dict[str, Any]]:
    """Return the course's greens in playing order: green, group, in_play."""
    rows, _ = books.browse(
        room.store, "greens", course=asked.course.course, limit=200, newest_first=False
    )
    held = [r.fields for r in rows]
    ordered = sorted(held, key=lambda f: (f.get("order") is None, f.get("order") or 0))
    return [
        {"green": f["green"], "group": f.get("group") or "", "in_play": f.get("in_play", True)}
        for f in ordered
    ]


def events_of(room: Room, asked: Asked) -> list[dict[str, Any]]:
    """Return the course's events from the day asked for on, the next first: name, start."""
    rows, _ = books.browse(
        room.store, "calendar", course=asked.course.course, limit=200, newest_first=False
    )
    held = [r.fields for r in rows if r.fields.get("kind") == "event"]
    return [f for f in held if (f.get("end") or f["start"]) > asked.on]


@router.get("/row/{file}/{row_id}")
def row(request: Request, room: RoomOf, file: str, row_id: str) -> Response:
    """Show one row, its history, and the form that corrects it."""
    return _row_page(request, room, (file, row_id))


@router.post("/row/{file}/{row_id}")
def correct(request: Request, room: RoomOf, form: FormOf, *, file: str, row_id: str) -> Response:
    """Store a correction as a new state of the row."""
    asked = room.asked(request)
    names = {c.name for c in record_files()[file].columns} if file in record_files() else set()
    cells = {name: text for name, text in form.texts().items() if name in names and name != "id"}
    try:
        who, why = _signed(form)
        books.correct(
            room.store,
            file,
            row_id,
            cells,
            course=asked.course.course,
            who=who,
            why=why,
            on=asked.today,
        )
    except GreenwrightError as error:
        return _row_page(request, room, (file, row_id), typed=form, error=error)
    return _back(asked, file, row_id, "corrected")


@router.post("/row/{file}/{row_id}/withdraw")
def withdraw(request: Request, room: RoomOf, form: FormOf, *, file: str, row_id: str) -> Response:
    """Take a row out of use; it stays in its history."""
    asked = room.asked(request)
    try:
        who, why = _signed(form)
        books.withdraw(
            room.store,
            file,
            row_id,
            course=asked.course.course,
            who=who,
            why=why,
            on=asked.today,
        )
    except GreenwrightError as error:
        return _row_page(request, room, (file, row_id), typed=form, error=error, leaving=True)
    return _back(asked, file, row_id, "withdrawn")


def _signed(form: Form) -> tuple[str, str]:
    who, why = form.get("who"), form.get("why")
    if not who or not why:
        raise BadInput(
            "A change needs a name and a reason", where="who" if not who else "why", do="Fill both"
        )
    return who, why


def _back(asked: Asked, file: str, row_id: str, done: str) -> Response:
    target = asked.link(f"/record/row/{file}/{row_id}", done=done)
    return RedirectResponse(target, status_code=303)


def _row_page(
    request: Request,
    room: Room,
    which: tuple[str, str],
    *,
    typed: Form | None = None,
    error: GreenwrightError | None = None,
    leaving: bool = False,
) -> Response:
    file, row_id = which
    asked = room.asked(request)
    states = _states(room, asked, file, row_id)
    cells = latest_cells(file, states)
    shown = {**cells, **(typed.texts() if typed else {})}
    return request.app.state.views.draw(
        request,
        "row.html",
        asked,
        status=422 if error else 200,
        title=rowwords.summary(file, cells),
        file=file,
        file_name=terms.FILES[file],
        row_id=row_id,
        columns=_columns(file, shown),
        facts=[(c["label"], c["value"]) for c in _columns(file, cells) if c["value"]],
        leaving=leaving,
        typed=defaultdict(str, typed.texts() if typed else {}),
        history=_history(file, states),
        withdrawn=not states[-1].fields,
        error=error,
        done=request.query_params.get("done", ""),
    )


def _states(room: Room, asked: Asked, file: str, row_id: str) -> list[Revision]:
    if file not in record_files():
        raise HTTPException(404)
    try:
        return list(books.revisions(room.store, file, row_id, course=asked.course.course))
    except UnknownKey:
        raise HTTPException(404) from None


def latest_cells(file: str, states: Sequence[Revision]) -> dict[str, str]:
    """Return the cells of a row as it stands, or as it stood before it was taken out of use."""
    held = next((s.fields for s in reversed(states) if s.fields), {})
    return as_cells(file, held)


def _columns(file: str, shown: dict[str, str]) -> list[dict[str, Any]]:
    """Return the fields of the form: those filled first, the rest folded."""
    made = []
    for column in record_files()[file].columns:
        if column.name in ("id", "entered_at"):
            continue
        words = vocabulary(column.of) if column.type == "choice" else ()
        made.append(
            {
                "name": column.name,
                "label": terms.column(column.name),
                "value": shown.get(column.name, ""),
                "choices": [(w, _choice_words(column.of, w)) for w in words],
                "type": "date" if column.type == "date" else "text",
                "decimal": column.type in ("number", "integer"),
            }
        )
    return made


def _choice_words(vocabulary_name: str, word: str) -> str:
    if vocabulary_name == "kind":
        return terms.kind(word)
    return terms.practice(word) if vocabulary_name == "practice" else word


def _history(file: str, states: Sequence[Revision]) -> list[dict[str, Any]]:
    made, before = [], {}
    for state in states:
        now = as_cells(file, state.fields)
        both = before and now
        names = [n for n in {**before, **now} if before.get(n) != now.get(n)] if both else []
        made.append(
            {
                "number": state.number,
                "when": state.recorded_at[:16].replace("T", " "),
                "who": state.who or "not said",
                "why": state.why,
                "void": not state.fields,
                "changes": [
                    (terms.column(n), before.get(n) or "empty", now.get(n) or "empty")
                    for n in names
                ],
            }
        )
        before = now or before
    return made[::-1]
