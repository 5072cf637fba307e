"""What to pass on: one sentence for the pro shop and one for the crew, each with its sources."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from greenwright.base.answer import Answer
from greenwright.base.errors import GreenwrightError
from greenwright.base.evidence import look_up
from greenwright.base.values import Course
from greenwright.show import formats, knowing, rows, terms, threefold
from greenwright.show.figures.apart import noticed_words, side
from greenwright.show.page import Section, sentence
from greenwright.show.pages.missed import cost_words, missed_lead
from greenwright.show.pages.noticed import changed_words

AGAINST = {"yesterday": "yesterday", "lately": "in the 14 days before"}
NAMED = 3
"""Outside numbers named under a sentence; the rest are counted."""
_MANY = 1.0
"""Complaints a day from which the talk itself asks for an answer."""
_DEAR = 0.5
"""Putts in 18 holes from which the surface is worth work for the card's sake."""


def pro_shop_section(answer: Answer, course: Course, *, sources: bool = True) -> Section:
    """Return what to say at the desk."""
    told, used = _pro_shop(answer, course)
    return Section("For the pro shop", (told,), notes=_rests(answer, used) if sources else ())


def crew_section(answer: Answer, course: Course, *, sources: bool = True) -> Section:
    """Return what to say in the shed."""
    told, used = _crew(answer, course)
    return Section("For the crew", (told,), notes=_rests(answer, used) if sources else ())


def _pro_shop(answer: Answer, course: Course) -> tuple[str, list[rows.Row]]:
    parts, used = [], []
    speed = rows.estimate(threefold.levels(answer).get("green_speed"))
    given = threefold.given(answer).get("speed_m")
    if given is not None:
        parts.append(f"the greens would roll {formats.point(given, 'm', 'green_speed', course)}")
    elif speed is not None:
        now = formats.middle(speed, "green_speed", course)
        moved = [r for r in threefold.changed(answer) if r["quantity"] == "green_speed"][:1]
        parts.append(f"the greens roll about {now}{_moved(moved, course)}")
        used += moved
    seen = threefold.standing_out(answer)[:1]
    if seen:
        parts.append(f"green {seen[0]['green']} is {side(seen[0])} than the others")
        used += seen
    row = threefold.rounds(answer)
    if row:
        player = threefold.usual_player(list(row))
        cost = rows.estimate(row[player]["estimate"])
        parts.append(f"what bumps there are cost an ordinary player {cost_words(cost.value)}")
        used.append(row[player])
    return sentence(["; ".join(parts)]) if parts else "We cannot tell yet.", used


def _moved(held: Sequence[rows.Row], course: Course) -> str:
    if not held:
        return ""
    return f", {changed_words(held[0], course)} than {AGAINST[held[0]['about']]}"


def _crew(answer: Answer, course: Course) -> tuple[str, list[rows.Row]]:
    seen = threefold.standing_out(answer)
    if seen:
        greens = list(dict.fromkeys(str(row["green"]) for row in seen))
        first = noticed_words(seen[0], course)
        also = f"; then {terms.greens(greens[1:4])}" if len(greens) > 1 else ""
        told = f"Bring {first.replace(', to ', ' than the others, nearer to them: it shows to ')}"
        return sentence([f"{told}{also}"]), seen[:1]
    moved = threefold.changed(answer)
    if moved:
        return _steady(moved[0], course), moved[:1]
    said = threefold.said(answer).get("any")
    if said and _value(said) >= _MANY and said["related"] != "cannot tell":
        return _smoother(said), [said]
    dear = [
        r for r in threefold.rounds(answer).values() if rows.estimate(r["estimate"]).low > _DEAR
    ]
    if dear:
        return "Trueness is worth work: it costs players more than half a putt in 18 holes.", dear
    return _nothing(answer)


def _steady(row: rows.Row, course: Course) -> str:
    against = AGAINST[row["about"]]
    name = terms.quantity(row["quantity"]).lower()
    return sentence(
        [
            f"Steady the {name}: the greens are {changed_words(row, course)} than {against}, and "
            f"{formats.chance(row['chance'])} players notice"
        ]
    )


def _value(row: rows.Row) -> float:
    return rows.estimate(row["estimate"]).value


def _smoother(row: rows.Row) -> str:
    count = formats.number(_value(row), 0)
    noun = "one complaint" if count == "1" else f"{count} complaints"
    return f"A smoother roll is what players ask for: about {noun} a day to expect."


def _nothing(answer: Answer) -> tuple[str, list[rows.Row]]:
    used = [*threefold.noticed(answer, "next green").values(), *threefold.rounds(answer).values()]
    if not used:
        return missed_lead(answer), used
    return "Nothing that players would notice or miss asks for extra work today.", used


def _rests(answer: Answer, used: Sequence[rows.Row]) -> tuple[str, ...]:
    """Return what a sentence rests on: this record, and the outside numbers with their grade."""
    graded = {row["key"]: row["grade"] for row in answer.sources}
    keys = [k for k in _in_turn([row["sources"] for row in used]) if k in graded]
    named = [f"{_label(key)} ({terms.GRADES[graded[key]]})" for key in keys[:NAMED]]
    left = len(keys) - NAMED
    more = f"{left} more of the outside numbers below" if left > 0 else ""
    parts = ["this record's readings", *named, *([more] if more else [])]
    return (sentence([f"Rests on {'; '.join(parts)}"]),)


def _in_turn(lists: Iterable[Sequence[str]]) -> list[str]:
    """Return keys without doubles, the first of each list before the second of any.

    >>> _in_turn([["a", "b"], ["c", "a"]])
    ['a', 'c', 'b']
    """
    held = list(lists)
    longest = max((len(one) for one in held), default=0)
    return list(dict.fromkeys(one[i] for i in range(longest) for one in held if i < len(one)))


def _label(key: str) -> str:
    try:
        return look_up(key).label
    except GreenwrightError:
        return knowing.key_words(key)
