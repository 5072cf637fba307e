"""Answers of golfers drawn at random: any shape that the schema allows, every number invented."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.evidence import as_source, look_up
from tests.show import drawn
from tests.show.handmade_golfers import KEYS, TOPICS, UNITS

CHANCES = st.floats(0, 1)
METRES_APART = {"m": 2.0, "score": 10.0}
PLACES = st.lists(st.floats(-2, 6), min_size=2, max_size=2)
WHO = st.sampled_from(["tour", "90", "90 here", "club here", "Åsa here"])
REASONS = st.sampled_from(
    ["too little was written down: 1 remarks on 3 days counted", "it follows the roll."]
)


@st.composite
def beliefs(draw: st.DrawFn, unit: str, top: float, *, signed: bool = False) -> Estimate:
    """Draw a belief within what its unit allows."""
    ends = sorted(draw(st.tuples(*[st.floats(-top if signed else 0, top)] * 2)))
    value = ends[0] + draw(st.floats(0, 1)) * (ends[1] - ends[0])
    return Estimate(value, unit, draw(st.floats(0, top)), *ends)


def _row(what: str, about: str, estimate: Estimate, **more: Any) -> dict[str, Any]:
    names = ("distance_m", "player", "chance", "chance_perfect", "quantity")
    bare = dict.fromkeys(names)
    return {
        "green": "course",
        "what": what,
        "about": about,
        "estimate": estimate,
        "sources": [],
        **bare,
        **more,
    }


@st.composite
def noticed(draw: st.DrawFn, quantity: str, greens: list[str]) -> list[dict[str, Any]]:
    """Draw the rows of notice of one quantity."""
    unit = UNITS[quantity]
    apart, part = METRES_APART[unit], beliefs("1", 1.0)
    about = [("course", name) for name in ("yesterday", "lately")]
    if len(greens) > 1:
        about += [(green, "others") for green in greens] + [("course", "next green")]
    rows = []
    for green, name in about:
        held = {"green": green, "quantity": quantity, "chance": draw(CHANCES)}
        moved = draw(beliefs(unit, apart, signed=name != "next green"))
        more = {"difference": moved, "sources": list(KEYS[quantity])}
        rows.append(_row("notice", name, draw(part), **held, **more))
    if len(greens) > 1:
        ends = {name: draw(beliefs(unit, apart)) for name in ("sd", "range", "pair")}
        held = {"consistency": draw(st.none() | st.just(ends)), "chance": draw(CHANCES)}
        rows.append(_row("notice", "consistency", draw(part), quantity=quantity, **held))
    return rows


@st.composite
def complaints(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Draw what is volunteered, and sometimes a survey."""
    rows = []
    played = draw(st.sampled_from([0.0, 1.0, 52.3, 300.0]))
    for topic in ("any", *TOPICS, "praise"):
        rows.append(
            _row(
                "complaints",
                topic,
                draw(beliefs("1", 30.0)),
                rounds=played,
                prior=draw(beliefs("1", 30.0)),
                share_local=draw(CHANCES),
                related=draw(st.sampled_from(["yes", "partly", "cannot tell"])),
                reason=draw(REASONS),
                n_days=draw(st.sampled_from([0, 40])),
                n_remarks=draw(st.sampled_from([0, 7])),
                asked=False,
                chance=draw(CHANCES),
                sources=["complaints.base_rate"],
            )
        )
    if draw(st.booleans()):
        held = {"asked": True, "rounds": None, "n_asked": draw(st.none() | st.just(40))}
        rows.append(_row("complaints", "bumpy", draw(beliefs("1", 1.0)), **held))
    return rows


@st.composite
def holed(draw: st.DrawFn, player: str) -> list[dict[str, Any]]:
    """Draw the rows of one player."""
    rows = []
    counts = st.none() | st.integers(1, 10**9)
    for distance in (0.61, 1.52, 9.14):
        chance, perfect = sorted(draw(st.tuples(CHANCES, CHANCES)))
        held = {"chance": chance, "chance_perfect": perfect, "distance_m": distance}
        lost = draw(st.none() | beliefs("1", 1.0))
        more = {"difference": lost, "putts_to_tell": draw(counts), "player": player}
        rows.append(_row("holing", "one putt", draw(beliefs("1", 1.0)), **held, **more))
    levels = {name: draw(beliefs("1", 60.0)) for name in ("putts_now", "putts_perfect")}
    rows.append(
        _row(
            "holing",
            "putts per 18 holes",
            draw(beliefs("1", 4.0)),
            player=player,
            putts_to_tell=draw(counts),
            **levels,
        )
    )
    return rows


@st.composite
def putts(draw: st.DrawFn) -> dict[str, Any]:
    """Draw the putts of a picture, wherever ball and hole lie."""
    n = draw(st.integers(1, 8))
    ends = [[*draw(PLACES), draw(st.booleans())] for _ in range(n)]
    perfect = [[*draw(PLACES), draw(st.booleans())] for _ in range(n)]
    return {
        "green": draw(drawn.NAMES),
        "distance_m": draw(st.floats(0.3, 20)),
        "slope": draw(st.sampled_from([0.0, 0.012, -0.02])),
        "speed_m": 3.0,
        "trueness_t": 2e-6,
        "player": draw(WHO),
        "n": n,
        "holed": sum(e[2] for e in ends),
        "holed_perfect": sum(e[2] for e in perfect),
        "hole": draw(PLACES),
        "start": draw(PLACES),
        "ends": ends,
        "paths": [[draw(PLACES), e[:2]] for e in ends[:2]],
        "perfect_ends": perfect,
        "heights": draw(st.sampled_from([None, "seven.asc"])),
        "seed": 1,
    }


@st.composite
def golfers(draw: st.DrawFn) -> Answer:
    """Draw an answer of golfers."""
    on = draw(drawn.DAYS)
    greens = draw(st.lists(drawn.NAMES, min_size=1, max_size=5, unique=True))
    read = draw(st.lists(st.sampled_from(list(UNITS)), max_size=3, unique=True))
    findings = [row for quantity in read for row in draw(noticed(quantity, greens))]
    findings += draw(complaints())
    for player in draw(st.lists(WHO, min_size=1, max_size=4, unique=True)):
        findings += draw(holed(player))
    names = draw(st.lists(st.sampled_from(["speed_m", "smoothness", "trueness_t"]), unique=True))
    values = {"speed_m": 3.1, "smoothness": 5.5, "trueness_t": 3e-6}
    given = {name: values[name] if name in names else None for name in values}
    keys = sorted({key for row in findings for key in row["sources"]})
    return Answer(
        "golfers",
        on,
        {"course": "fen", "name": "Fen", "readings": 3, "last_reading": on},
        findings=tuple(findings),
        gaps=draw(drawn.GAPS),
        cautions=draw(drawn.CAUTIONS),
        sources=tuple(as_source(look_up(key)) for key in keys),
        made_by=drawn.MADE,
        more={
            "what_if": {**given, "given": names},
            "now": {
                "green_speed": draw(beliefs("m", 5.0)),
                "smoothness": draw(st.none() | beliefs("score", 10.0)),
                "trueness": draw(beliefs("m", 1e-5)),
                "sideways_mm_per_m": draw(beliefs("mm/m", 30.0)),
                "rounds": draw(st.floats(0, 400)),
            },
            "putts": draw(putts()),
        },
    )
