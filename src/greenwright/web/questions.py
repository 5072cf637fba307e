"""The pages of the questions, their progress, and their tables as CSV."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from greenwright.base.errors import BadInput
from greenwright.desk import QUESTIONS_READY
from greenwright.show import PAGES, terms
from greenwright.web import choosing, whatif
from greenwright.web.asking import COOKIE, Asked, Room, room_of
from greenwright.web.options import TAKEN, Options, Params, frozen, in_address, options_of
from greenwright.web.reckoning import maybe
from greenwright.web.records import events_of, greens_of
from greenwright.web.shelf import Job, Made, Wanted
from greenwright.web.views import path_of

router = APIRouter(include_in_schema=False)
READY = tuple(q for q in QUESTIONS_READY if q in PAGES)
WHAT_IF = "golfers"
"""The question whose form puts other levels in place of today's."""
RoomOf = Annotated[Room, Depends(room_of)]
Form = tuple[whatif.Field, ...] | tuple[choosing.Control, ...]


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
    wanted = _wish(request, room, question)
    if not wanted.job.future.done():
        held = _told(wanted, question)
        return request.app.state.views.draw(request, "progress.html", wanted.asked, **held)
    target = wanted.asked.link(path_of(question), **wanted.extras)
    if request.headers.get("hx-request"):
        return HTMLResponse("", headers={"HX-Redirect": target})
    return RedirectResponse(target, status_code=303)


@router.get("/{question}/table/{number}.csv")
def table(request: Request, room: RoomOf, question: str, number: int) -> Response:
    """Send one table of an answer as CSV."""
    wanted = _wish(request, room, question)
    tables = room.shelf.made(wanted.job).page.tables
    if not 0 <= number < len(tables):
        raise HTTPException(404)
    name = f"{question}-{wanted.asked.on.isoformat()}-{number + 1}.csv"
    held = {"content-disposition": f'attachment; filename="{name}"'}
    return PlainTextResponse(tables[number].as_csv(), media_type="text/csv", headers=held)


@router.get("/{question}")
def any_question(request: Request, room: RoomOf, question: str) -> Response:
    """Show the answer to a question that this version knows."""
    return question_page(request, room, question)


def question_page(request: Request, room: Room, question: str) -> Response:
    """Return a question's page, or its progress while the answer is being made."""
    if question not in READY:
        raise HTTPException(404)
    asked, params = room.asked(request), request.query_params
    try:
        if question in TAKEN and params.get(whatif.FORM):
            options = in_address(_sent(question, params, asked))
            return RedirectResponse(asked.link(path_of(question), **options), status_code=303)
        page = _drawn(request, room, _wish(request, room, question))
    except BadInput as error:
        if question not in TAKEN:
            raise
        page = _again(request, room, question, error=error)
    if len(asked.courses) > 1:
        page.set_cookie(COOKIE, asked.course.course, samesite="strict", httponly=True)
    return page


def _sent(question: str, params: Params, asked: Asked) -> Options:
    """Return what a question's form asks for."""
    if question == WHAT_IF:
        return whatif.sent(params, asked.course)
    return options_of(question, params)


@dataclass(frozen=True, slots=True)
class _Wish:
    """What one request asks for: course and day, the question's options, and the answer's job."""

    question: str
    asked: Asked
    options: Options
    job: Job

    @property
    def extras(self) -> dict[str, str]:
        """Return the options as an address carries them."""
        return in_address(self.options)


def _wish(request: Request, room: Room, question: str, *, plain: bool = False) -> _Wish:
    """Return what a request asks for; plain = without its options."""
    if question not in READY:
        raise HTTPException(404)
    asked = room.asked(request)
    options = {} if plain else options_of(question, request.query_params)
    key = Wanted(question, asked.course.course, asked.on, frozen(options))
    return _Wish(question, asked, options, room.shelf.job(key, asked.course))


def _drawn(request: Request, room: Room, wanted: _Wish) -> HTMLResponse:
    made, views = room.shelf.ready(wanted.job), request.app.state.views
    if made is None:
        held = _told(wanted, wanted.question)
        return views.draw(request, "wait.html", wanted.asked, **held)
    form = _form(room, wanted, made)
    return views.draw(request, "question.html", wanted.asked, **_shown(made, wanted, form))


def _again(request: Request, room: Room, question: str, *, error: BadInput) -> HTMLResponse:
    """Return today's page with what was wrong in what was asked, and what was typed."""
    wanted = _wish(request, room, question, plain=True)
    made = room.shelf.made(wanted.job)
    form = _form(room, wanted, made)
    retype = whatif.retyped if question == WHAT_IF else choosing.retyped
    held = _shown(made, wanted, retype(form, request.query_params)) | {"error": error}
    views = request.app.state.views
    return views.draw(request, "question.html", wanted.asked, status=400, **held)


def _form(room: Room, wanted: _Wish, made: Made) -> Form:
    asked = wanted.asked
    if wanted.question not in TAKEN:
        return ()
    greens = [g["green"] for g in greens_of(room, asked) if g["in_play"]]
    if wanted.question == WHAT_IF:
        return whatif.fields(made.answer, asked.course, wanted.options, greens=greens)
    events = events_of(room, asked)
    return choosing.controls(made.answer, wanted.options, greens=greens, events=events)


def _told(wanted: _Wish, question: str) -> dict[str, object]:
    return {
        "title": terms.heading(question),
        "question": question,
        "extras": wanted.extras,
        "text": wanted.job.text,
        "share": round(100 * wanted.job.share),
    }


def _shown(made: Made, wanted: _Wish, form: Form) -> dict[str, object]:
    places = {id(table): place for place, table in enumerate(made.page.tables)}
    return {
        "title": made.page.heading,
        "page": made.page,
        "question": made.page.question,
        "extras": wanted.extras,
        "form": form,
        "asks": "whatif.html" if wanted.question == WHAT_IF else "choose.html",
        "error": None,
        "place_of": lambda held: places[id(held)],
    }
