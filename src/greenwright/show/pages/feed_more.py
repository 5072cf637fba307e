"""What stands behind the plan of feed: verdicts, programmes, studies, sand, leaves, the log."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import feeding, formats, rows, terms
from greenwright.show.dates import short_date
from greenwright.show.page import Section, Table, sentence
from greenwright.show.prose import prose

EVIDENCE = (
    "Shown only where the plan touches it, each at the strength of its studies. Nothing here says "
    "that feeding cures a disease, and no product is advised."
)

BALANCES = "The numbers behind each verdict"
LEAST = 0.05
"""A need under this is none [g/m2]."""


def why_not(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return the verdicts with their reasons; the balance behind each stands folded."""
    held = feeding.elements(answer)
    if not held:
        return ()
    told = (*_reasons(held, answer), *_otherwise(held, answer))
    cells = tuple(_verdict(one, course) for one in held)
    head = ("Element", "Verdict", "Need", "Use + reserve − soil", "Classical sufficiency")
    return (
        Section("What is needed, what is not, and why", told),
        Section(BALANCES, tables=(Table(BALANCES, head, cells),), folded=True),
    )


def _otherwise(held: Sequence[feeding.Need], answer: Answer) -> tuple[str, ...]:
    """Return where classical sufficiency comes to another verdict than the one that rules."""
    every = len(answer.more.get("groups") or ())
    told: dict[str, dict[str, list[str]]] = {}
    for one in held:
        other = _second(one)
        if other and other["verdict"] != one.verdict:
            found = told.setdefault(other["verdict"], {})
            found.setdefault(one.element, []).append(one.group)
    parts = [f"{v}: {feeding.by_place(found, every)}" for v, found in told.items()]
    return (sentence([f"By classical sufficiency, {'; '.join(parts)}"]),) if parts else ()


def _second(one: feeding.Need) -> rows.Row | None:
    return one.row["against"][1] if len(one.row.get("against") or ()) > 1 else None


def _reasons(held: Sequence[feeding.Need], answer: Answer) -> tuple[str, ...]:
    """Return one sentence for each verdict and reason, with the elements and groups it is of."""
    every = len(answer.more.get("groups") or ())
    told: dict[tuple[str, str], dict[str, list[str]]] = {}
    for one in held:
        found = told.setdefault((one.verdict, _why(one)), {})
        found.setdefault(one.element, []).append(one.group)
    made = []
    for (verdict, why), found in told.items():
        made.append(sentence([f"{verdict}: {feeding.by_place(found, every)} ({why})"]))
    return tuple(made)


def _verdict(one: feeding.Need, course: Course) -> tuple[str, ...]:
    parts = one.row["parts"]
    soil = rows.estimate(parts["soil"])
    sums = [
        _bare(rows.estimate(parts["growth"]), course),
        _bare(rows.estimate(parts["reserve"]), course),
        _bare(soil, course) if soil else "not tested",
    ]
    given = f" − {feeding.rate(one.row['given'], course)} given" if one.row.get("given") else ""
    other = _second(one)
    group = feeding.group_name(one.group)
    return (
        f"{feeding.element_name(one.element)}, {group[:1].lower()}{group[1:]}",
        feeding.SHAPES[one.verdict],
        _need(one, course),
        f"{sums[0]} + {sums[1]} − {sums[2]}{given}",
        feeding.VERDICTS[other["verdict"]] if other else "no threshold",
    )


def _need(one: feeding.Need, course: Course) -> str:
    if one.need is None:
        return "not known"
    if one.need.value > 0:
        return formats.level(one.need, "", course)
    if one.need.high < LEAST:
        return "none"
    scale = formats.scale_for("", "g/m2", course)
    places = formats.decimals_for(one.need.high / 2, scale.decimals)
    return f"none (at most {formats.number(scale.shown(one.need.high), places)} {scale.unit})"


def _why(one: feeding.Need) -> str:
    borrowed = "; the test is of other greens" if one.row.get("borrowed") else ""
    return f"{one.row['reason']}{borrowed}"


def _bare(held: object, course: Course) -> str:
    found = rows.estimate(held)
    return feeding.rate(found.value, course).split(" ")[0] if found else "–"


def programmes(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return the plan beside what the record holds of other programmes."""
    held: Sequence[rows.Row] = answer.more.get("programmes") or ()
    if not held:
        return ()
    title = "Programmes side by side"
    cells = tuple(
        (
            f"{row['name'].capitalize()}, {_span(row)}",
            *(feeding.rate(row["supplies"].get(e, 0.0), course) for e in ("N", "K", "P")),
            str(row["materials"]),
            f"{row['passes']:.0f}",
            "no price" if row["cost"] is None else formats.money(row["cost"], course.currency),
            feeding.rate(max(-row["caco3_g_m2"], 0.0), course),
            feeding.rate(row["salt_g_m2"], course),
        )
        for row in held
    )
    head = (
        "Programme", "N", "K", "P", "Materials", "Passes", "Cost", "Lime that undoes its acidity",
        "Salt",
    )  # fmt: skip
    over = answer.more.get("excess") or ()
    told = [
        f"{feeding.element_name(r['element'])} rides along: {feeding.rate(r['amount'], course)} on "
        f"{feeding.group_name(r['green'])} that nothing asks for."
        for r in over
    ]
    table = Table(title, head, cells, frozenset(range(1, 9)))
    return (Section(title, tuple(told), (table,)),)


def _span(row: rows.Row) -> str:
    first, last = rows.day(row["first"]), rows.day(row["last"])
    assert first is not None and last is not None
    return f"{short_date(first)} – {short_date(last)} {last.year}"


def claims(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return what studies say of nutrition and disease, where the plan touches it."""
    held: Sequence[rows.Row] = answer.more.get("claims") or ()
    if not held:
        return ()
    told = tuple(_claim(row, course) for row in held)
    return (Section("Nutrition and disease: what studies show", (EVIDENCE,), asked=told),)


def _claim(row: rows.Row, course: Course) -> tuple[str, str]:
    """Return a claim with its strength, and below it grass, studies, what speaks against it."""
    rest = (
        sentence([f"Studies: {row['study']} (grass: {row['grass']})"]),
        sentence([f"Against it: {row['conflict']}"]),
        sentence([f"Shown because {prose(row['here'], course)}"]),
    )
    claim = sentence([row["text"]]).rstrip(".")
    return f"{claim}: {row['strength']}.", " ".join(rest)


def sand(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return sand by growth and by dilution, and what holes took."""
    held: Sequence[rows.Row] = answer.more.get("sand") or ()
    if not held:
        return ()
    title = "Sand and organic matter"
    head = (
        "Where", "Growth asks for in the year", "Put on so far", "Organic matter",
        "Sand to dilute it", "Cored", "Sand in the holes",
    )  # fmt: skip
    table = Table(title, head, tuple(_sand(row, course) for row in held), frozenset({1, 2, 5}))
    told = (
        "A month's sand is at most half a millimetre times growth potential. No agreed best range "
        "of organic matter exists: the share that was held on trial greens stands in, of the top "
        "75 mm; a sample of another depth is not the same number.",
    )
    return (Section(title, told, (table, _schedule(held[0], course)), folded=True),)


def _sand(row: rows.Row, course: Course) -> tuple[str, ...]:
    om = row["om_pct"]
    tested = (
        f"{om:.1f} % of the top {row['om_depth_mm']:.0f} mm" if om is not None else "not tested"
    )
    lacking = row["dilute_mm"]
    dilute = "–" if lacking is None else "none" if not lacking else _depth(lacking, course)
    fill = row["fill_l_m2"]
    return (
        feeding.group_name(row["green"]),
        _depth(sum(m["sand_mm"] for m in row["months"]), course),
        _depth(row["given"], course),
        tested,
        f"{dilute} to {row['om_wanted_pct']:g} %" if lacking else dilute,
        f"{formats.plain(row['cored_pct'], 1)} %",
        "–" if fill is None else formats.point(fill, "L/m2", "", course),
    )


def _depth(mm: float, course: Course) -> str:
    return formats.point(mm, "mm", "", course)


def _schedule(row: rows.Row, course: Course) -> Table:
    cells = tuple(
        (
            feeding.month_name(m["month"]),
            _depth(m["sand_mm"], course),
            f"{m['times']} light" if m["times"] else "none",
        )
        for m in row["months"]
    )
    name = f"Topdressing by month, {feeding.group_name(row['green'])}"
    return Table(name, ("Month", "Sand", "Dressings"), cells, frozenset({1}))


def leaves(answer: Answer) -> tuple[Section, ...]:
    """Return leaf contents against their usual ranges."""
    held: Sequence[rows.Row] = answer.more.get("leaf") or ()
    if not held:
        return ()
    title = "What the leaves hold"
    cells = tuple(
        (
            feeding.element_name(row["element"]),
            feeding.group_name(row["group"]),
            f"{row['content']:g} {row['unit']}",
            f"{row['low']:g}–{row['high']:g}",
            row["verdict"],
        )
        for row in held
    )
    head = ("Element", "Where", "Content, dry", "Usual", "Verdict")
    return (Section(title, tables=(Table(title, head, cells, frozenset({2, 3})),)),)


def log(answer: Answer, course: Course) -> tuple[Section, ...]:
    """Return what was put out: who, what, where, rate, weather; to be taken along as CSV."""
    held: Sequence[rows.Row] = answer.more.get("log") or ()
    if not held:
        return ()
    title = f"Log of what was put out in {answer.more['year']}"
    cells = tuple(_logged(row, course) for row in held)
    head = (
        "Date", "Who", "Licence", "Practice", "Material", "Active", "Registration", "Where", "Rate",
        "In all", "Water", "Against", "Machine", "Weather",
    )  # fmt: skip
    told = (
        "As the record holds it; what local rules ask beyond it is not known here. An empty "
        "licence or registration is for the work sheet to fill.",
    )
    return (Section(title, told, (Table(title, head, cells),), folded=True),)


def _logged(row: rows.Row, course: Course) -> tuple[str, ...]:
    day, time = rows.day(row["date"]), str(row["time"] or "")[:5]
    amount = row["amount"]
    return (
        f"{day.isoformat() if day else ''} {time}".strip(),
        row["operator"],
        row["licence"],
        terms.practice(row["practice"]),
        row["material"],
        row["active"],
        row["registration"],
        terms.greens([str(g) for g in row["greens"]]),
        "" if row["rate"] is None else formats.point(row["rate"], row["unit"], "", course),
        "" if amount is None else f"{formats.plain(amount, 2)} {row['amount_unit']}",
        "" if row["carrier_l_ha"] is None else f"{row['carrier_l_ha']:g} L/ha",
        row["target"],
        row["machine"],
        _weather(row["weather"], course),
    )


def _weather(held: rows.Row | None, course: Course) -> str:
    if not held:
        return "not recorded"
    parts = [
        (held["t_min_c"], "degC", "from {}"),
        (held["t_max_c"], "degC", "to {}"),
        (held["rain_mm"], "mm", "rain {}"),
        (held["wind_m_s"], "m/s", "wind {}"),
    ]
    told = [
        text.format(formats.point(value, unit, "", course))
        for value, unit, text in parts
        if value is not None
    ]
    return ", ".join(told)
