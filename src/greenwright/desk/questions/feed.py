"""What do the greens need to eat?"""

from __future__ import annotations

from datetime import date
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import Snapshot
from greenwright.desk.answering import Made, Progress, Row, finish, require_greens, silent
from greenwright.desk.clock import stopwatch
from greenwright.desk.feeding import needs, planning, told
from greenwright.desk.quiet import settle_solver
from greenwright.feed.arrange import pass_cost, problem_of
from greenwright.feed.materials import feedstuffs
from greenwright.feed.plan import FeedPlan, feed_plan
from greenwright.feed.year import GroupYear, feed_year
from greenwright.record import Store, snapshot

MODEL = "feed 1 (need by growth and balance, least cost within the limits)"
YEARS_AHEAD = 1
"""Years after this one that can be asked for."""
FIRST_YEAR = 1900


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return what each group of greens needs in a year, and the plain materials that meet it.

    Args:
        store, on, course, progress: as in the question today.
        options: year (the day's own).

    Raises:
        CannotAnswer: several courses and none named, no green in play, or neither weather nor
            soil test.
        BadInput: a year that cannot be planned.
    """
    started, tell = stopwatch(), progress or silent
    year = year_of(options.get("year"), on)
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    _require_something(record)
    tell("Working out the need", 0.3)
    stuff, unpriced = feedstuffs(record.materials)
    years = feed_year(record, year, stuff)
    tell("Planning the materials", 0.5)
    settle_solver()
    plan = feed_plan(problem_of(record, years, stuff))
    made = _made(record, years, plan, unpriced)
    tell("Done", 1.0)
    return finish("feed", record, made, started=started)


def year_of(given: object, on: date) -> int:
    """Return the year that is asked for.

    Raises:
        BadInput: no whole number, or a year out of reach.

    >>> year_of(None, date(2026, 6, 5)), year_of("2027", date(2026, 6, 5))
    (2026, 2027)
    """
    if given is None or given == "":
        return on.year
    try:
        year = int(str(given))
    except ValueError:
        year = 0
    if not FIRST_YEAR <= year <= on.year + YEARS_AHEAD:
        raise BadInput(
            f"{given!r} is not a year that can be fed",
            where="year",
            expected=f"a year up to {on.year + YEARS_AHEAD}",
            do="Leave it out for this year",
        )
    return year


def _require_something(record: Snapshot) -> None:
    warm = any(d.t_mean_c is not None or d.t_max_c is not None for d in record.weather)
    if warm or any(row.medium == "soil" for row in record.lab):
        return
    raise CannotAnswer(
        f"the record holds neither weather nor a soil test on or before {record.as_of}",
        where=record.course.name,
        expected="daily temperatures, or a soil test",
        do="Load weather.csv or lab.csv, then ask again",
    )


def _made(
    record: Snapshot, years: tuple[GroupYear, ...], plan: FeedPlan, unpriced: tuple[str, ...]
) -> Made:
    claims = told.claim_rows(years, plan)
    labour = {key for one in years for key in pass_cost(record, one.group)[2]}
    carrier = {"feed.carrier"} if planning.carrier_of(record)[1] else set()
    return Made(
        model=MODEL,
        findings=needs.need_rows(record, years),
        choices=planning.choice_rows(record, years, plan),
        gaps=told.gap_rows(record, years, unpriced, plan),
        cautions=told.caution_rows(record, years, plan),
        used=needs.keys_of(years)
        | told.keys_of(plan, claims)
        | frozenset(labour)
        | frozenset(carrier),
        more=_more(record, years, plan, claims),
    )


def _more(
    record: Snapshot, years: tuple[GroupYear, ...], plan: FeedPlan, claims: tuple[Row, ...]
) -> Row:
    number = years[0].year
    return {
        "year": number,
        "groups": needs.group_rows(record, years),
        "leaf": needs.leaf_rows(record, years),
        "short": planning.short_rows(record, years, plan),
        "limits_hit": [{"limit": f, "text": planning.WORDS[f]} for f in plan.hits],
        "clashes": [{"limit": f, "text": planning.WORDS[f]} for f in plan.clashes],
        "cost": plan.cost if plan.lines else 0.0,
        "optimum": {"gap": plan.gap if plan.gap < float("inf") else None},
        "shopping": planning.shopping(plan),
        "programmes": planning.programme_rows(record, years, plan),
        "excess": planning.excess_rows(record, years, plan),
        "claims": claims,
        "sand": told.sand_rows(record, years),
        "holds": list(told.holds()),
        "log": told.log_rows(record, number),
    }
