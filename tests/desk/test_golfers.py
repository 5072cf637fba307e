"""The question golfers, through the real rooms."""

from __future__ import annotations

import json
import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import jsonschema
import pytest

from greenwright import desk
from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer, UnknownKey
from greenwright.base.evidence import value
from greenwright.desk import books
from greenwright.desk.golfing.reading import KEPT, read
from greenwright.golfers import HOLING_DISTANCES_M
from greenwright.record import Store
from tests.desk.records import DAY, SMALL, write_csv

EVERY = ("green", "what", "about", "distance_m", "player", "chance", "chance_perfect",
         "estimate", "quantity", "sources")  # fmt: skip
QUANTITIES = ("green_speed", "smoothness", "trueness_score")


@pytest.fixture(scope="module")
def answer(small_path: Path) -> Answer:
    with books.open_book(small_path) as store:
        return desk.golfers(store, on=DAY)


def rows(answer: Answer, what: str, **like: object) -> list[dict]:
    return [
        dict(row)
        for row in answer.findings
        if row["what"] == what and all(row[key] == held for key, held in like.items())
    ]


def gaps(answer: Answer) -> dict[str, dict]:
    return {gap["about"]: dict(gap) for gap in answer.gaps}


def timeless(answer: Answer) -> Answer:
    return replace(answer, made_by={**answer.made_by, "seconds": 0.0})


def test_it_obeys_the_published_schema(answer: Answer) -> None:
    jsonschema.validate(json.loads(answer.as_json()), answer_schema())
    assert desk.QUESTIONS_READY[1] == "golfers"


def test_every_row_has_every_key(answer: Answer) -> None:
    for row in answer.findings:
        assert set(row) >= set(EVERY)
    assert Counter(row["what"] for row in answer.findings) == {
        # three quantities of four course rows and three greens; eleven topics; two players of
        # nine distances and a round
        "notice": 3 * (4 + 3),
        "complaints": 11,
        "holing": 2 * 10,
    }


def test_every_outside_number_is_a_source(answer: Answer) -> None:
    keys = {source["key"] for source in answer.sources}
    assert {key for row in answer.findings for key in row["sources"]} <= keys
    assert {"notice.speed_threshold", "complaints.most_per_round", "players.tour.angle_sd",
            "measure.trueness_log.level", "putts.picture_distance"} <= keys  # fmt: skip


def test_the_three_answers_stand_apart(answer: Answer) -> None:
    for quantity in QUANTITIES:
        about = [r["about"] for r in rows(answer, "notice", quantity=quantity, green="course")]
        assert about == ["yesterday", "lately", "next green", "consistency"]
    assert [r["about"] for r in rows(answer, "complaints")][:2] == ["any", "bumpy"]
    tour = rows(answer, "holing", player="tour")
    assert tuple(r["distance_m"] for r in tour[:-1]) == HOLING_DISTANCES_M


def test_trueness_never_measured_is_a_prior_and_a_gap(answer: Answer) -> None:
    now = answer.more["now"]
    assert now["trueness"].basis == now["sideways_mm_per_m"].basis == "prior"
    assert now["trueness"].high / now["trueness"].low > 10
    gap = gaps(answer)["trueness"]
    assert "10 balls" in gap["text"] and "1.5 m and 4.5 m" in gap["text"]
    assert gap["reading"]["kind"] == "end_offset" and gap["reading"]["n"] == 20
    assert gap["reading"]["minutes"] == 2 * value("reading_time.end_offset")


def test_rounds_are_those_counted(answer: Answer) -> None:
    # the small record counts 62 and 70 rounds
    assert answer.more["now"]["rounds"] == 66.0
    assert all(r["rounds"] == 66.0 for r in rows(answer, "complaints"))
    assert "rounds" not in gaps(answer)


def test_no_putts_and_no_settled_remarks_are_gaps(answer: Answer) -> None:
    assert {"putts", "remarks"} <= set(gaps(answer))


def test_the_picture_is_of_a_green_in_play(answer: Answer) -> None:
    putts = answer.more["putts"]
    # greens read at 2.50, 2.41 and 2.33 m: the middle one is the most typical; its slope is 0
    assert putts["green"] == "2" and putts["slope"] == 0.0 and "slope" not in gaps(answer)
    assert putts["n"] == 200 and len(putts["paths"]) == 60 and putts["player"] == "90"
    assert 0 < putts["holed"] < 100


def test_the_record_is_counted_whole(answer: Answer, small: Store) -> None:
    assert answer.record == desk.today(small, on=DAY).record


def test_asked_again_it_is_the_same(answer: Answer, small: Store) -> None:
    assert timeless(desk.ask("golfers", small, on=DAY)) == timeless(answer)


def test_a_faster_green_is_noticed_and_told(answer: Answer, small: Store) -> None:
    fast = desk.golfers(small, on=DAY, speed_m=3.2)
    assert fast.more["what_if"] == {
        "speed_m": 3.2, "smoothness": None, "trueness_t": None, "given": ["speed_m"],
    }  # fmt: skip
    assert answer.more["what_if"]["given"] == []
    assert fast.more["now"]["green_speed"] == answer.more["now"]["green_speed"]
    like = {"quantity": "green_speed", "about": "yesterday"}
    assert rows(fast, "notice", **like)[0]["chance"] > 0.9
    assert fast.more["putts"]["speed_m"] == 3.2


def test_a_bumpy_surface_brings_remarks_but_no_misses(answer: Answer, small: Store) -> None:
    bumpy = desk.golfers(small, on=DAY, smoothness=4.0)
    now, then = (rows(a, "complaints", about="any")[0]["estimate"].value for a in (answer, bumpy))
    assert then > 2 * now
    assert rows(bumpy, "holing") == rows(answer, "holing")


def test_an_untrue_surface_costs_putts_and_says_what_it_does_not_move(
    answer: Answer, small: Store
) -> None:
    untrue = desk.golfers(small, on=DAY, sideways_mm_per_m=15.0)
    true = desk.golfers(small, on=DAY, trueness_t=0.0)
    lost = [
        rows(a, "holing", about="putts per 18 holes", player="tour")[0]["estimate"].value
        for a in (true, answer, untrue)
    ]
    assert lost[0] == pytest.approx(0, abs=1e-12) and lost[1] < lost[2]
    assert "moves the putts only" in gaps(untrue)["what-if"]["text"]
    assert rows(untrue, "complaints") == rows(answer, "complaints")
    assert true.more["putts"]["ends"] == true.more["putts"]["perfect_ends"]


def test_putts_of_the_club_make_a_player(tmp_path: Path) -> None:
    text = "date,distance_m,player,tried,made\n" + "".join(
        f"{DAY},{d},lia,40,{made}\n" for d, made in ((1.0, 30), (2.0, 14), (4.0, 5))
    )
    with books.open_book(tmp_path / "b.db", create=True) as store:
        books.load_paths(store, [SMALL, write_csv(tmp_path / "p", "putts", text)], on=DAY)
        got = desk.golfers(store, on=DAY, player="lia here")
    assert "putts" not in gaps(got) and got.more["putts"]["player"] == "lia here"
    row = rows(got, "holing", player="lia here")[0]
    assert row["n_putts"] == 120 and "players.own.angle_spread" in row["sources"]


def test_a_course_without_rounds_or_slopes_says_what_stands_in(tmp_path: Path) -> None:
    folder = write_csv(tmp_path / "r", "course", "course,name,timezone\nfen,Low Fen,UTC\n")
    write_csv(folder, "greens", "green,order\n1,1\n")
    write_csv(folder, "readings", f"date,green,kind,value,unit\n{DAY},1,green_speed,2.8,m\n")
    with books.open_book(tmp_path / "b.db", create=True) as store:
        books.load_paths(store, [folder], on=DAY)
        got = desk.golfers(store, on=DAY)
    jsonschema.validate(json.loads(got.as_json()), answer_schema())
    assert {"rounds", "slope", "smoothness", "trueness"} <= set(gaps(got))
    assert got.more["now"]["smoothness"] is None
    # one green has no other to differ from
    assert [r["about"] for r in rows(got, "notice")] == ["yesterday", "lately"]
    assert {"rounds.default_day", "putts.picture_slope"} <= {s["key"] for s in got.sources}


@pytest.mark.parametrize(
    ("options", "error", "says"),
    [
        ({"speed_m": 0.2}, BadInput, "1 to 5.5 m"),
        ({"green": "99"}, UnknownKey, "1, 2, 3"),
        ({"player": "pro"}, UnknownKey, "tour, 90"),
        ({"heights": Path("none.asc")}, BadInput, "no such file"),
        ({"spede": 3.0}, UnknownKey, "takes no option 'spede'"),
    ],
)
def test_options_that_cannot_be_are_refused(
    small: Store, options: dict, error: type[Exception], says: str
) -> None:
    with pytest.raises(error) as caught:
        desk.golfers(small, on=DAY, **options)
    assert says in str(caught.value) and caught.value.exit_code == 2


@pytest.mark.parametrize("question", ["today", "effects", "week"])
def test_other_questions_take_none_of_its_options(small: Store, question: str) -> None:
    with pytest.raises(UnknownKey, match="takes no option 'rounds'"):
        desk.ask(question, small, on=DAY, rounds=80)


def test_a_record_before_its_first_reading_cannot_answer(small: Store) -> None:
    with pytest.raises(CannotAnswer, match="no reading"):
        desk.golfers(small, on=DAY - timedelta(days=400))


# -- what was read is kept while the record stays as it is


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Store]:
    with books.open_book(tmp_path / "book.db", create=True) as store:
        books.load_paths(store, [SMALL], on=DAY)
        yield store


def quietly(_text: str, _share: float) -> None:
    """Take progress and say nothing."""


def test_a_what_if_reads_nothing_again(book: Store) -> None:
    one = read(book, None, on=DAY, tell=quietly)
    assert read(book, None, on=DAY, tell=quietly) is one
    assert read(book, "heron", on=DAY, tell=quietly) is not one
    told: list[str] = []
    desk.ask("golfers", book, on=DAY, progress=lambda text, _: told.append(text), speed_m=3.0)
    assert "Reading the record" not in told and told[-1] == "Done"


def test_remarks_are_learnt_once_for_each_surface_that_is_spoken_of(book: Store) -> None:
    kept = read(book, None, on=DAY, tell=quietly).said
    for options, count in (({}, 1), ({"speed_m": 3.0}, 1), ({"smoothness": 5.0}, 2),
                           ({"rounds": 10.0}, 3), ({"trueness_t": 1e-6}, 3)):  # fmt: skip
        desk.golfers(book, on=DAY, **options)
        assert len(kept) == count
    desk.golfers(book, on=DAY, rounds=20.0)
    desk.golfers(book, on=DAY, rounds=30.0)
    assert len(kept) == KEPT and {key[2] for key in kept} >= {20.0, 30.0}


def test_a_changed_record_is_read_again(book: Store, tmp_path: Path) -> None:
    one, before = read(book, None, on=DAY, tell=quietly), book.stamp()
    news = f"date,green,kind,value,unit\n{DAY},1,green_speed,3.4,m\n"
    books.load_paths(book, [write_csv(tmp_path / "n", "readings", news)], on=DAY)
    assert book.stamp() != before
    again = read(book, None, on=DAY, tell=quietly)
    assert again is not one
    faster, slower = (r.surfaces["green_speed"].course.value for r in (again, one))
    assert faster > slower


def test_only_a_few_days_are_kept(book: Store) -> None:
    first = read(book, None, on=DAY, tell=quietly)
    for n in range(KEPT):
        read(book, None, on=DAY + timedelta(days=n + 1), tell=quietly)
    assert read(book, None, on=DAY, tell=quietly) is not first


def test_a_file_that_was_only_touched_is_not_read_again(book: Store) -> None:
    one = read(book, None, on=DAY, tell=quietly)
    os.utime(book.path, ns=(1, 1))
    assert read(book, None, on=DAY, tell=quietly) is one
