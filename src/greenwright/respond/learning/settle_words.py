"""What to do, leave alone and read to settle an effect, in the trade's plain words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from greenwright.base.tables import practices, quantities
from greenwright.respond.learning.settle import Trial
from greenwright.respond.learning.settle_designs import GIVE, LEAVE, LONGEST_D, TURNS
from greenwright.respond.shapes import Shape

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_DO = {
    "double_cut": ("give", "a second cut"),
    "roll": ("roll", ""),
    "brush": ("brush", ""),
    "groom": ("groom", ""),
    "irrigate": ("irrigate", ""),
    "hand_water": ("water", "by hand"),
    "mark_repair": ("repair pitch marks on", ""),
}
"""Act -> what is done to greens, and what follows."""
_DOING = {
    "double_cut": "the second cut",
    "roll": "the roller",
    "brush": "the brush",
    "groom": "the groomer",
    "irrigate": "the sprinklers",
    "hand_water": "the hose",
    "mark_repair": "the repair of pitch marks",
}
_WHAT = {
    "topdress": "sand is",
    "verticut": "verticutting is",
    "core": "coring is",
    "solid_tine": "solid tining is",
    "needle_tine": "needle tining is",
    "slit": "slitting is",
    "feed": "feed is",
    "regulator": "growth regulator is",
    "wetting_agent": "wetting agent is",
    "overseed": "seed is",
}
"""Act that comes in turn -> what is due."""
KEEP_TO_IT = (
    "Keep to the list whatever the greens look like, and write 'by toss' beside the work, done or "
    "declined."
)


def trial_words(found: Trial | None, shape: Shape) -> str:
    """Return what to do to settle an effect, or that nothing of six weeks would.

    Args:
        found: the smallest comparison.
        shape: the effect.
    """
    if found is None:
        return (
            f"No comparison of up to {_count(LONGEST_D // 7)} weeks would settle this here: the "
            f"readings of {quantities()[shape.outcome].label.lower()} scatter too much against "
            "what it can change, or it is done too seldom. Go on writing it down and reading."
        )
    return f"{_act(found, shape)} {_read(found)} {KEEP_TO_IT}"


def _act(found: Trial, shape: Shape) -> str:
    many, greens = len(found.mornings), _greens(found.greens)
    half = f"half of {greens}"
    if found.way == TURNS:
        rounds = "" if many == 2 else f", in {_count(many // 2)} rounds"
        return (
            f"When {_WHAT.get(shape.act, _label(shape))} next due, from {_day(found)}, treat "
            f"{half} first and the other half {_count(found.spacing)} days later, as the list says"
            f"{rounds}."
        )
    if found.way == LEAVE:
        held = _DOING.get(shape.act, _label(shape))
        return (
            f"From {_day(found)}, on {_mornings(many)}{_apart(found)}, keep {held} off {half}, "
            "as the list says, and do the rest as usual."
        )
    if found.way == GIVE:
        verb, tail = _DO.get(shape.act, ("give", _label(shape)))
        told = f"{verb} {half} {tail}".strip()
        return (
            f"From {_day(found)}, on {_mornings(many)}{_apart(found)}, {told}, as the list says, "
            "and leave the other half."
        )
    return (
        f"From {_day(found)}, cut {half} 0.25 mm higher for a week, as the list says, then "
        f"choose again, for {_count(many)} weeks."
    )


def _read(found: Trial) -> str:
    times = {1: "once", 2: "twice"}.get(found.sets, f"{_count(found.sets)} times")
    after = [_after(lag) for lag in found.read_after]
    whole = f"all {_count(len(found.greens))} greens" if len(found.greens) > 2 else "both greens"
    return f"Read {whole} {_listed(after)}, {times} each: {found.readings} sets of readings."


def _after(lag: int) -> str:
    if lag == 0:
        return "on the same morning"
    return "on the next morning" if lag == 1 else f"{_count(lag)} days after"


def _apart(found: Trial) -> str:
    if len(found.mornings) == 1:
        return ""
    return " in a row" if found.spacing == 1 else f" {_count(found.spacing)} days apart"


def _day(found: Trial) -> str:
    first: date = found.mornings[0].date
    return first.isoformat()


def _label(shape: Shape) -> str:
    known = practices().get(shape.practice)
    return known.label.lower() if known else shape.act.replace("_", " ")


def _greens(keys: Sequence[str]) -> str:
    return f"greens {_listed(keys)}"


def _listed(words: Sequence[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _mornings(n: int) -> str:
    return "one morning" if n == 1 else f"{_count(n)} mornings"


def _count(n: int) -> str:
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)
