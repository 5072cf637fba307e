"""The reckoner's pages, generated from its registry, and the evidence table."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from greenwright.base.errors import GreenwrightError
from greenwright.base.evidence import GRADES, Evidence, evidence
from greenwright.desk.reckon import Calculator, ReckonResult, calculator, calculators, reckon
from greenwright.show import knowing, terms
from greenwright.web.asking import Asked, Room, room_of

router = APIRouter(include_in_schema=False)
RoomOf = Annotated[Room, Depends(room_of)]


@router.get("/reckoner")
def menu(request: Request, room: RoomOf) -> Response:
    """List the calculations."""
    return request.app.state.views.draw(
        request, "reckoner.html", maybe(request, room), title="Reckoner", all=calculators().values()
    )


@router.get("/reckoner/{name}")
def one(request: Request, room: RoomOf, name: str) -> Response:
    """Show one calculation: its form, and its result once there is something to reckon."""
    asked = maybe(request, room)
    held = calculator(name)
    typed = {a.name: request.query_params.get(a.name, "")[:200] for a in held.arguments}
    result, error = _run(held, typed, asked)
    return request.app.state.views.draw(
        request,
        "calculation.html",
        asked,
        status=422 if error else 200,
        title=held.title,
        calculator=held,
        typed=typed,
        labels={a.name: a.label for a in held.arguments},
        example=held.examples[0],
        outcome=_outcome(held, result),
        notes=result.notes if result else (),
        sources=[knowing.source_row(s) for s in result.sources] if result else [],
        error=error,
    )


def maybe(request: Request, room: Room) -> Asked | None:
    """Return the course and day, or nothing while there is no course."""
    try:
        return room.asked(request)
    except GreenwrightError:
        return None


def _run(
    held: Calculator, typed: dict[str, str], asked: Asked | None
) -> tuple[ReckonResult | None, GreenwrightError | None]:
    given = {name: text for name, text in typed.items() if text.strip()}
    if not given:
        return None, None
    course = asked.course if asked else None
    try:
        made = reckon(
            held.name,
            given,
            display_units=course.display_units if course else "metric",
            speed_units=course.speed_units if course else "ft",
        )
    except GreenwrightError as error:
        return None, error
    return made, None


def _outcome(held: Calculator, result: ReckonResult | None) -> list[tuple[str, str]]:
    if result is None:
        return []
    labels = {o.key: o.label for o in held.outcomes}
    return [(labels.get(key, key), text) for key, text in result.display.items()]


@router.get("/evidence")
def table(request: Request, room: RoomOf, find: str = "", grade: str = "") -> Response:
    """Show every number that was not measured here, with its grade and source."""
    rows = [e for e in evidence().values() if _wanted(e, find[:80], grade)]
    return request.app.state.views.draw(
        request,
        "evidence.html",
        maybe(request, room),
        title="Evidence",
        find=find[:80],
        grade=grade,
        grades=[(g, terms.GRADES[g]) for g in GRADES],
        topics=_topics(rows),
        count=len(rows),
        total=len(evidence()),
    )


def _topics(held: list[Evidence]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Return the rows under the first word of their key."""
    made: dict[str, list[dict[str, Any]]] = {}
    for one in held:
        topic = one.key.split(".")[0].replace("_", " ").capitalize()
        made.setdefault(topic, []).append(_row(one))
    return list(made.items())


def _wanted(held: Evidence, find: str, grade: str) -> bool:
    words = f"{held.key} {held.label} {held.citation} {held.note}".casefold()
    return (not grade or held.grade == grade) and all(w in words for w in find.casefold().split())


def _row(held: Evidence) -> dict[str, Any]:
    unit = "" if held.unit in ("1", "-") else held.unit
    spread = f"± {held.sd:g}" if held.sd is not None else ""
    if not spread and held.low is not None and held.high is not None:
        spread = f"{held.low:g} to {held.high:g}"
    return {
        "key": held.key,
        "label": held.label,
        "value": f"{knowing.plain_value(held.value)} {unit}".strip(),
        "spread": spread,
        "judged": held.uncertainty == "elicited",
        "grade": terms.GRADES[held.grade],
        "citation": held.citation,
        "validity": held.validity,
        "note": held.note,
    }
