"""What must hold between the cells of one row; asked only of rows whose cells are all good."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any
from zoneinfo import ZoneInfo

from greenwright.base.tables import practices
from greenwright.intake.bands import DATED_LIMITS
from greenwright.intake.cells import Context
from greenwright.intake.faults import Fault

Fields = Mapping[str, Any]
Rule = Callable[[Fields, Context], Iterator[Fault]]

UNIQUE = frozenset(["course", "greens", "stations", "materials", "rounds", "weather"])
"""Files in which two rows of one identity contradict each other."""

SHARES = ("n", "p2o5", "k2o", "ca", "mg", "s", "fe", "mn", "cl", "na")
FORMS_OF_N = ("n_urea_pct", "n_ammonium_pct", "n_nitrate_pct")
ROUNDING_PCT = 0.2
"""Three label figures rounded to 0.1 % may miss their sum by this much [%]."""


def first_fault(fields: Fields, context: Context) -> Fault | None:
    """Return the first rule that a row breaks, or None."""
    rule = _RULES.get(context.file.name)
    return next(rule(fields, context), None) if rule else None


def _order(fields: Fields, low: str, high: str, *, at: str) -> Iterator[Fault]:
    """Yield a fault where both stand and high is under low; column names equal field names."""
    first, last = fields.get(low), fields.get(high)
    if first is not None and last is not None and last < first:
        names = low.rstrip("_"), high.rstrip("_")
        yield _fault(at.rstrip("_"), fields[at], f"{names[1]} {last} is under {names[0]} {first}")


def _fault(column: str, value: Any, why: str, do: str = "correct one of them") -> Fault:
    return Fault(column, "" if value is None else str(value), why, do)


def _course(fields: Fields, _: Context) -> Iterator[Fault]:
    zone = fields.get("timezone")
    try:
        ZoneInfo(zone or "UTC")
    except (LookupError, ValueError, OSError):
        yield _fault("timezone", zone, f"{zone!r} is not an IANA time zone", "as Europe/London")


def _work(fields: Fields, context: Context) -> Iterator[Fault]:
    day, practice = fields["date"], practices()[fields["practice"]]
    if day > context.today and fields.get("status", "done") == "done":
        why = f"work done on {day} is in the future (today is {context.today})"
        yield _fault("date", day, why, "correct the date, or write planned in status")
    named = fields.get("material") or fields.get("detail", "").lower().startswith("as ")
    if practice.needs_material and "amount" in fields and not named:
        yield _fault("material", None, f"{practice.key} of which material?", "name the material")


def _weather(fields: Fields, context: Context) -> Iterator[Fault]:
    day, kind = fields["date"], fields.get("kind", "observed")
    if kind == "observed" and day > context.today:
        yield _fault("date", day, f"observed on {day}, in the future", "write forecast in kind")
    if kind == "forecast" and "issued" not in fields:
        yield _fault("issued", None, "a forecast needs the day it was made", "fill issued")
    yield from _order(fields, "t_min_c", "t_max_c", at="t_max_c")
    yield from _order(fields, "t_min_c", "t_mean_c", at="t_mean_c")
    yield from _order(fields, "t_mean_c", "t_max_c", at="t_mean_c")
    yield from _order(fields, "rh_min_pct", "rh_mean_pct", at="rh_mean_pct")
    yield from _order(fields, "rh_mean_pct", "rh_max_pct", at="rh_mean_pct")
    yield from _order(fields, "rh_min_pct", "rh_max_pct", at="rh_max_pct")


def _lab(fields: Fields, _: Context) -> Iterator[Fault]:
    if fields["medium"] == "soil":
        for column in ("depth_cm", "extractant"):
            if column not in fields:
                yield _fault(column, None, f"a soil test without {column}", f"fill {column}")


def _materials(fields: Fields, _: Context) -> Iterator[Fault]:
    total = sum(fields.get(f"{part}_pct", 0.0) for part in SHARES)
    if total > 100:
        last = next(f"{p}_pct" for p in SHARES if f"{p}_pct" in fields)
        yield _fault(last, fields[last], f"its parts add up to {total:g} %", "correct the label's")
    forms = sum(fields.get(form, 0.0) for form in FORMS_OF_N)
    if "n_pct" in fields and forms > fields["n_pct"] + ROUNDING_PCT:
        why = f"the forms of nitrogen add up to {forms:g} %, over n_pct {fields['n_pct']:g} %"
        yield _fault("n_pct", fields["n_pct"], why)
    if "max_rate" in fields and "max_rate_unit" not in fields:
        yield _fault("max_rate_unit", None, "max_rate needs its unit", "fill max_rate_unit")


def _feedback(fields: Fields, _: Context) -> Iterator[Fault]:
    asked = fields.get("n_asked")
    if asked is not None and fields["count"] > asked:
        yield _fault("count", fields["count"], f"{fields['count']} of {asked} asked")


def _putts(fields: Fields, _: Context) -> Iterator[Fault]:
    if fields["made"] > fields["tried"]:
        yield _fault("made", fields["made"], f"{fields['made']} made of {fields['tried']} tried")


def _calendar(fields: Fields, _: Context) -> Iterator[Fault]:
    yield from _order(fields, "start", "end", at="end")


def _targets(fields: Fields, _: Context) -> Iterator[Fault]:
    yield from _order(fields, "from_", "until", at="until")
    if "low" not in fields and "high" not in fields:
        yield _fault("low", None, "a target needs low or high", "fill one of them")
    yield from _order(fields, "low", "high", at="high")


def _limits(fields: Fields, _: Context) -> Iterator[Fault]:
    if fields["limit"] in DATED_LIMITS:
        for column, field in (("from", "from_"), ("until", "until")):
            if field not in fields:
                why = f"{fields['limit']} needs its first and last day"
                yield _fault(column, None, why, f"fill {column}")
    yield from _order(fields, "from_", "until", at="until")


def _crew(fields: Fields, context: Context) -> Iterator[Fault]:
    if "practice" in fields:
        if "minutes" not in fields:
            yield _fault("minutes", None, "how long does one pass take?", "fill minutes")
    else:
        for column in ("machine", "count"):
            if column not in fields:
                yield _fault(column, None, f"a row without practice needs {column}", "fill it")
    group = fields.get("group", "all")
    if context.greens and group not in context.greens | context.groups | {"all"}:
        known = ", ".join(sorted(context.groups))
        yield _fault("group", group, f"{group!r} is not a group here", f"the groups are {known}")


_RULES: Mapping[str, Rule] = {
    "course": _course,
    "work": _work,
    "weather": _weather,
    "lab": _lab,
    "materials": _materials,
    "feedback": _feedback,
    "putts": _putts,
    "calendar": _calendar,
    "targets": _targets,
    "limits": _limits,
    "crew": _crew,
}
