"""What the question golfers does not know, and the cheapest reading that would tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from greenwright.base.values import Snapshot
from greenwright.desk import gaps
from greenwright.desk.answering import Row
from greenwright.desk.golfing.levels import RECENT_ROUNDS_D, Levels
from greenwright.desk.golfing.picture import Scene
from greenwright.measure import Surface

_TWO_LENGTHS = (
    "{0} Roll 10 balls alike at each of two lengths, 1.5 m and 4.5 m, on one green, and write "
    "down how far sideways each stops."
)


def golfer_gaps(
    record: Snapshot,
    surfaces: Mapping[str, Surface],
    levels: Levels,
    *,
    place: Scene,
    remarks: Sequence[Row],
) -> tuple[Row, ...]:
    """Return the gaps, the weightiest first.

    Args:
        record, surfaces, levels: of the day.
        place: of the picture.
        remarks: the rows of complaints.
    """
    green = next(one.green for one in record.greens if one.in_play)
    rows = [gaps.never_read(core, green) for core in gaps.CORE if core not in surfaces]
    rows += [_trueness(surfaces, record, green)]
    rows += [gaps.stale(surfaces[core], on=record.as_of) for core in gaps.CORE if core in surfaces]
    rows += [_rounds() if levels.rounds_default else None, _remarks(remarks)]
    rows += [_slope(place), _putts(record), _what_if(levels)]
    return tuple(row for row in rows if row)


def _trueness(surfaces: Mapping[str, Surface], record: Snapshot, green: str) -> Row | None:
    if "trueness" in surfaces:
        return gaps.stale(surfaces["trueness"], on=record.as_of)
    told = gaps.never_read("trueness", green)
    reading = dict(told["reading"])
    reading |= {"n": 2 * reading["n"], "minutes": 2 * reading["minutes"]}
    return {
        **told,
        "text": _TWO_LENGTHS.format(told["text"]),
        "why": "what the surface costs in putts leans on a guess, however wide",
        "reading": reading,
    }


def _rounds() -> Row:
    return _plain(
        "rounds",
        f"No rounds were counted in the last {RECENT_ROUNDS_D} days: a common number stands in.",
        "the remarks to expect go with the rounds played",
    )


def _remarks(rows: Sequence[Row]) -> Row | None:
    every = next((row for row in rows if row["about"] == "any"), None)
    if every is None or every["related"] == "yes":
        return None
    return _plain(
        "remarks",
        "Whether what players say follows the surface here is not settled: "
        f"{every['reason']}. Write down every day what was said, and a zero where nothing was.",
        "until then the trade's rule carries the expected remarks",
    )


def _slope(place: Scene) -> Row | None:
    if "putts.picture_slope" not in place.assumed:
        return None
    return _plain(
        "slope",
        f"The slope of green {place.green} is not in the record: {100 * place.slope:g} % stands "
        "in. One station with its slope would do.",
        "the picture of the putts breaks as steeply as the green does",
    )


def _putts(record: Snapshot) -> Row | None:
    if record.putts:
        return None
    return _plain(
        "putts",
        "No putts of this club's own players are in the record: the two common players stand in.",
        "twenty putts tried from each of three distances make a player of one's own",
    )


def _what_if(levels: Levels) -> Row | None:
    if "trueness_t" not in levels.given:
        return None
    return _plain(
        "what-if",
        "A trueness put in place of the estimate moves the putts only: how the index shows to "
        "the eye, and so in what players notice and say, is not known well enough.",
        "the eye's score of trueness is another scale",
    )


def _plain(about: str, text: str, why: str) -> Row:
    return {"about": about, "text": text, "why": why, "reading": None}
