"""Weather: what does it do to growth, water, the regulator and disease?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import floor, log10
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import short_date
from greenwright.show.figures.season import season_figure, season_finding
from greenwright.show.figures.strips import (
    STATES,
    model_label,
    regulator_figure,
    regulator_finding,
    risk_figure,
    risk_finding,
)
from greenwright.show.figures.thirst import ahead_cells, day_name, thirst_figure, thirst_finding
from greenwright.show.page import Figure, Page, Section, Table
from greenwright.show.pages.parts import joined

Row = Mapping[str, Any]

HOW = (
    "Growth is what temperature alone allows; water use is the reference evapotranspiration of "
    "FAO Irrigation and Drainage Paper 56 times a crop coefficient.",
    "The balance counts rain, water given and water used, lets go what is over field capacity, "
    "and is put right by every moisture reading, the more the surer the reading is.",
    "A risk day is information about the weather: it names no product and is no instruction to "
    "spray. Each model was built on the grass named beside it.",
)
ACTING_D = 60
"""Days after which a use of a regulator is told in the table only."""
NO_WATER = "No water balance can be drawn up yet: it needs rain and temperature of the days up to "
NO_REGULATOR = "No growth regulator is in the record of the last year."
NO_SALT = "No analysis of irrigation water is in the record: load one in lab.csv with medium water."


def weather_page(answer: Answer, course: Course, *, pictures: bool = True) -> Page:
    """Return the page of `weather`."""
    more = answer.more
    return joined(
        answer,
        course,
        lead=_lead(answer, course),
        figures=_figures(answer, course) if pictures else (),
        sections=_sections(answer, course),
        how=(*HOW, *_known(more.get("weather") or {})),
        brief=_brief(answer, course),
    )


def _lead(answer: Answer, course: Course) -> tuple[str, ...]:
    more, on = answer.more, answer.as_of
    told = []
    if more.get("water"):
        told.append(thirst_finding(more["water"], on, course))
    first = _first_grass(answer)
    if first:
        told.append(season_finding(_year(answer, first), on))
    uses = _acting(more.get("regulators") or (), on)
    told += [regulator_finding(uses[0])] if uses else []
    told += [risk_finding(more["risks"])] if more.get("risks") else []
    return tuple(told) or ("We cannot tell yet: too little weather is in the record.",)


def _acting(uses: Sequence[Row], on: date) -> list[Row]:
    """Return the uses that still matter: degree days hardly add up over a winter."""
    return [
        use
        for use in uses
        if use["state"] != "worn off" and (on - rows.day(use["applied"])).days <= ACTING_D
    ]


def _first_grass(answer: Answer) -> str:
    return next((str(row["grass"]) for row in answer.more.get("year") or ()), "")


def _year(answer: Answer, grass: str) -> list[Row]:
    return [row for row in answer.more.get("year") or () if row["grass"] == grass]


def _figures(answer: Answer, course: Course) -> tuple[Figure, ...]:
    more, on = answer.more, answer.as_of
    made: list[Figure | None] = []
    if more.get("water") and len(more["water"]["daily"]) > 1:
        made.append(thirst_figure(more["water"], on, course))
    first = _first_grass(answer)
    if first:
        made.append(season_figure(_year(answer, first), on, grass=first))
    made += [regulator_figure(answer.findings, use, on) for use in _acting(_uses(answer), on)[:1]]
    made.append(risk_figure(answer.findings, more.get("risks") or (), on))
    return tuple(figure for figure in made if figure)


def _uses(answer: Answer) -> Sequence[Row]:
    return answer.more.get("regulators") or ()


def _sections(answer: Answer, course: Course) -> tuple[Section, ...]:
    more = answer.more
    made = [replace(_ahead(answer, course), folded=True)] if answer.findings else []
    if more.get("water"):
        tables = (_greens(more["water"], answer.as_of, course),)
        made.append(Section("Water green by green", tables=tables, folded=True))
    else:
        made.append(Section("Water", (f"{NO_WATER}{short_date(answer.as_of)}.",)))
    made.append(_regulators(answer, course))
    if more.get("risks"):
        made.append(Section("The disease models", tables=(_models(more["risks"]),), folded=True))
    made.append(_salts(more.get("salts") or ()))
    return tuple(made)


def _brief(answer: Answer, course: Course) -> tuple[Section, ...]:
    return (_ahead(answer, course),) if answer.findings else ()


def _ahead(answer: Answer, course: Course) -> Section:
    return Section("The days ahead", tables=(ahead_table(answer, course),))


def ahead_table(answer: Answer, course: Course) -> Table:
    """Return one row a day ahead: growth, water use, what is missing, and risks."""
    grass = _first_grass(answer)
    days = sorted({rows.day(r["date"]) for r in answer.findings} - {None})
    cells = []
    for day in (d for d in days if d > answer.as_of):
        held = [r for r in answer.findings if rows.day(r["date"]) == day]
        growth = _value(held, "growth_potential", grass)
        use = _value(held, "eto")
        cells.append(
            (
                day_name(day),
                _KINDS[held[0]["kind"]],
                "" if growth is None else formats.share(growth["value"]),
                "" if use is None else formats.point(round(use["value"], 1), "mm", "", course),
                ahead_cells(answer.more.get("water"), day, course),
                _risky(held),
            )
        )
    head = ("Day", "Weather", "Growth", "Evaporation", "Missing", "Favours")
    return Table("The days ahead", head, tuple(cells), frozenset([2, 3, 4]))


_KINDS = {"observed": "seen", "forecast": "forecast", "typical": "usual"}


def _value(held: Sequence[Row], quantity: str, grass: str = "") -> Row | None:
    return next(
        (r for r in held if r["quantity"] == quantity and r.get("grass", "") in ("", grass)), None
    )


def _risky(held: Sequence[Row]) -> str:
    asked = [r for r in held if r["quantity"].startswith("risk:")]
    if not asked:
        return "no answer"
    names = [
        model_label(r["quantity"].removeprefix("risk:")) for r in asked if r["above_threshold"]
    ]
    return terms.listed(names).capitalize() if names else "none"


def _greens(water: Row, on: date, course: Course) -> Table:
    cells = tuple(
        (
            str(row["green"]),
            formats.level(rows.estimate(row["deficit"]), "", course),
            formats.point(round(row["refill_mm"]), "mm", "", course),
            _left(row["days_left"]),
            _depth(row, course),
            _read(rows.day(row["last_read"]), on),
        )
        for row in water["greens"]
    )
    head = ("Green", "Missing", "Refill line", "Days left", "Roots", "Moisture read")
    return Table("Water green by green", head, cells, frozenset([1, 2, 3, 4]))


def _left(left: Row) -> str:
    best, soon, late = (left.get(k) for k in ("value", "low", "high"))
    if best is None:
        return "none in sight"
    if best == 0:
        return "past it"
    last = "" if late is None or late > 60 else f"{round(late)}"
    return f"{min(round(best), 60)} ({round(soon or 0)}–{last or 'on'})"


def _depth(row: Row, course: Course) -> str:
    told = {"entered": "", "read": "", "common": " (taken)"}[row["depth_from"]]
    return formats.point(round(row["root_depth_mm"]), "mm", "", course) + told


def _read(day: date | None, on: date) -> str:
    if day is None:
        return "never"
    ago = (on - day).days
    return "today" if ago <= 0 else "yesterday" if ago == 1 else f"{ago} days ago"


def _regulators(answer: Answer, course: Course) -> Section:
    uses = _uses(answer)
    if not uses:
        return Section("Growth regulators", (NO_REGULATOR,))
    every = rows.greens_of(answer)
    cells = tuple(
        (
            str(use["active"] or use["material"]).capitalize(),
            terms.greens([str(g) for g in use["greens"]], every),
            short_date(rows.day(use["applied"])),
            "" if use["degree_days"] is None else f"{round(use['degree_days'])}",
            STATES[use["state"]],
            _top_up(use, course),
        )
        for use in uses
    )
    head = ("Active", "Greens", "Applied", "Degree days", "Growth", "To the full rate again")
    table = Table("Growth regulators", head, cells, frozenset([3]))
    return Section("Growth regulators", tables=(table,), notes=(_LABEL,), folded=True)


_LABEL = (
    "What would bring it to the full rate again is arithmetic, not advice: the label's rate, "
    "interval and yearly limit stand above it, and only licensed applicators apply it."
)


def _top_up(use: Row, course: Course) -> str:
    amount = use.get("top_up")
    if amount is None or not use.get("unit"):
        return ""
    scale = formats.scale_for("", use["unit"], course)
    shown = scale.shown(amount)
    return f"{_counting(shown, 2)} {scale.unit}"


def _counting(value: float, digits: int) -> str:
    """Return a number with so many digits that count, never more than four decimals.

    >>> _counting(0.02344, 2), _counting(518.5, 3), _counting(-2.1, 3), _counting(1e-9, 2)
    ('0.023', '518', '−2.1', '0')
    """
    size = floor(log10(abs(value))) if abs(value) >= 1e-4 else 0
    return formats.plain(value, min(max(digits - 1 - size, 0), 4))


def _models(risks: Sequence[Row]) -> Table:
    cells = tuple(
        (
            model_label(row["name"]),
            row["host"] + ("" if row["host_here"] else " (not here)"),
            _counting(row["threshold"], 3) + (" (your own)" if row["own_threshold"] else ""),
            _count(row["back"]),
            _count(row["ahead"]),
        )
        for row in risks
    )
    head = ("Model", "Built on", "Risk from", "Last 30 days", "Days ahead")
    return Table("The disease models", head, cells, frozenset([2]))


def _count(held: Row) -> str:
    return f"{held['risk']} of {held['known']}" if held["known"] else "no answer"


def _salts(salts: Sequence[Row]) -> Section:
    if not salts:
        return Section("Salt in the water", (NO_SALT,))
    cells = tuple(
        (
            _SALT[row["what"]],
            f"{row['medium']}, {short_date(rows.day(row['date']))}",
            f"{_counting(row['value'], 3)} {_unit(row['unit'])}".strip(),
            _VERDICT[row["verdict"]],
            _edge(row),
        )
        for row in salts
    )
    head = ("What", "Sample", "Found", "Caution", "Watch from")
    worst = max(salts, key=lambda row: list(_VERDICT).index(row["verdict"]))
    told = (
        "Nothing in the newest samples calls for caution."
        if worst["verdict"] == "none"
        else f"{_SALT[worst['what']]} calls for {_CALLS[worst['verdict']]}."
    )
    return Section("Salt in water and soil", (told,), tables=(Table("Salt", head, cells),))


_SALT = {
    "EC": "Salinity",
    "SAR": "Sodium against calcium and magnesium (SAR)",
    "HCO3": "Bicarbonate",
    "RSC": "Carbonate left over (RSC)",
    "infiltration": "Sealing of the soil (salinity at this SAR)",
    "pH": "pH",
    "soil EC": "Salinity of the soil",
}
_VERDICT = {"none": "none", "watch": "watch", "severe": "severe"}
_CALLS = {"watch": "watching", "severe": "care: talk to the laboratory before the season"}


def _unit(unit: str) -> str:
    return {"1": "", "mmol/L": "meq/L"}.get(unit, unit)


def _edge(row: Row) -> str:
    if row["watch"] is None:
        return ""
    side = "under " if row["lower_is_worse"] else ""
    return f"{side}{_counting(row['watch'], 3)} {_unit(row['unit'])}".strip()


def _known(weather: Row) -> tuple[str, ...]:
    """Return how the days behind and ahead are known."""
    told = []
    if weather.get("behind"):
        seen, n = weather["observed"], weather["behind"]
        told.append(f"Of the last {n} days {seen} were seen.")
    names = (
        ("forecast", "forecast in the record"),
        ("typical", "usual of the season here"),
        ("unknown", "not known"),
    )
    parts = [f"{weather[k]} {text}" for k, text in names if weather.get(k)]
    if parts:
        issued = rows.day(weather.get("issued"))
        when = f", the forecast of {short_date(issued)}" if issued else ""
        told.append(f"Of the days ahead {terms.listed(parts)}{when}.")
    return tuple(told)
