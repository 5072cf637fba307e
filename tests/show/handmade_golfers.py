"""An answer of golfers written by hand for the invented course; every number here is invented."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from greenwright.base.answer import Answer
from greenwright.base.estimate import Estimate, normal_estimate
from greenwright.base.evidence import as_source, look_up
from tests.show.handmade import GREENS, MADE, ON, RECORD, speed

INCH = 0.0254
TOPICS = ("bumpy", "untrue", "slow", "fast", "uneven", "soft", "hard", "scarred", "other")
DISTANCES = (0.61, 0.91, 1.22, 1.52, 2.13, 3.05, 4.57, 6.1, 9.14)
CHANCES = {
    "tour": (0.99, 0.96, 0.88, 0.71, 0.52, 0.35, 0.2, 0.13, 0.07),
    "90": (0.9, 0.76, 0.6, 0.47, 0.32, 0.2, 0.11, 0.06, 0.03),
    "ana here": (0.95, 0.86, 0.72, 0.58, 0.41, 0.27, 0.15, 0.09, 0.05),
}
LOST = {"tour": 0.01, "90": 0.004, "ana here": 0.006}
"""Share of putts that the surface costs at 5 ft, where it costs most; half of it elsewhere."""
EXTRA = {"tour": (29.46, 0.11), "90": (34.66, 0.07), "ana here": (32.1, 0.08)}
"""Putts of a round on a perfectly true surface, and how many more now."""
KEYS = {
    "green_speed": ("notice.speed_threshold", "notice.speed_spread"),
    "smoothness": ("notice.smoothness_threshold", "notice.smoothness_spread"),
    "trueness_score": ("notice.trueness_threshold", "notice.trueness_spread"),
}
UNITS = {"green_speed": "m", "smoothness": "score", "trueness_score": "score"}
REASON = "what was said does not follow the surface clearly: 41 remarks on 120 days counted"
SAID = ("complaints.base_rate", "complaints.score_threshold", "complaints.doubling_score")
HOLED = ("players.90.angle_sd", "players.90.distance_sd", "players.90.capture_speed")


def share(value: float, sd: float = 0.05, **more: Any) -> Estimate:
    """Return a belief about a share of one or a count."""
    return normal_estimate(value, sd, "1", **more)


def row(what: str, about: str, estimate: Estimate, **more: Any) -> dict[str, Any]:
    """Return one finding of golfers."""
    return {
        "green": "course",
        "what": what,
        "about": about,
        "distance_m": None,
        "player": None,
        "chance": None,
        "chance_perfect": None,
        "estimate": estimate,
        "quantity": None,
        "sources": [],
        **more,
    }


def noticed(quantity: str, about: str, chance: float, difference: float, **more: Any) -> dict:
    """Return one row of notice; difference in the unit of the quantity."""
    sd = 0.8 * INCH if quantity == "green_speed" else 0.2
    held = {"quantity": quantity, "chance": chance, "sources": list(KEYS[quantity])}
    gap = normal_estimate(difference, sd, UNITS[quantity])
    return row("notice", about, share(chance), **{"difference": gap, **held, **more})


def consistency(quantity: str, sd: float, reach: float, pair: float) -> dict[str, Any]:
    """Return the row that says how far apart the greens are."""
    tight, unit = sd / 10, UNITS[quantity]
    ends = {"sd": sd, "range": reach, "pair": pair}
    held = {name: normal_estimate(value, tight, unit) for name, value in ends.items()}
    made = noticed(quantity, "consistency", 0.1, 0.0, consistency=held)
    del made["difference"]
    return made


def notice_rows(quantity: str, greens: Sequence[str] = GREENS) -> list[dict[str, Any]]:
    """Return the rows of one quantity; green 7 is an inch per inch apart: 11 in, or 2 points."""
    size = INCH if quantity == "green_speed" else 0.15
    rows = [
        noticed(quantity, "yesterday", 0.02, 1.0 * size),
        noticed(quantity, "lately", 0.11, 3.0 * size),
    ]
    if len(greens) < 2:
        return rows
    for green in greens:
        odd = green == "7"
        moved = -11.0 if odd else (int(green) % 5 - 2)
        rows.append(noticed(quantity, "others", 0.92 if odd else 0.03, moved * size, green=green))
    worst = {"greens": [greens[0], greens[1]], "estimate": share(0.8)}
    rows.append(noticed(quantity, "next green", 0.14, 2.0 * size, worst=worst))
    rows.append(consistency(quantity, 3.0 * size, 14.0 * size, 2.5 * size))
    return rows


def said(about: str, mean: float, **more: Any) -> dict[str, Any]:
    """Return one row of what is volunteered."""
    held = {
        "rounds": 120.0,
        "prior": share(mean * 0.8, mean * 0.6, basis="prior"),
        "share_local": 0.4,
        "related": "cannot tell",
        "reason": REASON,
        "n_days": 120,
        "n_remarks": 41,
        "asked": False,
        "chance": 1 - 2.718 ** (-mean),
        "sources": list(SAID),
    }
    return row("complaints", about, share(mean, mean / 3), **{**held, **more})


def asked(about: str, part: float, n_asked: int = 60) -> dict[str, Any]:
    """Return one row of a survey."""
    held = {"rounds": None, "asked": True, "n_asked": n_asked, "n_days": 1}
    return row("complaints", about, share(part), **held)


def complaint_rows() -> list[dict[str, Any]]:
    """Return the rows of complaints and praise, and two answers of a survey."""
    rows = [said("any", 1.2), *(said(topic, 1.2 / len(TOPICS)) for topic in TOPICS)]
    rows.append(said("praise", 0.4))
    return [*rows, asked("bumpy", 0.35), asked("praise", 0.5)]


def holed(player: str) -> list[dict[str, Any]]:
    """Return the rows of one player: by distance, then putts per 18 holes."""
    rows = []
    for distance, chance in zip(DISTANCES, CHANCES[player], strict=True):
        lost = LOST[player] if distance == 1.52 else LOST[player] / 2
        held = {"chance": chance, "chance_perfect": chance + lost, "distance_m": distance}
        more = {"difference": share(lost, lost / 4), "putts_to_tell": 23523, "player": player}
        rows.append(
            row("holing", "one putt", share(chance, 0.02), sources=list(HOLED), **held, **more)
        )
    return [*rows, round_row(player)]


def round_row(player: str) -> dict[str, Any]:
    """Return the row of putts per 18 holes."""
    perfect, extra = EXTRA[player]
    return row(
        "holing",
        "putts per 18 holes",
        share(extra, extra / 3),
        player=player,
        putts_now=share(perfect + extra, 0.5),
        putts_perfect=share(perfect, 0.5),
        putts_to_tell=173000,
        rounds_to_tell=5855,
        capture_speed=1.32,
        sources=list(HOLED),
    )


def ends(holed_of_200: int, spread: float) -> list[list[float | bool]]:
    """Return where 200 putts of 3.05 m end: some in the hole, the rest around and past it."""
    made: list[list[float | bool]] = []
    for k in range(200):
        if k * holed_of_200 // 200 != (k + 1) * holed_of_200 // 200:
            made.append([0.0, 3.05, True])
            continue
        side = spread * ((k * 37 % 41) / 20 - 1)
        made.append([round(side, 4), round(2.8 + (k * 29 % 61) / 60, 4), False])
    return made


def putts(**more: Any) -> dict[str, Any]:
    """Return the putts of the picture."""
    now, perfect = ends(62, 0.4), ends(66, 0.36)
    paths = [[[x * t / 8, y * t / 8] for t in range(9)] for x, y, _ in now[:60]]
    return {
        "green": "5",
        "distance_m": 3.05,
        "slope": 0.015,
        "slope_is": "across the putt, higher on the right",
        "speed_m": 2.87,
        "trueness_t": 2e-6,
        "player": "90",
        "n": 200,
        "holed": 62,
        "holed_perfect": 66,
        "hole": [0.0, 3.05],
        "start": [0.0, 0.0],
        "ends": now,
        "paths": paths,
        "perfect_ends": perfect,
        "heights": None,
        "seed": 1,
        **more,
    }


def now(**more: Any) -> dict[str, Any]:
    """Return the levels of the day."""
    return {
        "green_speed": speed(9.42, 2.0),
        "smoothness": normal_estimate(7.4, 0.25, "score"),
        "trueness": normal_estimate(2e-6, 5e-7, "m"),
        "sideways_mm_per_m": normal_estimate(5.0, 0.7, "mm/m"),
        "rounds": 120.0,
        **more,
    }


def what_if(**given: float) -> dict[str, Any]:
    """Return the levels asked for in place of the estimates."""
    names = ("speed_m", "smoothness", "trueness_t")
    return {**{n: given.get(n) for n in names}, "given": [n for n in names if n in given]}


def golfers(
    findings: Sequence[dict[str, Any]] | None = None,
    greens: Sequence[str] = GREENS,
    **more: Any,
) -> Answer:
    """Return a full answer of golfers; green 7 is slow and rough."""
    if findings is None:
        findings = [r for q in UNITS for r in notice_rows(q, greens)]
        findings += complaint_rows()
        findings += [r for p in CHANCES for r in holed(p)]
    keys = sorted({k for r in findings for k in r["sources"]})
    return Answer(
        question="golfers",
        as_of=ON,
        record=RECORD,
        findings=tuple(findings),
        gaps=(
            {
                "about": "putts",
                "text": "No putts of this club's own players are in the record.",
                "why": "twenty putts from each of three distances make a player of one's own",
                "reading": None,
            },
        ),
        sources=tuple(as_source(look_up(key)) for key in keys),
        made_by=MADE,
        more={"what_if": what_if(), "now": now(), "putts": putts(), **more},
    )
