"""Pictures of golfers: read back from the drawing, against the answer they are drawn from."""

from __future__ import annotations

import re
from dataclasses import replace
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.estimate import normal_estimate
from greenwright.base.values import Course
from greenwright.show.figures import frame
from greenwright.show.figures.apart import apart_figure, noticed_words, side
from greenwright.show.figures.holing import holing_figure, to_tell
from greenwright.show.figures.plan import Rolled, left_over, plan_of, short_of, thinned
from greenwright.show.figures.putts import putts_figure
from tests.show import handmade_golfers as made
from tests.show.handmade import FEET, GREENS, METRES

ANSWER = made.golfers()
PLACES = st.tuples(st.floats(-5, 5), st.floats(-5, 5))


def texts(svg: str) -> list[str]:
    found = re.findall(r"<text([^>]*)>([^<]*)</text>", svg)
    return [t.replace("\u00a0", " ") for look, t in found if ' opacity="0"' not in look]


def crosses(svg: str) -> list[tuple[float, float]]:
    """Read the middles of the crosses back from the drawing [px]."""
    arm = r"M(-?[\d.]+),(-?[\d.]+)l([\d.]+),"
    return [
        (float(x) + float(size) / 2, float(y) + float(size) / 2)
        for x, y, size in re.findall(arm, svg)
    ]


def rings(svg: str) -> list[tuple[float, float, float]]:
    """Read the holes back: middle and radius [px]."""
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)" fill="none"', svg)
    return [tuple(map(float, ring)) for ring in found]


def dots(svg: str) -> list[tuple[float, float]]:
    """Read the balls back [px]."""
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="4" fill="#', svg)
    return [(float(x), float(y)) for x, y in found]


# -- each green against the others


def test_every_green_stands_once_on_the_axis_in_playing_order() -> None:
    svg = apart_figure(ANSWER, FEET).svg
    assert [t for t in texts(svg) if t in GREENS] == list(GREENS)
    assert "Green speed (inches)" in texts(svg) and "Smoothness (points)" in texts(svg)


def test_on_a_phone_labels_of_greens_are_left_out_rather_than_run_together() -> None:
    seen = [t for t in texts(apart_figure(ANSWER, FEET).svg_narrow) if t in GREENS]
    assert 6 <= len(seen) < len(GREENS)


def test_a_green_that_most_notice_is_a_triangle_not_only_a_colour() -> None:
    figure = apart_figure(ANSWER, FEET)
    assert figure.svg.count(f'fill="{frame.OUTSIDE}"') == 3  # green 7, in three strips
    calm = [{**r, "chance": 0.1} for r in ANSWER.findings]
    assert frame.OUTSIDE not in apart_figure(made.golfers(calm), FEET).svg
    assert "triangle" in figure.description.lower()


def test_the_finding_names_who_stands_out_or_who_would_first() -> None:
    told = apart_figure(ANSWER, FEET).finding
    assert told.startswith("Standing out from the others: green 7, 11 in slower, to about 9 in 10")
    rows = [
        {**r, "chance": 0.4 if r["green"] == "3" else 0.1} if r["about"] == "others" else r
        for r in ANSWER.findings
    ]
    calm = apart_figure(made.golfers(rows), FEET).finding
    assert calm == (
        "No green stands out: the likeliest to be noticed is green 3 in green speed, by about 4 in "
        "10 players."
    )


def test_more_than_three_that_stand_out_are_counted() -> None:
    rows = [{**r, "chance": 0.9} if r["about"] == "others" else r for r in ANSWER.findings]
    # by hand: 3 quantities on 18 greens, 3 of them named
    assert apart_figure(made.golfers(rows), FEET).finding.endswith("; 51 more do.")


def test_thresholds_are_drawn_and_told_in_the_course_s_units() -> None:
    assert "7 in of green speed, 1.5 points of smoothness" in apart_figure(ANSWER, FEET).description
    assert "0.18 m of green speed" in apart_figure(ANSWER, METRES).description
    bare = replace(ANSWER, sources=())
    assert "Thin lines" not in apart_figure(bare, FEET).description


def test_its_table_holds_each_difference_and_chance() -> None:
    table = apart_figure(ANSWER, FEET).table
    assert table.columns[:3] == ("Green", "Green speed", "Will notice")
    # by hand: 11 +- 1.645 x 0.8 in
    assert table.rows[6][:3] == ("7", "−11.0 in (−12.3 to −9.7)", "about 9 in 10 (8–10 in 10)")


def test_a_green_without_a_reading_is_said_to_have_none() -> None:
    rows = [r for r in ANSWER.findings if not (r["green"] == "4" and r["quantity"] == "smoothness")]
    row = next(r for r in apart_figure(made.golfers(rows), FEET).table.rows if r[0] == "4")
    assert row[3:5] == ("not read", "not read")


def test_no_picture_where_no_green_is_compared() -> None:
    rows = [r for r in ANSWER.findings if r["about"] != "others"]
    assert apart_figure(made.golfers(rows), FEET) is None


@pytest.mark.parametrize(
    ("quantity", "value", "word"),
    [
        ("green_speed", -0.1, "slower"),
        ("green_speed", 0.1, "faster"),
        ("smoothness", -1.0, "bumpier"),
        ("smoothness", 1.0, "smoother"),
        ("trueness_score", -1.0, "less true"),
        ("trueness_score", 1.0, "truer"),
    ],
)
def test_which_way_a_green_lies(quantity: str, value: float, word: str) -> None:
    row = made.noticed(quantity, "others", 0.6, value, green="3")
    assert side(row) == word and word in noticed_words(row, FEET)


# -- holing


def test_each_player_has_a_panel_and_ticks_in_the_course_s_units() -> None:
    for course, unit in ((FEET, "ft"), (METRES, "m")):
        seen = texts(holing_figure(ANSWER, course).svg)
        assert {"Tour player", "90-shooter", "ana, from putts here"} <= set(seen)
        assert f"0 {unit}" in seen and "10 of 10" in seen
    assert "30 ft" in texts(holing_figure(ANSWER, FEET).svg)
    assert "9 m" in texts(holing_figure(ANSWER, METRES).svg)


def test_the_dearest_distance_of_each_player_is_found() -> None:
    # by hand: the invented cost is largest at 1.52 m = 4.99 ft; 1.0 +- 1.645 x 0.25 of 100
    assert holing_figure(ANSWER, FEET).finding == (
        "Most putts that the surface costs: Tour player 1.0 of 100 (0.6–1.4), at 5 ft; 90-shooter "
        "0.40 of 100 (0.24–0.56), at 5 ft; ana, from putts here 0.6 of 100 (0.4–0.8), at 5 ft."
    )


def test_the_perfect_curve_is_told_from_the_other_by_its_dashes() -> None:
    svg = holing_figure(ANSWER, FEET).svg
    assert svg.count('stroke-dasharray="5,4"') == 3  # one a player


def test_chances_in_its_table_by_hand() -> None:
    table = holing_figure(ANSWER, FEET).table
    row = next(r for r in table.rows if r[:2] == ("90-shooter", "5 ft"))
    # by hand: 47 +- 3.3 of 100; 47 + 0.4
    assert row[2:] == ("47 (44–50)", "47", "0.40 (0.24–0.56)", "24,000")
    assert to_tell({"putts_to_tell": None}) == "more than anyone putts"


def test_a_cost_that_nobody_gave_is_not_drawn_as_one() -> None:
    rows = [{**r, "difference": None} if r["what"] == "holing" else r for r in ANSWER.findings]
    figure = holing_figure(made.golfers(rows), FEET)
    assert figure.table.rows[0][4] == "not known" and "nothing that shows" in figure.finding


def test_five_players_stand_under_each_other() -> None:
    rows = list(ANSWER.findings)
    for name in ("ben here", "cleo here"):
        rows += [{**r, "player": name} for r in made.holed("90")]
    svg = holing_figure(made.golfers(rows), FEET).svg
    width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())
    assert height > width and "ben, from putts here" in texts(svg)


# -- putts


def test_each_miss_is_a_cross_and_each_panel_has_a_ball_and_a_hole() -> None:
    figure = putts_figure(ANSWER, FEET)
    for svg in (figure.svg, figure.svg_narrow):
        # by hand: 200 - 62 and 200 - 66 missed
        assert len(crosses(svg)) == 138 + 134
        assert len(rings(svg)) == len(dots(svg)) == 2


@pytest.mark.parametrize("width", ["svg", "svg_narrow"])
def test_places_on_the_drawing_are_to_scale(width: str) -> None:
    svg = getattr(putts_figure(ANSWER, METRES), width)
    (ball, _), (ring, _) = dots(svg), rings(svg)
    px_m = hypot(ring[0] - ball[0], ring[1] - ball[1]) / 3.05
    bar = float(re.search(r"v8m0,-4h([\d.]+)m0,-4v8", svg)[1])
    assert bar == pytest.approx(0.5 * px_m, abs=0.06)  # the bar of half a metre
    # a hole is 108 mm wide by the Rules of Golf; small ones are drawn at 4 px at least
    assert ring[2] == pytest.approx(max(0.054 * px_m, 4.0), abs=0.06)
    upright = width == "svg_narrow"
    missed = [(x, y) for x, y, dropped in ANSWER.more["putts"]["ends"] if not dropped]
    turned = [(x, -y) if upright else (y, x) for x, y in missed]
    wanted = sorted((ball[0] + x * px_m, ball[1] + y * px_m) for x, y in turned)
    seen = sorted(crosses(svg)[:138])
    for (a, b), (x, y) in zip(seen, wanted, strict=True):
        assert a == pytest.approx(x, abs=0.5) and b == pytest.approx(y, abs=0.5)


def test_the_ball_goes_up_on_a_phone_and_right_on_a_laptop() -> None:
    figure = putts_figure(ANSWER, FEET)
    ball, ring = dots(figure.svg_narrow)[0], rings(figure.svg_narrow)[0]
    assert ball[0] == ring[0] and ball[1] > ring[1]
    ball, ring = dots(figure.svg)[0], rings(figure.svg)[0]
    assert ball[1] == ring[1] and ball[0] < ring[0]


def test_ways_that_drop_and_ways_that_miss_are_both_drawn() -> None:
    svg = putts_figure(ANSWER, FEET).svg
    ways = re.findall(r'<polyline points="[^"]*" fill="none" stroke="([^"]*)"', svg)
    dropped = sum(bool(end[2]) for end in ANSWER.more["putts"]["ends"][:60])
    assert len(ways) == 60 and ways.count(frame.US) == dropped
    bare = made.golfers(putts=made.putts(paths=[]))
    figure = putts_figure(bare, FEET)
    assert "<polyline" not in figure.svg and "Lines:" not in figure.description


def test_ways_on_a_true_surface_are_drawn_where_they_are_told() -> None:
    held = made.putts()
    both = putts_figure(made.golfers(putts={**held, "perfect_paths": held["paths"]}), FEET)
    assert both.svg.count("<polyline") == 120


def test_counts_stand_over_each_panel() -> None:
    seen = texts(putts_figure(ANSWER, FEET).svg)
    assert "62 of 200 holed" in seen and "66 of 200 holed" in seen
    assert seen.index("Now") < seen.index("Perfectly true")


def test_strays_are_counted_instead_of_shrinking_the_rest() -> None:
    held = made.putts()
    ends = [*held["ends"][:-2], [0.0, 30.0, False], [9.0, 2.0, False]]
    svg = putts_figure(made.golfers(putts={**held, "ends": ends}), FEET).svg
    assert any(t.endswith("2 off the picture") for t in texts(svg))


@pytest.mark.parametrize(
    ("now", "perfect", "text"),
    [
        (62, 62, "no difference to be seen"),
        # by hand: p = 0.32, sd of a difference sqrt(400 x 0.32 x 0.68) = 9.3; 1.645 x 9.3 = 15.3
        (56, 71, "so small a difference luck alone can make"),
        (56, 72, "more than luck alone would make"),
        (0, 200, "more than luck alone would make"),
    ],
)
def test_luck_is_told_from_a_difference(now: int, perfect: int, text: str) -> None:
    putts = made.putts(holed=now, holed_perfect=perfect)
    told = putts_figure(made.golfers(putts=putts), FEET).finding
    assert told.startswith(f"90-shooter: from 10 ft, {now} of 200 putts drop now and {perfect} of")
    assert told.endswith(f"{text}.")


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({}, "The green falls 1.5 % to the left of the putt."),
        ({"slope": -0.02}, "The green falls 2 % to the right of the putt."),
        ({"slope": 0.0}, "The green is level here."),
        ({"heights": "seven.asc", "slope": 0.012}, "Heights from seven.asc, mean slope 1.2 %."),
    ],
)
def test_the_ground_is_told(more: dict, text: str) -> None:
    figure = putts_figure(made.golfers(putts=made.putts(**more)), FEET)
    assert figure.description.endswith(text)
    falls = [t for t in texts(figure.svg) if t.startswith("falls")]
    assert bool(falls) == ("falls" in text)


def test_a_file_s_name_cannot_write_into_the_drawing() -> None:
    putts = made.putts(green="<b>1</b>", heights="<script>")
    figure = putts_figure(made.golfers(putts=putts), FEET)
    assert "<script" not in figure.svg and "<b>" not in figure.svg


def test_the_table_of_putts_by_hand() -> None:
    ends = [[0.0, 3.05, True], [0.0, 2.75, False], [0.4, 3.05, False], [0.0, 3.55, False]]
    all_in = [[0.0, 3.05, True]] * 4
    putts = made.putts(n=4, holed=1, holed_perfect=4, ends=ends, perfect_ends=all_in, paths=[])
    rows = {r[0]: r[1:] for r in putts_figure(made.golfers(putts=putts), METRES).table.rows}
    assert rows["Holed"] == ("1 of 4", "4 of 4")
    # by hand: one stopped before the hole's distance; the misses leave 0.3, 0.4 and 0.5 m
    assert rows["Missed and short"] == ("1", "0") and rows["Missed and past"] == ("2", "0")
    assert rows["Half of the missed leave at most"] == ("0.4 m", "none missed")


@pytest.mark.parametrize("putts", [None, {}, {"ends": []}])
def test_no_picture_without_putts(putts: dict | None) -> None:
    assert putts_figure(made.golfers(putts=putts), FEET) is None


@given(PLACES, PLACES, PLACES)
def test_turning_keeps_distances_and_puts_the_hole_straight_ahead(
    start: tuple[float, float], hole: tuple[float, float], end: tuple[float, float]
) -> None:
    far = hypot(hole[0] - start[0], hole[1] - start[1])
    if far < 1e-3:
        return
    ends = [[*end, False], [*hole, False]]
    plan = plan_of({"start": start, "hole": hole, "ends": ends, "perfect_ends": [[*hole, True]]})
    (x, y), (across, along) = plan.now.missed
    assert hypot(x, y) == pytest.approx(hypot(end[0] - start[0], end[1] - start[1]), abs=1e-9)
    assert (across, along) == (pytest.approx(0.0, abs=1e-9), pytest.approx(far))
    assert plan.perfect.holed == 1 and plan.perfect.missed == ()


def test_right_of_the_putt_is_right_whichever_way_it_goes() -> None:
    # by hand: putting towards -y (south), west (-x) is on the player's right
    plan = plan_of({"start": (0, 0), "hole": (0, -3), "ends": [[-1, -3, False]]})
    assert plan.now.missed == ((pytest.approx(1.0), pytest.approx(3.0)),)


@given(st.lists(st.tuples(st.floats(-3, 3), st.floats(0, 6)), min_size=1, max_size=60))
def test_the_room_holds_nearly_all_balls_the_ball_and_the_hole(
    places: list[tuple[float, float]],
) -> None:
    ends = [[x, y, False] for x, y in places]
    plan = plan_of({"start": (0, 0), "hole": (0, 3), "ends": ends})
    half, near, far = plan.room()
    assert near < 0 and far > 3 and half > 0.3
    inside = [p for p in places if abs(p[0]) <= half and near <= p[1] <= far]
    # 97 of 100 across and 97 of 100 along: at least 93 of 100 in both, rounded down
    assert len(inside) >= int(0.93 * len(places)) - 1


def test_what_is_left_and_what_is_short_by_hand() -> None:
    rolled = Rolled(((0.0, 2.5), (0.3, 3.4), (0.0, 4.0)), 5)
    assert short_of(rolled, 3.0) == 1
    assert left_over(rolled, 3.0) == 0.5  # 0.5, hypot(0.3, 0.4) = 0.5, 1.0
    assert left_over(Rolled((), 3), 3.0) is None


@given(st.lists(PLACES, max_size=40))
def test_thinning_keeps_the_first_and_the_last(path: list[tuple[float, float]]) -> None:
    kept = thinned(path)
    assert len(kept) <= len(path) // 4 + 2
    if path:
        assert kept[0] == path[0] and kept[-1] == path[-1]


def test_pictures_are_the_same_each_time() -> None:
    for make in (apart_figure, holing_figure, putts_figure):
        assert make(ANSWER, FEET) == make(made.golfers(), FEET)


def test_lopsided_and_impossible_ends_stay_on_the_paper() -> None:
    wide = normal_estimate(0.9, 0.4, "1")
    rows = [{**r, "estimate": wide} if r["what"] == "holing" else r for r in ANSWER.findings]
    course = Course(course="fen", name="Fen")
    table = holing_figure(made.golfers(rows), course).table
    # by hand: 0.9 + 1.645 x 0.4 is over one; of 100 putts no more than 100 drop
    assert all("–100)" in row[2] for row in table.rows)
