"""The second pair of eyes on one or two lines: on the limit nothing, a hair over it a breach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from greenwright.advise import PlanLine, breaches
from greenwright.advise.feasible import strictest
from greenwright.base.values import CalendarEntry, CrewRow, Limit, Snapshot, Work
from tests.advise.hands import TODAY, course_of, crew, event, limit

GREENS = {"A": 2, "B": 1}


def day(ahead: int) -> date:
    return TODAY + timedelta(days=ahead)


def line(ahead: int, practice: str, **more: object) -> PlanLine:
    """Return a line on the two greens of group A, half an hour, unless said otherwise."""
    held: dict[str, object] = {
        "date": day(ahead),
        "greens": ("1", "2"),
        "group": "A",
        "practice": practice,
        "amount": None,
        "unit": "",
        "passes": 1.0,
        "material": "",
        "labour_h": 0.5,
        "cost": 10.0,
        **more,
    }
    return PlanLine(**held)  # type: ignore[arg-type]


def record(*limits: Limit, past: Sequence[Work] = (), **more: object) -> Snapshot:
    base = course_of(GREENS, limits=limits, **more)
    return replace(base, work=(*base.work, *past))


def found(snapshot: Snapshot, *lines: PlanLine) -> list[tuple[str, int]]:
    """Return the limits broken and on which day ahead, in order."""
    broken = breaches(snapshot, lines)
    return sorted({(b.limit, (b.date - TODAY).days) for b in broken})


def rolled(ago: int, passes: float = 1.0, green: str = "all", status: str = "done") -> Work:
    return Work(date=day(-ago), green=green, practice="roll", passes=passes, status=status)


@pytest.mark.parametrize(
    ("hours", "broken"),
    [(0.9, []), (1.0, []), (1.01, [("labour_h_day", 1)])],
)
def test_hours_of_a_day_add_up(hours: float, broken: list[tuple[str, int]]) -> None:
    lines = [line(1, "mow", labour_h=hours / 2), line(1, "roll", labour_h=hours / 2)]
    assert found(record(limit("labour_h_day", 1.0)), *lines) == broken


def test_hours_of_two_days_do_not_add_up() -> None:
    lines = [line(1, "mow", labour_h=0.9), line(2, "mow", labour_h=0.9)]
    assert found(record(limit("labour_h_day", 1.0)), *lines) == []


@pytest.mark.parametrize(
    ("scope", "most", "broken"),
    [
        ("1", 0.5, False),  # by hand: green 1 is half of a line of one hour
        ("1", 0.49, True),
        ("A", 0.99, True),
        ("B", 0.0, False),  # by hand: nothing of the line is on group B
    ],
)
def test_hours_of_some_greens_take_their_share(scope: str, most: float, broken: bool) -> None:
    held = record(limit("labour_h_day", most, green=scope))
    assert bool(found(held, line(1, "mow", labour_h=1.0))) is broken


def test_of_two_limits_of_hours_the_lower_is_the_one_broken() -> None:
    held = record(limit("labour_h_day", 2.0), limit("labour_h_day", 1.0, weekday="mon"))
    # by hand: today is a Friday, so Monday is three days ahead
    lines = [line(2, "mow", labour_h=1.5), line(3, "mow", labour_h=1.5)]
    assert found(held, *lines) == [("labour_h_day", 3)]
    assert "1.50 h of 1 h" in breaches(held, lines)[0].what


@pytest.mark.parametrize(
    ("rows", "passes", "broken"),
    [
        (crew(("A",), roll=60), 4.0, False),  # by hand: 60 x 4 is the 240 minutes of a morning
        (crew(("A",), roll=60), 4.1, True),
        ((CrewRow(practice="roll", minutes=180, machine="roll"),), 2.0, False),  # 120 x 2
        ((CrewRow(practice="roll", minutes=180, machine="roll"),), 2.1, True),
        ((CrewRow(practice="roll", minutes=180, machine="roll", group="all"),), 2.1, True),
        ((*crew(("A",), roll=60), CrewRow(machine="roll", count=2)), 8.0, False),
        ((*crew(("A",), roll=60), CrewRow(machine="roll", count=2)), 8.1, True),
        ((*crew(("A",), roll=60), CrewRow(machine="roll", count=0)), 1.0, True),
        # by hand: the group's own row comes before the course's
        ((*crew(("A",), roll=60), CrewRow(practice="roll", minutes=900, machine="roll")), 4, False),
    ],
)
def test_minutes_of_a_machine(rows: tuple[CrewRow, ...], passes: float, broken: bool) -> None:
    held = record(crew=rows)
    assert found(held, line(1, "roll", passes=passes)) == ([("machine", 1)] if broken else [])


def test_two_practices_share_one_machine() -> None:
    rows = tuple(
        CrewRow(practice=p, group="A", minutes=130, machine="tractor")
        for p in ("brush", "verticut")
    )
    held = record(crew=rows)
    assert found(held, line(1, "brush"), line(2, "verticut")) == []
    # by hand: 260 of 240 minutes
    assert found(held, line(1, "brush"), line(1, "verticut")) == [("machine", 1)]


@pytest.mark.parametrize(
    ("practice", "greens", "fixed", "broken"),
    [
        ("mow", ("1", "2"), False, False),
        ("mow", ("2", "3"), False, True),  # by hand: the table has no cut of group B
        ("brush", ("1",), False, True),
        ("brush", ("1",), True, False),  # planned in the record: somebody means to do it
    ],
)
def test_work_that_the_crew_does_not_do(
    practice: str, greens: tuple[str, ...], fixed: bool, broken: bool
) -> None:
    held = record(crew=crew(("A",), mow=20))
    assert bool(found(held, line(1, practice, greens=greens, fixed=fixed))) is broken


@pytest.mark.parametrize(
    ("past", "ahead", "broken"),
    [
        ([], [1, 2], []),
        ([], [1, 2, 3], [3, 4, 5, 6, 7]),  # by hand: three in every window up to the seventh day
        ([], [1, 2, 8], []),  # by hand: the first has left the seven days that end on day 8
        ([6], [1], []),  # by hand: six days ago is the eighth day back
        ([5, 5], [1], [1]),
        ([5, 4], [1], [1]),
        ([5, 4], [2], []),
        ([0], [1, 2], [2, 3, 4, 5, 6]),
    ],
)
def test_rolls_in_any_seven_days(past: list[int], ahead: list[int], broken: list[int]) -> None:
    held = record(limit("rolls_week", 2), past=[rolled(i) for i in past])
    wanted = [("rolls_week", i) for i in broken]
    assert found(held, *(line(i, "roll") for i in ahead)) == wanted


def test_rolls_count_by_green_pass_and_what_was_done() -> None:
    held = record(limit("rolls_week", 2), past=[rolled(1, green="B", passes=2), rolled(1, 2.0,
                  status="planned")])  # fmt: skip
    assert found(held, line(1, "roll", passes=2.0)) == []
    assert found(held, line(1, "roll", passes=2.5))[0] == ("rolls_week", 1)
    # by hand: group B has its two already
    assert found(held, line(1, "roll", greens=("3",)))[0] == ("rolls_week", 1)


@pytest.mark.parametrize(
    ("amounts", "broken"),
    [
        ([(1, 3.6)], []),
        ([(1, 3.5)], []),  # by hand: the lowest itself, one step of 0.1
        ([(1, 3.49)], [("max_height_step_mm", 1), ("min_height_mm", 1)]),
        ([(1, 3.7), (2, 3.7), (4, 3.6)], []),  # by hand: three days between the changes
        ([(1, 3.7), (3, 3.6)], [("min_step_interval_d", 3)]),
        ([(1, 3.71)], [("max_height_step_mm", 1)]),
        ([(1, 3.7), (2, 3.85)], [("max_height_step_mm", 2), ("min_step_interval_d", 2)]),
        ([(2, None), (3, 3.5)], []),  # by hand: a cut without a height leaves it as it is
    ],
)
def test_heights_and_their_steps(
    amounts: list[tuple[int, float | None]], broken: list[tuple[str, int]]
) -> None:
    held = record(
        limit("min_height_mm", 3.5),
        limit("max_height_step_mm", 0.1),
        limit("min_step_interval_d", 3),
    )
    assert found(held, *(line(i, "mow", amount=a) for i, a in amounts)) == broken


def test_a_change_made_before_today_still_counts() -> None:
    base = course_of(GREENS, limits=(limit("min_step_interval_d", 4),))
    work = tuple(replace(w, amount=3.7 if w.date < day(-1) else 3.6) for w in base.work)
    held = replace(base, work=work)
    # by hand: changed yesterday, so the fourth day after is three days ahead
    assert found(held, line(2, "mow", amount=3.5)) == [("min_step_interval_d", 2)]
    assert found(held, line(3, "mow", amount=3.5)) == []


def test_without_entered_limits_the_cautious_defaults_hold() -> None:
    # common practice: 0.13 mm a step, three days between
    assert found(record(), line(1, "mow", amount=3.47)) == []
    assert found(record(), line(1, "mow", amount=3.46)) == [("max_height_step_mm", 1)]
    lines = [line(1, "mow", amount=3.5), line(3, "mow", amount=3.4)]
    assert found(record(), *lines) == [("min_step_interval_d", 3)]


@pytest.mark.parametrize(("kind", "shut"), [("closure", True), ("renovation", True),
                                            ("holiday", False), ("event", False)])  # fmt: skip
def test_nobody_works_where_the_calendar_shuts(kind: str, shut: bool) -> None:
    entry = CalendarEntry(start=day(2), end=day(3), name="x", kind=kind)
    held = record(calendar=(entry,))
    broken = found(held, *(line(i, "mow") for i in (1, 2, 3, 4)))
    assert broken == ([("no_work", 2), ("no_work", 3)] if shut else [])


def test_a_closure_of_one_day_needs_no_end() -> None:
    held = record(calendar=(CalendarEntry(start=day(2), name="x", kind="closure"),))
    assert found(held, line(1, "mow"), line(2, "mow"), line(3, "mow")) == [("no_work", 2)]


@pytest.mark.parametrize(("green", "broken"), [("2", True), ("B", False), ("all", True)])
def test_a_date_without_work_is_for_its_greens(green: str, broken: bool) -> None:
    held = record(limit("no_work", None, green=green, from_=day(1), until=day(1)))
    assert bool(found(held, line(1, "mow"))) is broken
    assert found(held, line(2, "mow")) == []


@pytest.mark.parametrize(
    ("days_before", "ahead", "broken"),
    [
        (5.0, 5, False),  # by hand: the event is ten days ahead, so five days lie between
        (5.0, 6, True),
        (5.0, 10, True),  # by hand: the day itself
        (5.0, 11, False),
        (7.0, 4, True),
        (None, 1, True),  # elicited default: 21 days
    ],
)
def test_coring_before_an_event(days_before: float | None, ahead: int, broken: bool) -> None:
    rows = () if days_before is None else (limit("no_core_days_before_event", days_before),)
    held = record(*rows, calendar=(event(10),))
    assert bool(found(held, line(ahead, "core"))) is broken
    assert found(held, line(ahead, "feed")) == []


def test_the_strictest_of_several_values_is_asked_for_by_its_sense() -> None:
    held = record(
        limit("rolls_week", 5),
        limit("rolls_week", 3, green="A"),
        limit("rolls_week", 1, green="1", weekday="sat"),
        limit("rolls_week", 0, from_=day(9)),
        limit("rolls_week", None),
    )
    # by hand: tomorrow is Saturday
    asked = [("1", 1), ("1", 2), ("2", 1), ("3", 1), ("3", 9)]
    got = [strictest(held, "rolls_week", g, day(i), least=True) for g, i in asked]
    assert got == [1, 3, 3, 5, 0]
    assert strictest(held, "rolls_week", "1", day(2), least=False) == 5
    assert strictest(held, "min_height_mm", "1", day(1), least=False) is None


def test_one_line_may_break_many_limits_at_once() -> None:
    held = record(
        limit("labour_h_day", 0.2),
        limit("rolls_week", 0),
        limit("no_work", None, green="1"),
        crew=crew(("A",), mow=20),
    )
    broken = {b.limit: b.greens for b in breaches(held, [line(1, "roll")])}
    assert set(broken) == {"labour_h_day", "rolls_week", "no_work", "crew"}
    assert broken["no_work"] == ("1",) and broken["labour_h_day"] == ("1", "2", "3")


def test_no_lines_break_nothing() -> None:
    assert breaches(record(limit("labour_h_day", 0.0), limit("rolls_week", 0)), []) == ()
