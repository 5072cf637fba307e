"""What a question is asked about: its days, greens and events, as a form over its answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from greenwright.base.answer import Answer
from greenwright.show import rows
from greenwright.show.dates import short_date
from greenwright.web.options import LONGEST, Options, Params, in_address

AHEAD = 14
"""Days that a forecast reaches."""
WHOLE = ("", "the whole course")
NOBODY = ("", "itself, between the two days")


@dataclass(frozen=True, slots=True)
class Control:
    """One control of the form.

    Args:
        name: what it is called in the address.
        label: what is asked.
        kind: date | number | text | choice.
        value: what stands in it.
        low, high: ends of a day or a number, as the address writes them.
        choices: (value, words) to choose from.
        hint: in a few words.
    """

    name: str
    label: str
    kind: str
    value: str
    low: str = ""
    high: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""


@dataclass(frozen=True, slots=True)
class _Over:
    """What a form is made over: the answer, what was asked, and what there is to choose from."""

    answer: Answer
    asked: Mapping[str, str]
    greens: Sequence[str]
    events: Sequence[Mapping[str, Any]]

    def value(self, name: str) -> str:
        """Return what was asked for, else what the answer was made for."""
        held = self.asked.get(name, self.answer.more.get(name))
        if name in ("from", "until"):
            held = rows.day(held)
        return "" if held is None else str(held)


def controls(
    answer: Answer,
    options: Options,
    *,
    greens: Sequence[str],
    events: Sequence[Mapping[str, Any]] = (),
) -> tuple[Control, ...]:
    """Return the form of a question, filled with what the answer was made for.

    Args:
        answer: its `more` says what it was made for.
        options: asked for.
        greens: keys in playing order.
        events: name and start of those to come.
    """
    make = _FORMS.get(answer.question)
    return make(_Over(answer, in_address(options), greens, events)) if make else ()


def _why(over: _Over) -> tuple[Control, ...]:
    last = over.answer.as_of.isoformat()
    own = tuple((key, f"green {key}") for key in over.greens)
    green = over.value("green")
    green = "" if green in rows.WHOLE else green
    other = over.value("against")
    hint = "Two greens are compared on the last day."
    return (
        Control("from", "From", "date", over.value("from"), high=last),
        Control("until", "Until", "date", over.value("until"), high=last),
        Control("green", "Green", "choice", green, choices=(WHOLE, *own)),
        Control("against", "Compared with", "choice", other, choices=(NOBODY, *own), hint=hint),
    )


def _forecast(over: _Over) -> tuple[Control, ...]:
    end = over.answer.as_of + timedelta(days=AHEAD)
    coming = [e for e in over.events if e["start"] <= end]
    named = ((str(e["name"]), f"{e['name']}, {short_date(e['start'])}") for e in coming)
    days = over.value("days") or str(AHEAD)
    made = [Control("days", "Days ahead", "number", days, low="1", high=str(AHEAD))]
    if coming:
        held = over.answer.more.get("event") or {}
        chosen = over.asked.get("event", str(held.get("name") or ""))
        choices = (("", "no event"), *named)
        made.append(Control("event", "Event", "choice", chosen, choices=choices))
    return tuple(made)


def _weather(over: _Over) -> tuple[Control, ...]:
    days = over.value("days") or str(AHEAD)
    models = "as dollar_spot=0.3; brown_patch=5"
    deep = over.value("root_depth_m")
    return (
        Control("days", "Days ahead", "number", days, low="1", high=str(AHEAD)),
        Control("threshold", "Own risk thresholds", "text", over.value("threshold"), hint=models),
        Control("crop_coefficient", "Own crop coefficient", "text", over.value("crop_coefficient")),
        Control(
            "root_depth_m",
            "Root depth",
            "text",
            f"{deep} m" if deep else "",
            hint="as 120 mm or 5 in",
        ),
    )


def _feed(over: _Over) -> tuple[Control, ...]:
    year = over.value("year") or str(over.answer.as_of.year)
    return (Control("year", "Year", "number", year, low="1900", high="2999"),)


def _trial(over: _Over) -> tuple[Control, ...]:
    asked = {k: str(v) for k, v in over.answer.more["trial"]["asked"].items()}
    asked |= over.asked
    kinds = (("roll_distance", "green speed"), ("smoothness_score", "smoothness"),
             ("trueness_score", "trueness"), ("quality", "turf quality"),
             ("firmness", "firmness"), ("moisture", "moisture"))  # fmt: skip
    layouts = (("crossover", "every green both ways, in turns"),
               ("half-greens", "each green halved"),
               ("before-after", "before and after, with greens left alone"),
               ("completely-randomised", "ways dealt over the greens"),
               ("stepped-wedge", "one green after another starts"))  # fmt: skip
    own = ",".join(over.greens[:4])
    return (
        Control("treatments", "What against what", "text", asked["treatments"],
                hint="the usual way first, commas between"),
        Control("name", "Name, to keep it", "text", asked.get("name", "")),
        Control("layout", "How", "choice", asked["layout"], choices=layouts),
        Control("greens", "Greens", "text", asked["greens"], hint=f"as {own}"),
        Control("never", "Leave out", "text", asked.get("never", ""), hint="greens of an event"),
        Control("kind", "What is read", "choice", asked["kind"], choices=kinds),
        Control("from", "First day", "date", asked["from"][:10]),
        Control("days", "Days a turn", "number", asked["days"], low="1", high="60"),
        Control("periods", "Turns", "number", asked["periods"], low="1", high="12"),
        Control("seed", "Seed of the lot", "number", asked["seed"], low="1", high="999999"),
    )  # fmt: skip


_FORMS: Mapping[str, Callable[[_Over], tuple[Control, ...]]] = {
    "why": _why,
    "forecast": _forecast,
    "weather": _weather,
    "feed": _feed,
    "trial": _trial,
}


def retyped(held: Sequence[Control], params: Params) -> tuple[Control, ...]:
    """Return the form with what was typed: nobody types twice."""
    return tuple(
        replace(one, value=params.get(one.name, one.value)[:LONGEST].strip()) for one in held
    )
