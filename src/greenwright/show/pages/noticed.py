"""What players will notice: since yesterday, of late, from green to green."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.figures.apart import apart_figure, noticed_words, side
from greenwright.show.page import Section, Table, sentence

TITLE = "What they will notice"
COMPARED = {
    "yesterday": "Since yesterday",
    "lately": "In the last 14 days",
    "next green": "One green to the next",
    "consistency": "Any two greens",
}
_HARDLY = 0.05


def noticed_lead(answer: Answer, course: Course) -> str:
    """Return the sentence for someone who has thirty seconds."""
    told = [text for text in (_since(answer, course), _between(answer, course)) if text]
    if not told:
        return "To the eye: we cannot tell yet, there is no reading to compare."
    but = told[0].startswith("hardly") and threefold.standing_out(answer)
    return sentence([f"To the eye: {', but '.join(told) if but else '; '.join(told)}"])


def _since(answer: Answer, course: Course) -> str:
    held = threefold.noticed(answer, "yesterday")
    if not held:
        return ""
    top = max(held.values(), key=lambda row: row["chance"])
    if top["chance"] < _HARDLY:
        return "hardly anybody will notice a change since yesterday"
    told = f"{formats.chance(top['chance'])} players will notice"
    if not formats.clear(rows.estimate(top["difference"])):
        return f"{told} a change of {terms.quantity(top['quantity']).lower()} since yesterday"
    return f"{told} that the greens are {changed_words(top, course)} than yesterday"


def changed_words(row: rows.Row, course: Course) -> str:
    """Return how far and which way a level has moved: ``7 in faster``."""
    held = rows.estimate(row["difference"])
    size = formats.gap(abs(held.value), held.unit, row["quantity"], course)
    return f"{size} {side(row)}"


def _between(answer: Answer, course: Course) -> str:
    seen = threefold.standing_out(answer)
    if seen:
        greens = list(dict.fromkeys(str(row["green"]) for row in seen))
        if len(greens) > 3:
            return f"{len(greens)} greens stand out from the others to most players"
        first = noticed_words(seen[0], course)
        also = f", as do {terms.greens(greens[1:])}" if len(greens) > 1 else ""
        return f"{first.replace(', to ', ' than the others, stands out to ')}{also}"
    held = threefold.noticed(answer, "next green")
    if not held:
        return ""
    top = max(held.values(), key=lambda row: row["chance"])
    if top["chance"] < _HARDLY:
        return "as few will notice a difference from one green to the next"
    name = terms.quantity(top["quantity"]).lower()
    chance = formats.chance(top["chance"])
    return f"{chance} will notice a difference of {name} from one green to the next"


def noticed_section(answer: Answer, course: Course, *, pictures: bool) -> Section:
    """Return sentences, picture and tables of what is noticed."""
    drawn = apart_figure(answer, course) if pictures else None
    tables = (chances_table(answer), _consistency(answer, course))
    lines = [_against(answer, about, course) for about in ("yesterday", "lately")]
    lines += [_next(answer, course), _apart(answer, course)]
    alone = lines[0] and not threefold.noticed(answer, "next green")
    lines += ["Only one green has been read: there is no other to compare it with."] * bool(alone)
    held = tuple(text for text in lines if text)
    return Section(
        TITLE,
        held or ("There is no reading to compare yet.",),
        tuple(table for table in tables if table),
        figure=drawn,
        notes=_thresholds(answer, course),
    )


def _against(answer: Answer, about: str, course: Course) -> str:
    held = threefold.noticed(answer, about)
    if not held:
        return ""
    told = [_moved(row, course) for row in held.values()]
    return sentence([f"{COMPARED[about]}: {', '.join(told)}; {_likeliest(held)}"])


def _likeliest(held: Mapping[str, rows.Row]) -> str:
    top = max(held.values(), key=lambda row: row["chance"])
    name = terms.quantity(top["quantity"]).lower()
    which = f"{name} is noticed most, by" if len(held) > 1 else "noticed by"
    return f"{which} {formats.chance(top['chance'])} players"


def _moved(row: rows.Row, course: Course) -> str:
    moved = formats.change(rows.estimate(row["difference"]), row["quantity"], course)
    name = terms.quantity(row["quantity"]).lower()
    return f"{name} {'no change' if moved == 'none' else moved}"


def _next(answer: Answer, course: Course) -> str:
    held = threefold.noticed(answer, "next green")
    if not held:
        return ""
    told = [f"{terms.quantity(q).lower()} {_step(row, course)}" for q, row in held.items()]
    tail = f"{_likeliest(held)}{_worst(held.values())}"
    return sentence([f"{COMPARED['next green']}, apart on average: {', '.join(told)}; {tail}"])


def _step(row: rows.Row, course: Course) -> str:
    held = rows.estimate(row.get("difference"))
    return "not known" if held is None else formats.spread(held, row["quantity"], course)


def _worst(held: Iterable[rows.Row]) -> str:
    """Return the pair of greens between which most notice, where it is worse than the rest."""
    pairs = [(row["quantity"], row["chance"], row["worst"]) for row in held if row.get("worst")]
    seen = [(rows.estimate(w["estimate"]).value, q, w) for q, usual, w in pairs]
    if not seen:
        return ""
    chance, quantity, worst = max(seen, key=lambda found: found[0])
    if chance <= max(usual for _, usual, _ in pairs) + _HARDLY:
        return ""
    first, second = worst["greens"]
    name = terms.quantity(quantity).lower()
    return f", and from green {first} to {second} by {formats.chance(chance)} ({name})"


def _apart(answer: Answer, course: Course) -> str:
    """Return the consistency of what is read first, its measure named."""
    held = threefold.noticed(answer, "consistency")
    row = next((r for r in held.values() if r.get("consistency")), None)
    if row is None:
        return ""
    size = formats.spread(rows.estimate(row["consistency"]["sd"]), row["quantity"], course)
    name = terms.quantity(row["quantity"]).lower()
    return (
        f"Consistency: the standard deviation of {name} between greens is {size}; the table adds "
        "the range and the pair."
    )


def chances_table(answer: Answer, *, ranges: bool = True) -> Table | None:
    """Return the chances that a player notices, by what is compared and in what."""
    each: Mapping[str, Mapping[str, rows.Row]] = {
        about: threefold.noticed(answer, about) for about in COMPARED
    }
    quantities = [q for q in threefold.NOTICED if any(q in held for held in each.values())]
    if not quantities:
        return None
    cells = tuple(
        (COMPARED[about], *(_chance(held.get(q), ranges) for q in quantities))
        for about, held in each.items()
        if held
    )
    head = ("Compared", *(terms.quantity(q) for q in quantities))
    numbers = frozenset(range(1, len(head)))
    return Table("Chance that a player notices", head, cells, numbers, stacked=True)


def _chance(row: rows.Row | None, ranges: bool) -> str:
    if row is None:
        return "not read"
    held = rows.estimate(row["estimate"])
    return formats.likely(held) if ranges else formats.chance(held.value)


def _consistency(answer: Answer, course: Course) -> Table | None:
    held = threefold.noticed(answer, "consistency")
    cells = tuple(
        (terms.quantity(quantity), *_spreads(row, quantity, course))
        for quantity, row in held.items()
        if row.get("consistency")
    )
    if not cells:
        return None
    head = ("Between greens", "Standard deviation", "Lowest to highest", "Two at random, median")
    title = "Consistency: how far apart the greens are"
    return Table(title, head, cells, frozenset({1, 2, 3}), stacked=True)


def _spreads(row: rows.Row, quantity: str, course: Course) -> Sequence[str]:
    spreads = row["consistency"]
    ends = (rows.estimate(spreads[name]) for name in ("sd", "range", "pair"))
    return [formats.spread(end, quantity, course) for end in ends]


def _thresholds(answer: Answer, course: Course) -> tuple[str, ...]:
    told = []
    for quantity in threefold.NOTICED:
        edge = threefold.threshold(answer, quantity)
        if edge and threefold.noticed(answer, "yesterday").get(quantity):
            size = formats.gap(edge.value, edge.unit, quantity, course)
            told.append(f"{size} of {terms.quantity(quantity).lower()} ({edge.grade})")
    if not told:
        return ()
    return (sentence([f"Half of players notice a difference of {terms.listed(told)}"]),)
