"""How do you know? What a doubter asks of one effect, answered from what the answer tells."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from greenwright.base.estimate import Estimate
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms
from greenwright.show.dates import after
from greenwright.show.figures.doubts import doubts_figure, share_words
from greenwright.show.learned import RATIO, Detail
from greenwright.show.page import Section, sentence
from greenwright.show.pages.settling import cost, outlook
from greenwright.show.prose import prose


def doubter(detail: Detail, course: Course, *, folded: bool, pictures: bool) -> Section:
    """Return the section that answers a doubter about one effect.

    Args:
        detail: the effect and what the answer adds to it.
        course: decides the units.
        folded: closed until asked for.
        pictures: with the picture of its reckonings.
    """
    label = terms.quantity(detail.outcome).lower()
    return Section(
        title=f"How do you know? {detail.act} and {label}",
        asked=tuple((asked, told) for asked, told in answers(detail, course) if told),
        folded=folded,
        figure=doubts_figure(detail, course) if pictures else None,
    )


def answers(detail: Detail, course: Course) -> tuple[tuple[str, str], ...]:
    """Return what a doubter asks, in his order, and the answers; an empty one is not known."""
    sure = detail.row["separable"] == "yes"
    return (
        ("Can this record tell?", _verdict(detail, course)),
        ("What was compared?", _compared(detail, course)),
        ("What did this record add?", _learned(detail, course)),
        ("Why not simply compare the days?", _misled(detail, course)),
        (
            "What if the look of the greens counted less, or more, than it seems?",
            _need(detail, course),
        ),
        ("What would tell better?" if sure else "What would settle it?", trial(detail, course)),
    )


def _verdict(detail: Detail, course: Course) -> str:
    verdict = terms.SEPARABLE[detail.row["separable"]]
    return sentence([f"{verdict}: {reason(detail, course)}"])


def reason(detail: Detail, course: Course) -> str:
    """Return why the record can tell or not, in the reader's units, without a full stop."""
    text = prose(str(detail.row["reason"]), course).rstrip(".")
    return text[:1].lower() + text[1:]


def _compared(detail: Detail, course: Course) -> str:
    held: Mapping[str, Any] = detail.told.get("compared") or {}
    count, without = held.get("with_n"), held.get("without_n")
    if not count or not without:
        return ""
    told = (
        f"{count:,} days of single greens with it and {without:,} without, as far as a reading "
        "felt them"
    )
    return " ".join(
        text for text in (sentence([told]), _before(detail, course), _either(held)) if text
    )


def _before(detail: Detail, course: Course) -> str:
    """Return how unlike the greens were before it and before other days."""
    held = detail.told.get("compared") or {}
    one, other = (rows.estimate(held.get(key)) for key in ("before_with", "before_without"))
    if one is None or other is None or one.unit == RATIO:
        return ""
    size = one.value - other.value
    gap = formats.gap(abs(size), one.unit, detail.outcome, course)
    if gap.startswith("0 "):
        return "Before it the greens stood like on other days."
    side = terms.side(detail.outcome, size)
    return f"Before it the greens stood {gap} {side} than on other days."


def _either(held: Mapping[str, Any]) -> str:
    """Return how many of the choices could have gone either way, and what they are worth."""
    coins, overlap = held.get("coin_flips"), held.get("overlap")
    either = "" if overlap is None else f"{formats.chance(overlap).capitalize()} choices could "
    either = f"{either}as well have gone the other way." if either else ""
    if coins is None or coins != coins:
        return either
    worth = (
        f"Together they are worth about {formats.roughly(coins)} tosses of a coin: these tell "
        "cause from habit."
    )
    return f"{either} {worth}".strip()


def _learned(detail: Detail, course: Course) -> str:
    here = formats.change(detail.here, detail.outcome, course)
    before = formats.change(detail.prior, detail.outcome, course)
    if detail.share < 0.01:
        return f"Nothing of it was learned here yet: {before} is what is known elsewhere."
    return (
        f"Before this record we would have said {before}; now {here} "
        f"{after(detail.row['horizon_days'])}. Of what was unsure, "
        f"{formats.share(detail.share)} parts were settled here."
    )


def _misled(detail: Detail, course: Course) -> str:
    """Return what a plain comparison says on the day the act is first felt, and why it is off."""
    plain, here = detail.number("plain"), detail.first.here
    if plain is None:
        return ""
    told = formats.change(plain, detail.outcome, course)
    head = f"Days with it against days without say {told} {after(detail.first.day)}"
    if here.low <= plain.value <= here.high:
        return f"{head}: in this record that is not far off {_bare(here, detail, course)}."
    side = terms.side(detail.outcome, plain.value - here.value)
    owed = "blame" if plain.value < here.value else "thanks"
    why = f"it is done on days on which the greens are {side} anyway, and gets the {owed} for them"
    return f"{head}; we say {_bare(here, detail, course)}. Plain days mislead: {why}."


def _bare(held: Estimate, detail: Detail, course: Course) -> str:
    told = formats.change(held, detail.outcome, course).split(" (")[0]
    return "no change" if told == "none" else told


def _need(detail: Detail, course: Course) -> str:
    told = detail.told.get("need") or ()
    if not told:
        return ""
    held = [(one, rows.estimate(one["estimate"])) for one in told]
    parts = [
        f"{one.get('words') or share_words(one['strength'])}, "
        f"{formats.change(size, detail.outcome, course)}"
        for one, size in held
    ]
    first = detail.first.here.value
    same = all(size.value * first > 0 and formats.clear(size) for _, size in held)
    end = "Its direction stands in every case." if same else "Then its direction is not sure."
    return f"{sentence(['; '.join(parts)])} {end}"


def trial(detail: Detail, course: Course) -> str:
    """Return the smallest deliberate comparison that would tell, where one is told."""
    held = detail.told.get("trial")
    if not held:
        return ""
    parts = [_design(held, course), cost(held, detail, course), outlook(held, detail, course)]
    return " ".join(part for part in parts if part)


def _design(held: Mapping[str, Any], course: Course) -> str:
    if held.get("text"):
        return prose(sentence([str(held["text"])]), course)
    greens = terms.greens([str(g) for g in held.get("greens") or ()])
    days = held.get("days", 1)
    mornings = "one morning" if days == 1 else f"{days} mornings chosen by the toss of a coin"
    return f"Do it on {greens} and leave the others, on {mornings}, and read every green then."


def told_apart(held: Sequence[Detail]) -> dict[str, list[str]]:
    """Return the acts under what the record can tell of them, best of their outcomes."""
    order = ("yes", "partly", "cannot tell")
    best: dict[str, str] = {}
    for detail in held:
        verdict = str(detail.row["separable"])
        known = best.get(detail.act, order[-1])
        best[detail.act] = min(verdict, known, key=order.index)
    return {verdict: [act for act, v in best.items() if v == verdict] for verdict in order}
