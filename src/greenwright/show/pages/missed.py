"""What players will miss: putts that the surface costs, by player."""

from __future__ import annotations

from greenwright.base.answer import Answer
from greenwright.base.values import Course
from greenwright.show import formats, rows, terms, threefold
from greenwright.show.figures.holing import holing_figure, holing_table, to_tell
from greenwright.show.page import Section, Table, sentence

TITLE = "What they will miss"
GUESSED = (
    "Trueness has never been read here: what is missed rests on a guess of it, as wide as the "
    "ranges are."
)
_HARDLY = 0.05


def missed_lead(answer: Answer) -> str:
    """Return the sentence for someone who has thirty seconds."""
    held = threefold.rounds(answer)
    if not held:
        return "On the card: we cannot tell yet."
    player = threefold.usual_player(list(held))
    row = held[player]
    count, tail = _extra(row).split(" (")
    cost = cost_words(rows.estimate(row["estimate"]).value)
    guess = "by a guess of its trueness " if threefold.guessed(answer) else ""
    told = f"{guess}the surface costs {_with_article(player)} {cost} against a perfectly true one"
    return sentence([f"On the card: {told}, {count} in 18 holes ({tail}{_count_to_tell(row)}"])


def cost_words(extra: float) -> str:
    """Return putts in 18 holes as people count them.

    >>> cost_words(0.02), cost_words(0.07), cost_words(2.14)
    ('next to nothing', 'about one putt in 14 rounds', '2.1 putts a round')
    """
    if extra < _HARDLY:
        return "next to nothing"
    if extra < 1.5:
        rounds = round(1 / extra)
        return f"about one putt in {rounds} rounds" if rounds > 1 else "about one putt a round"
    return f"{formats.number(extra, 1)} putts a round"


def _with_article(player: str) -> str:
    name = terms.player(player)
    if player in terms.PLAYERS:
        return f"a {name[:1].lower()}{name[1:]}"
    return name[:1].lower() + name[1:] if name.startswith("Your") else name


def _extra(row: rows.Row) -> str:
    return formats.level(rows.estimate(row["estimate"]), "", _PLAIN)


_PLAIN = Course(course="any", name="any")


def _count_to_tell(row: rows.Row) -> str:
    rounds = row.get("rounds_to_tell")
    if rounds:
        return f"; it would take about {formats.roughly(rounds)} rounds of counting to tell"
    putts = row.get("putts_to_tell")
    if putts:
        return f"; it would take about {formats.roughly(putts)} counted putts to tell"
    return "; no amount of counting would tell"


def missed_section(answer: Answer, course: Course, *, pictures: bool) -> Section:
    """Return sentences, curve and table of what is missed."""
    figure = holing_figure(answer, course) if pictures else None
    held = threefold.rounds(answer)
    lines = ["There is nothing to go by yet."]
    if held:
        usual = threefold.usual_player(list(held))
        lines = [_player(usual, held[usual])]
    tables = [_rounds(held)] if held else []
    tables += [] if pictures else _by_distance(answer, course)
    notes = (GUESSED,) if threefold.guessed(answer) else ()
    return Section(TITLE, tuple(lines), tuple(tables), figure=figure, notes=notes)


def _by_distance(answer: Answer, course: Course) -> list[Table]:
    table = holing_table(answer, course)
    return [table] if table else []


def _player(key: str, row: rows.Row) -> str:
    now = rows.estimate(row.get("putts_now"))
    whole = "" if now is None else f", of {_level(now)} in all"
    count, tail = _extra(row).split(" (")
    told = f"{count} putts more in 18 holes ({tail} than on a perfectly true surface{whole}"
    return sentence([f"{terms.player(key)}: {told}{_count_to_tell(row)}"])


def _rounds(held: dict[str, rows.Row]) -> Table:
    head = ("Player", "Now", "Perfectly true", "Cost", "Putts to tell")
    cells = tuple(
        (
            terms.player(key),
            _level(row.get("putts_now")),
            _level(row.get("putts_perfect")),
            _extra(row),
            to_tell(row),
        )
        for key, row in held.items()
    )
    return Table("Putts in 18 holes", head, cells, frozenset({1, 2, 3, 4}))


def _level(held: object) -> str:
    found = rows.estimate(held)
    return "not known" if found is None else formats.level(found, "", _PLAIN)
