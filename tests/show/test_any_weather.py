"""Whatever an answer about weather holds, its page is clean, whole and of its own numbers."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema.validators import validator_for

from greenwright.base.answer import Answer, answer_schema
from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import page, words
from tests.show.drawn import CAUTIONS, COURSES, DAYS, GAPS, MADE, NAMES
from tests.show.test_any_answer import FORBIDDEN, QUICK, SLIPS, everything

FEW = settings(QUICK, max_examples=25)
SHAPE = validator_for(answer_schema())(answer_schema())
KINDS = st.sampled_from(["observed", "forecast", "typical"])
MM = st.floats(0, 80)
STATES = st.sampled_from(["suppressed", "fading", "rebound risk", "worn off", "not known"])
MODELS = ("dollar_spot", "brown_patch", "anthracnose", "pythium", "grey_leaf")


@st.composite
def missing(draw: st.DrawFn) -> Estimate:
    """Draw a deficit with its range."""
    low, value, high = sorted(draw(st.tuples(MM, MM, MM)))
    return Estimate(value, "mm", (high - low) / 3.3, low, high, basis="model")


@st.composite
def days_left(draw: st.DrawFn) -> dict[str, float | None]:
    """Draw days to the refill line, soonest first, the later ones perhaps never."""
    low, value, high = sorted(draw(st.tuples(*[st.floats(0, 400)] * 3)))
    never = draw(st.integers(0, 3))
    return {"low": low if never < 3 else None, "value": value if never < 2 else None,
            "high": high if never < 1 else None}  # fmt: skip


@st.composite
def waters(draw: st.DrawFn, on: Any, greens: list[str]) -> dict[str, Any] | None:
    """Draw a water balance, or none."""
    if draw(st.booleans()):
        return None
    daily = []
    for k in range(-draw(st.integers(0, 5)), draw(st.integers(1, 4))):
        held = draw(missing())
        daily.append(
            {
                "date": on + timedelta(days=k), "kind": draw(KINDS), "filled": draw(st.booleans()),
                **{n: draw(MM) for n in ("rain", "given", "use", "drained", "corrected")},
                "read": draw(st.integers(0, 3)), "deficit": held.value, "low": held.low,
                "high": held.high,
            }
        )  # fmt: skip
    rows = [
        {
            "green": g, "deficit": draw(missing()), "refill_mm": draw(MM), "store_mm": 80.0,
            "root_depth_mm": draw(st.floats(20, 400)), "days_left": draw(days_left()),
            "depth_from": draw(st.sampled_from(["entered", "read", "common"])),
            "last_read": draw(st.none() | st.just(on - timedelta(days=2))),
        }
        for g in greens
    ]  # fmt: skip
    return {"refill_mm": draw(MM), "store_mm": 80.0, "watered": draw(st.booleans()),
            "daily": daily, "greens": rows,
            "course": {"deficit": draw(missing()), "days_left": draw(days_left())}}  # fmt: skip


@st.composite
def uses(draw: st.DrawFn, on: Any, greens: list[str]) -> dict[str, Any]:
    """Draw the use of a regulator."""
    gdd = draw(st.none() | st.floats(0, 2000))
    return {
        "greens": greens, "material": "x", "active": draw(st.sampled_from(["", "paclobutrazol"])),
        "grass": "fine fescue", "applied": on - timedelta(days=draw(st.integers(0, 300))),
        "amount": None, "unit": draw(st.sampled_from(["", "mL/m2", "g/m2"])), "degree_days": gdd,
        "state": draw(STATES), "left": None, "fades": draw(st.none() | st.just(on)),
        "rebounds": draw(st.none() | st.just(on)), "top_up": draw(st.none() | st.floats(0, 9)),
    }  # fmt: skip


@st.composite
def told(draw: st.DrawFn, name: str) -> dict[str, Any]:
    """Draw what is told of a model."""
    ahead, back = (draw(st.integers(0, 14)) for _ in range(2))
    return {
        "name": name, "label": name, "host": "ryegrass", "host_here": draw(st.booleans()),
        "threshold": draw(st.floats(0.01, 6)), "own_threshold": draw(st.booleans()),
        "missing": [], "back": {"days": 30, "known": back, "risk": draw(st.integers(0, back))},
        "ahead": {"days": 14, "known": ahead, "risk": draw(st.integers(0, ahead))},
    }  # fmt: skip


@st.composite
def salts(draw: st.DrawFn, on: Any) -> dict[str, Any]:
    """Draw a check of water or soil."""
    what, unit = draw(st.sampled_from([("EC", "dS/m"), ("SAR", "1"), ("RSC", "mmol/L"),
                                       ("HCO3", "mg/L"), ("infiltration", "dS/m"), ("pH", "1"),
                                       ("soil EC", "dS/m")]))  # fmt: skip
    return {
        "what": what, "medium": draw(st.sampled_from(["water", "soil"])), "green": "", "date": on,
        "value": draw(st.floats(0, 900)), "unit": unit, "severe": None,
        "verdict": draw(st.sampled_from(["none", "watch", "severe"])),
        "watch": draw(st.none() | st.floats(0.1, 90)), "lower_is_worse": draw(st.booleans()),
    }  # fmt: skip


def row(on: Any, k: int, quantity: str, value: float, **more: Any) -> dict[str, Any]:
    """Return one finding."""
    return {"date": on + timedelta(days=k), "kind": "forecast" if k > 0 else "observed",
            "quantity": quantity, "value": value, "unit": "1", "above_threshold": None,
            "green": "course", "filled": False} | more  # fmt: skip


@st.composite
def weathers(draw: st.DrawFn) -> Answer:
    """Draw an answer about weather of any shape."""
    on = draw(DAYS)
    greens = draw(st.lists(NAMES, min_size=1, max_size=3, unique=True))
    found = []
    for k in range(-draw(st.integers(0, 3)), draw(st.integers(0, 4)) + 1):
        if draw(st.booleans()):
            found.append(row(on, k, "growth_potential", draw(st.floats(0, 1)), grass="fine fescue"))
        if draw(st.booleans()):
            found.append(row(on, k, "eto", draw(st.floats(0, 12)), unit="mm/d"))
        for name in draw(st.lists(st.sampled_from(MODELS), max_size=2, unique=True)):
            risky = draw(st.booleans())
            found.append(row(on, k, f"risk:{name}", draw(st.floats(0, 6)), above_threshold=risky))
    weeks = [
        {"date": on - timedelta(days=7 * i), "until": on - timedelta(days=7 * i - 6),
         "kind": draw(KINDS), "grass": "fine fescue", "value": draw(st.floats(0, 1)),
         "usual": draw(st.none() | st.just({"low": 0.1, "value": 0.5, "high": 0.9}))}
        for i in range(draw(st.integers(0, 3)))
    ][::-1]  # fmt: skip
    count = st.integers(0, 14)
    more = {
        "days": 14,
        "greens": greens,
        "weather": {k: draw(count) for k in
                    ("forecast", "typical", "unknown", "behind", "observed", "filled")}
        | {"issued": draw(st.none() | st.just(on))},
        "year": weeks,
        "growing_days": [],
        "water": draw(waters(on, greens)),
        "regulators": draw(st.lists(uses(on, greens), max_size=2)),
        "risks": [draw(told(name)) for name in draw(st.sampled_from([(), MODELS[:2], MODELS]))],
        "salts": draw(st.lists(salts(on), max_size=3)),
    }  # fmt: skip
    record = {"course": "fen", "name": "Fen", "readings": 3, "last_reading": on}
    return Answer("weather", on, record, findings=tuple(found), gaps=draw(GAPS),
                  cautions=draw(CAUTIONS), made_by=MADE, more=more)  # fmt: skip


@FEW
@given(weathers(), COURSES)
def test_no_slip_and_no_forbidden_word_is_ever_printed(answer: Answer, course: Course) -> None:
    made = page(answer, course, pictures=False)
    text = everything(made)
    assert SLIPS.findall(text) == [] and FORBIDDEN.findall(text) == []
    assert made.heading.endswith("?") and made.lead
    assert all(line.endswith(".") for line in (*made.lead, *made.cautions, *made.dont_know))


@FEW
@given(weathers())
def test_drawn_answers_are_answers(answer: Answer) -> None:
    SHAPE.validate(answer.as_dict())


@FEW
@given(weathers(), COURSES, st.integers(40, 110))
def test_lines_keep_their_width_but_for_words_that_are_longer(
    answer: Answer, course: Course, width: int
) -> None:
    for line in words(answer, course=course, width=width, full=True).splitlines()[2:]:
        longest = max((len(word) for word in line.split()), default=0)
        assert len(line) <= max(width, longest + 6)


@FEW
@given(weathers(), COURSES)
def test_every_table_is_a_csv_of_its_own_shape(answer: Answer, course: Course) -> None:
    for table in page(answer, course, pictures=False).tables:
        rows = list(csv.reader(io.StringIO(table.as_csv())))
        assert rows[0] == list(table.columns)
        assert {len(r) for r in rows} == {len(table.columns)}
        assert max(table.numbers, default=0) < len(table.columns)
