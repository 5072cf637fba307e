"""Golfers: what will players notice, say and miss? Three answers, never made one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.base.evidence import value
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.figures.putts import putts_figure, title_of
from greenwright.show.page import Page, Section, sentence
from greenwright.show.pages.missed import missed_lead, missed_section
from greenwright.show.pages.noticed import chances_table, noticed_lead, noticed_section
from greenwright.show.pages.parts import joined
from greenwright.show.pages.passed_on import crew_section, pro_shop_section
from greenwright.show.pages.said import said_lead, said_section

APART = "The three answers stand side by side: none of them is weighed against another."
NOTICE = (
    "Noticing goes with the size of a difference: half of players notice one as large as the "
    "threshold, few a smaller one. What we do not know of the greens and of the threshold is in "
    "the range."
)
SAY = (
    "What is said starts from the trade's rule, more remarks the further the roll scores under "
    "the threshold, and is corrected by what was written down here, day by day. Remarks come in "
    "spells and from few mouths, so they move the answer slowly."
)
MISS = (
    "What is missed is worked out from how far a player's direction and distance scatter, how "
    "far the ball wanders on this surface, and how fast a ball the hole still takes{0}. Perfectly "
    "true means the same green at the same speed without any wander."
)


def golfers_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `golfers`."""
    sections = (
        noticed_section(answer, course, pictures=pictures),
        said_section(answer),
        missed_section(answer, course, pictures=pictures),
        *_putts(answer, course, pictures),
        pro_shop_section(answer, course),
        crew_section(answer, course),
    )
    return joined(
        answer,
        course,
        lead=(noticed_lead(answer, course), said_lead(answer), missed_lead(answer)),
        sections=sections,
        as_if=_as_if(answer, course),
        worked_for=_worked_for(answer, course),
        how=(NOTICE, SAY, MISS.format(_capture(answer)), APART, terms.SIDEWAYS),
        brief=_brief(answer, course),
    )


def _putts(answer: Answer, course: Course, pictures: bool) -> tuple[Section, ...]:
    figure = putts_figure(answer, course) if pictures else None
    return (Section(title_of(answer.more["putts"]), figure=figure),) if figure else ()


def _brief(answer: Answer, course: Course) -> tuple[Section, ...]:
    noticed = chances_table(answer, ranges=False)
    missed = missed_section(answer, course, pictures=False)
    return (
        *((Section(noticed.title, tables=(noticed,)),) if noticed else ()),
        Section(missed.title, tables=missed.tables[:1]),
        pro_shop_section(answer, course, sources=False),
        crew_section(answer, course, sources=False),
    )


def _capture(answer: Answer) -> str:
    held = sorted({row["capture_speed"] for row in answer.findings if row.get("capture_speed")})
    if not held:
        return ""
    return f" ({terms.listed([f'{x:g} m/s' for x in held])} through its middle for these players)"


def _worked_for(answer: Answer, course: Course) -> str:
    """Return the sentence that names today's levels."""
    held = threefold.levels(answer)
    parts = [text for name in ("speed", "smooth", "true") if (text := _told(name, held, course))]
    played = held.get("rounds")
    if played is not None:
        parts.append(f"{round(played)} rounds")
    return sentence([f"Worked out for {terms.listed(parts)}"]) if parts else ""


def _told(name: str, held: object, course: Course) -> str:
    key, quantity, before, after = {
        "speed": ("green_speed", "green_speed", "green speed ", ""),
        "smooth": ("smoothness", "smoothness", "smoothness ", ""),
        "true": ("sideways_mm_per_m", rows.TRUE, "", " sideways"),
    }[name]
    found: Estimate | None = rows.estimate(held.get(key))
    if found is None:
        return ""
    guess = ", a guess" if found.basis == "prior" else ""
    level, _, tail = formats.level(found, quantity, course).partition(" (")
    return f"{before}{level}{after} ({tail.rstrip(')')}{guess})"


def _as_if(answer: Answer, course: Course) -> str:
    """Return the sentence that names what stands in place of today's levels, or nothing."""
    given, held = threefold.given(answer), threefold.levels(answer)
    if not given:
        return ""
    told = []
    if "speed_m" in given:
        level = formats.point(given["speed_m"], "m", "green_speed", course)
        told.append(f"green speed were {level}{_today(held, 'green_speed', course)}")
    if "smoothness" in given:
        level = formats.point(given["smoothness"], "score", "smoothness", course)
        told.append(f"smoothness were {level} of 10{_today(held, 'smoothness', course)}")
    if "trueness_t" in given:
        speed = given.get("speed_m", rows.estimate(held["green_speed"]).value)
        wander = sideways(given["trueness_t"], speed)
        level = formats.point(wander, "mm/m", rows.TRUE, course)
        told.append(f"balls wandered {level} sideways{_today(held, 'sideways_mm_per_m', course)}")
    return sentence([f"As if {terms.listed(told)}; all else as today"])


def _today(held: Mapping[str, Any], key: str, course: Course) -> str:
    found = rows.estimate(held.get(key))
    quantity = rows.TRUE if key == "sideways_mm_per_m" else key
    return (
        " (never read)" if found is None else f" (today {formats.middle(found, quantity, course)})"
    )


def sideways(index_m: float, speed_m: float) -> float:
    """Return the trueness index T [m] as millimetres sideways per metre at a green speed [m].

    The ramp's own roll: 1000 sqrt(T S) / (2 c), c the resistance times the speed.

    Source keys: roll.resistance_times_speed.
    """
    return 1000 * (index_m * speed_m) ** 0.5 / (2 * value("roll.resistance_times_speed"))
