"""The same answers as JSON, for other programs on this machine."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from greenwright.base.answer import answer_schema
from greenwright.base.errors import UnknownKey
from greenwright.desk import QUESTIONS_READY
from greenwright.desk.reckon import reckon
from greenwright.web.asking import Room, room_of
from greenwright.web.options import frozen, options_of, unknown_to
from greenwright.web.shelf import Wanted

router = APIRouter(prefix="/api")
RoomOf = Annotated[Room, Depends(room_of)]


@router.get("/ask/{question}")
def ask(request: Request, room: RoomOf, question: str) -> Response:
    """Answer a question; `on`, `course` and the question's options as on the pages."""
    if question not in QUESTIONS_READY:
        raise UnknownKey(f"no question {question[:40]!r}", expected=", ".join(QUESTIONS_READY))
    asked = room.asked(request)
    unknown_to(question, request.query_params)
    options = frozen(options_of(question, request.query_params))
    job = room.shelf.job(Wanted(question, asked.course.course, asked.on, options), asked.course)
    text = room.shelf.made(job).answer.as_json()
    return Response(text, media_type="application/json")


@router.get("/reckon/{name}")
def reckoned(request: Request, name: str) -> dict[str, Any]:
    """Run a calculation; its arguments are the parameters, in any unit of the right kind."""
    inputs = {k: v[:200] for k, v in request.query_params.items() if v}
    display = inputs.pop("display_units", "metric")
    speeds = inputs.pop("speed_units", "ft")
    return reckon(name, inputs, display_units=display, speed_units=speeds).as_dict()


@router.get("/schema")
def schema() -> dict[str, Any]:
    """Return the published JSON schema of an answer."""
    return answer_schema()
