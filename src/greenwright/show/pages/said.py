"""What players will say: complaints and praise to expect, and what those said who were asked."""

from __future__ import annotations

from collections.abc import Sequence

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.page import Section, Table, sentence

TITLE = "What they will say"
ANY = "any"
WEAK = {
    "yes": "They follow the surface here: {0}. They remain the words of a few.",
    "partly": "They follow the surface here in part: {0}. Take them as a hint, not as a reading.",
    "cannot tell": "Take them as weak evidence of the surface: {0}.",
}


def said_lead(answer: Answer) -> str:
    """Return the sentence for someone who has thirty seconds."""
    row = threefold.said(answer).get(ANY)
    if row is None:
        return "In the talk: we cannot tell yet."
    told = f"{_expected(row)}{_of_bumps(answer)}; complaints are weak evidence"
    return sentence([f"In the talk: {told}"])


def _of_bumps(answer: Answer) -> str:
    row = threefold.said(answer).get("bumpy")
    if row is None or row["chance"] is None:
        return ""
    return f", and {formats.chance(row['chance'])} for one about bumps"


def _expected(row: rows.Row) -> str:
    held = rows.estimate(row["estimate"])
    count, tail = _ranged(held).split(" (")
    noun = "complaint" if count == "1" else "complaints"
    return f"{count} {noun} ({tail} to expect in {round(row['rounds'])} rounds"


def _ranged(held: Estimate) -> str:
    places = formats.decimals_for((held.high - held.low) / 2, 2)
    middle = min(max(held.value, held.low), held.high)
    centre, low, high = (formats.number(max(x, 0), places) for x in (middle, held.low, held.high))
    return f"{centre} ({low}{formats.RANGE}{high})"


def said_section(answer: Answer) -> Section:
    """Return sentences and tables of what is said; surveys apart."""
    held, polled = threefold.said(answer), threefold.asked(answer)
    tables = [_topics(held)] if held else []
    tables += [_survey(polled)] if polled else []
    return Section(TITLE, _sentences(held, polled), tuple(tables))


def _sentences(held: dict[str, rows.Row], polled: Sequence[rows.Row]) -> tuple[str, ...]:
    row = held.get(ANY)
    lines = [] if row is None else [_whole(row), _weight(row)]
    if not polled:
        lines.append(
            "Nobody was asked in a survey lately: what is volunteered comes from the few who "
            "speak up."
        )
    return tuple(lines)


def _whole(row: rows.Row) -> str:
    prior = rows.estimate(row.get("prior"))
    rule = f"; by the trade's rule alone it would be {_ranged(prior)}" if prior else ""
    chance = formats.chance(row["chance"] or 0.0)
    return sentence([f"{_expected(row)}, {chance} for at least one{rule}"])


def _weight(row: rows.Row) -> str:
    if not row.get("n_remarks") and not row.get("n_days"):
        return "Nobody has written down what players say here yet: this is the trade's rule alone."
    return sentence([WEAK[row["related"]].format(row["reason"].rstrip("."))])


def _topics(held: dict[str, rows.Row]) -> Table:
    head = ("Topic", "Here", "By the trade's rule", "Follows the surface")
    alike = len({row["related"] for row in held.values()}) == 1
    kept = len(head) - alike
    cells = tuple(_cells(about, row)[:kept] for about, row in held.items())
    played = round(next(iter(held.values()))["rounds"])
    title = f"Remarks to expect in {played} rounds, unasked"
    return Table(title, head[:kept], cells, frozenset({1, 2}), stacked=not alike)


def _cells(about: str, row: rows.Row) -> tuple[str, ...]:
    prior = rows.estimate(row.get("prior"))
    return (
        terms.topic(about),
        _ranged(rows.estimate(row["estimate"])),
        _ranged(prior) if prior else "not known",
        terms.SEPARABLE[row["related"]],
    )


def _survey(polled: Sequence[rows.Row]) -> Table:
    head = ("Asked in a survey", "Said so", "Asked")
    cells = tuple(
        (
            terms.topic(row["about"]),
            formats.of_hundred(rows.estimate(row["estimate"])),
            str(row.get("n_asked") or "not told"),
        )
        for row in polled
    )
    return Table("What those said who were asked", head, cells, frozenset({1, 2}))
