"""The pages of the questions, their progress, and their tables as CSV."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from greenwright.desk import QUESTIONS_READY
from greenwright.show import PAGES, terms
from greenwright.web.asking import COOKIE, Asked, Room, room_of
from greenwright.web.reckoning import maybe
from greenwright.web.shelf import Job, Made, Wanted
from greenwright.web.views import path_of

router = APIRouter(include_in_schema=False)
READY = tuple(q for q in QUESTIONS_READY if q in PAGES)
RoomOf = Annotated[Room, Depends(room_of)]


@router.get("/")
def today(request: Request, room: RoomOf) -> Response:
    """Show how the greens are."""
    return question_page(request, room, "today")


@router.get("/about")
def about(request: Request, room: RoomOf) -> Response:
    """Show what the program is, what it is not, and the usual cautions."""
    views, asked = request.app.state.views, maybe(request, room)
    return views.draw(request, "about.html", asked, title="About Greenwright")


@router.get("/progress/{question}")
def progress(request: Request, room: RoomOf, question: str) -> Response:
    """Tell how far an answer is; once it is there, send the page to it."""
    asked, job = _job(request, room, question)
    if not job.future.done():
        return request.app.state.views.draw(request, "progress.html", asked, **_told(job, question))
    target = asked.link(path_of(question))
    if request.headers.get("hx-request"):
        return HTMLResponse("", headers={"HX-Redirect": target})
    return RedirectResponse(target, status_code=303)


@router.get("/{question}/table/{number}.csv")
def table(request: Request, room: RoomOf, question: str, number: int) -> Response:
    """Send one table of an answer as CSV."""
    asked, job = _job(request, room, question)
    tables = job.future.result().page.tables
    if not 0 <= number < len(tables):
        raise HTTPException(404)
    name = f"{question}-{asked.on.isoformat()}-{number + 1}.csv"
    held = {"content-disposition": f'attachment; filename="{name}"'}
    return PlainTextResponse(tables[number].as_csv(), media_type="text/csv", headers=held)


@router.get("/{question}")
def any_question(request: Request, room: RoomOf, question: str) -> Response:
    """Show the answer to a question that this version knows."""
    return question_page(request, room, question)


def question_page(request: Request, room: Room, question: str) -> Response:
    """Return a question's page, or its progress while the answer is being made."""
    asked, job = _job(request, room, question)
    made = room.shelf.ready(job)
    views = request.app.state.views
    if made is None:
        page = views.draw(request, "wait.html", asked, **_told(job, question))
    else:
        page = views.draw(request, "question.html", asked, **_shown(made))
    if len(asked.courses) > 1:
        page.set_cookie(COOKIE, asked.course.course, samesite="strict", httponly=True)
    return page


def _job(request: Request, room: Room, question: str) -> tuple[Asked, Job]:
    if question not in READY:
        raise HTTPException(404)
    asked = room.asked(request)
    return asked, room.shelf.job(Wanted(question, asked.course.course, asked.on), asked.course)


def _told(job: Job, question: str) -> dict[str, object]:
    return {
        "title": terms.heading(question),
        "question": question,
        "text": job.text,
        "share": round(100 * job.share),
    }


def _shown(made: Made) -> dict[str, object]:
    places = {id(table): place for place, table in enumerate(made.page.tables)}
    return {
        "title": made.page.heading,
        "page": made.page,
        "question": made.page.question,
        "place_of": lambda held: places[id(held)],
    }
