"""A trial from proposal to verdict, on a record made by hand."""

from __future__ import annotations

import re
import runpy
from datetime import date, timedelta
from pathlib import Path

import jsonschema
import pytest

from greenwright.base.answer import Answer, answer_schema
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.desk import ask, books
from greenwright.desk.trialfile import ROLES_OF, export_trial
from greenwright.desk.trials import HERE, own_spread, wanted, washout
from greenwright.record import Store, snapshot
from greenwright.show import page, words
from greenwright.show.trial_report import READERS, report_pdf, report_svg
from tests.desk.records import SMALL, write_csv

START = date(2026, 6, 6)
END = date(2026, 6, 26)
GREENS = ("1", "2", "3", "4")
GAIN = 0.2
"""What the new way adds to a reading, put in by hand [m]."""


def course(folder: Path) -> Path:
    write_csv(folder, "course", "course,name,timezone,display_units\ntarn,Tarn Edge,UTC,metric\n")
    rows = "\n".join(f"{g},yes,{g}" for g in (*GREENS, "5", "6", "7", "8"))
    return write_csv(folder, "greens", f"green,in_play,order\n{rows}\n")


def opened(tmp_path: Path, readings: str = "") -> Store:
    folder = course(tmp_path / "files")
    if readings:
        write_csv(folder, "readings", f"date,green,part,kind,value,unit\n{readings}")
    store = books.open_book(tmp_path / "tarn.db", create=True)
    report = books.load_paths(store, [folder], on=END, who="ana")
    assert report.total.refused == 0
    return store


def laid(store: Store, on: date = date(2026, 6, 5), **more: object) -> Answer:
    options = {
        "name": "roll", "treatments": "as usual,rolled", "greens": "1,2,3,4,5,6,7,8", "seed": 5,
        "from": START, "days": 5, "periods": 4, "sd": 0.1,
    }  # fmt: skip
    return ask("trial", store, on=on, **{**options, **more})


def read_of(plan: list[dict], *, gain: float = GAIN, leave: int = 0) -> str:
    """Return readings of a plan: level by green and turn, the gain, and a fixed small scatter."""
    lines = []
    for k, row in enumerate(plan[: len(plan) - leave]):
        day = row["from"] + timedelta(days=3)
        scatter = 0.03 * ((7 * k) % 5 - 2)
        value = 2.6 + 0.05 * int(row["green"]) + 0.04 * int(row.get("period", 0)) + scatter
        value += gain * (row["treatment"] == "rolled")
        lines.append(f"{day},{row['green']},{row.get('part', '')},roll_distance,{value:.4f},m")
    return "\n".join(lines) + "\n"


def test_a_proposal_is_not_kept_and_a_name_keeps_it(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        told = laid(store, name="")
        assert told.more["state"]["kept"] is False and told.more["trial"]["name"] == ""
        with pytest.raises(BadInput, match="no trial named"):
            ask("trial", store, on=END, name="roll")
        laid(store)
        again = ask("trial", store, on=date(2026, 6, 8), name="roll")
        assert again.more["state"]["kept"] is True
        assert again.more["trial"]["seed"] == 5
        plans = [[(r["green"], r["treatment"]) for r in a.more["plan"]] for a in (told, again)]
        assert plans[0] == plans[1]


def test_the_answer_is_as_published(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        shape = laid(store).as_dict()
    jsonschema.validate(shape, answer_schema())
    assert {"term", "stratum", "df", "df_error", "ss", "F", "p", "estimate"} <= set(
        shape["findings"][0]
    )
    assert shape["trial"]["ways"] == 70
    # By hand: 2 / C(8, 4).
    assert shape["trial"]["smallest_p"] == pytest.approx(2 / 70)


def test_nothing_is_told_before_every_plot_was_read(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        plan = laid(store).more["plan"]
    (tmp_path / "b").mkdir()
    with opened(tmp_path / "b", read_of(plan, leave=3)) as store:
        laid(store)
        told = ask("trial", store, on=END, name="roll")
    assert told.more["state"] == {
        "read": len(plan) - 3, "plots": len(plan), "complete": False, "analysed": False,
        "kept": True,
    }  # fmt: skip
    assert told.findings[0]["F"] is None and "not complete" in told.findings[0]["reason"]
    assert "3 of 32 plots have no reading yet" in told.gaps[0]["text"]
    assert told.more["contrasts"] == ()


def complete(tmp_path: Path, **more: object) -> Answer:
    with opened(tmp_path) as store:
        plan = laid(store, **more).more["plan"]
    (tmp_path / "b").mkdir()
    with opened(tmp_path / "b", read_of(plan)) as store:
        laid(store, **more)
        return ask("trial", store, on=END, name="roll")


def test_what_was_put_in_is_found(tmp_path: Path) -> None:
    told = complete(tmp_path)
    found = told.findings[-1]
    assert found["term"] == "treatment" and found["stratum"] == "periods within greens"
    # 32 readings: 7 df greens, 3 turns, 1 treatment, 20 left, by hand.
    assert (found["df"], found["df_error"]) == (1, 20)
    assert found["verdict"] == "differ" and found["p_lot"] <= 0.05
    one = told.more["contrasts"][0]
    assert (one["first"], one["second"]) in {("rolled", "as usual"), ("as usual", "rolled")}
    size = one["value"] if one["first"] == "rolled" else -one["value"]
    assert size == pytest.approx(GAIN, abs=0.03)
    assert one["low"] < one["value"] < one["high"]


def test_half_greens_are_found_by_their_part(tmp_path: Path) -> None:
    told = complete(tmp_path, layout="half-greens")
    assert told.more["state"]["analysed"] and len(told.more["plan"]) == 16
    assert told.findings[0]["df_error"] == 7
    assert told.findings[0]["verdict"] == "differ"


def test_before_and_after_with_greens_left_alone(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        told = laid(store, layout="before-after")
    phases = {row["phase"]: row for row in told.more["plan"]}
    assert phases["before"]["until"] < START <= phases["after"]["from"]
    assert all(c["date"] >= START for c in told.choices)
    assert told.findings[0]["term"] == "treatment:phase"


def test_the_days_after_a_switch_are_left_out(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        record = snapshot(store, None, on=END)
        base = {"days": 5, "layout": "crossover"}
        assert washout(wanted(record, base)) == 2
        assert washout(wanted(record, base | {"days": 1})) == 0
        assert washout(wanted(record, base | {"layout": "half-greens"})) == 0


def test_the_spread_is_the_courses_own_where_it_can_be(tmp_path: Path) -> None:
    rows = [
        f"{date(2026, 5, 1) + timedelta(days=d)},{g},,moisture,"
        f"{20 + int(g) + d + (d * int(g)) % 3},%"
        for d in range(6)
        for g in GREENS
    ]
    with opened(tmp_path, "\n".join(rows) + "\n") as store:
        held = own_spread(snapshot(store, None, on=END), "moisture")
        assert held is not None
        # Greens are 1 apart by construction, and their own scatter comes on top.
        assert 1.0 < held[0] < 2.0 and 0.3 < held[1] < 1.2
        told = laid(store, kind="moisture", sd=None)
        assert told.more["spread"]["from"] == "this course's own readings"


def test_without_a_spread_it_asks(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        with pytest.raises(CannotAnswer, match="spread of"):
            laid(store, kind="moisture", sd=None)
        told = laid(store, sd=None)
        assert told.more["spread"]["from"] == "the planning value"
        assert "trial.residual_sd" in {s["key"] for s in told.sources}


@pytest.mark.parametrize(
    ("bad", "why"),
    [
        ({"layout": "split-plot"}, "not laid out over greens"),
        ({"kind": "luck"}, "no kind of reading"),
        ({"greens": "1,99"}, "no green '99'"),
        ({"days": 0}, "cannot be"),
        ({"sd": -1.0}, "cannot be"),
        ({"treatments": "rolled"}, "two levels"),
        ({"layout": "half-greens", "treatments": "a,b,c"}, "two ways"),
    ],
)
def test_what_cannot_be_asked_says_why(tmp_path: Path, bad: dict, why: str) -> None:
    with opened(tmp_path) as store, pytest.raises(BadInput, match=why):
        laid(store, **bad)


def test_the_same_question_gives_the_same_answer(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        first, second = (laid(store).as_dict() for _ in range(2))
    first["made_by"].pop("seconds"), second["made_by"].pop("seconds")
    assert first == second


def test_the_small_record_gets_a_plan(small: Store) -> None:
    told = ask("trial", small, on=date(2026, 6, 5), greens="1,2", treatments="a,b", periods=4)
    assert told.record["course"] and SMALL.exists()
    assert len(told.more["plan"]) == 8


def test_the_page_tells_a_proposal_and_a_verdict(tmp_path: Path) -> None:
    told = complete(tmp_path)
    with books.open_book(tmp_path / "b" / "tarn.db") as store:
        place = books.course_of(store, None)
    made = page(told, place)
    # 0.2 m was put in: 8 in by hand, give or take the scatter.
    inches = int(made.lead[0].removeprefix("roll: rolled gave ").split(" in ")[0])
    assert 7 <= inches <= 9 and made.lead[0].endswith("more than as usual.")
    assert made.lead[1].startswith("Hardly chance: of 70 ways")
    assert [f.key for f in made.figures] == ["differences", "plan"]
    assert made.figures[0].svg.count("<circle") == 1
    text = words(told, course=place, full=True)
    assert "Field sheet, to be read unseen" in text and "Means" in text


def test_the_field_sheet_names_no_way(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        told = laid(store)
        place = books.course_of(store, None)
    made = page(told, place)
    sheet = next(s for s in made.sections if s.title.startswith("Field sheet")).tables[0]
    cells = {cell for row in sheet.rows for cell in row}
    assert not cells & {"as usual", "rolled"}
    assert len({row[2] for row in sheet.rows}) == len(told.more["plan"])
    assert made.figures[0].key == "plan" and made.figures[0].svg.count("<rect") == 32


def test_a_name_is_not_laid_out_twice_and_the_latest_is_told(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        laid(store)
        laid(store)
        with pytest.raises(BadInput, match="laid out otherwise"):
            laid(store, seed=6)
        laid(store, name="brush", treatments="as usual,brushed")
        told = ask("trial", store, on=date(2026, 6, 8))
        assert told.more["trial"]["name"] == "brush" and told.more["state"]["kept"]


def test_the_exported_script_finds_the_same(tmp_path: Path, capsys) -> None:
    told = complete(tmp_path)
    data, script = export_trial(told, tmp_path / "out")
    assert data.read_text("utf-8").count("\n") == 33
    held = runpy.run_path(str(script))
    ours = {row["term"]: row["F"] for row in told.findings}
    theirs = {row["term"]: row["F"] for row in held["answer"]["findings"]}
    assert theirs == pytest.approx(ours)
    assert "treatment makes a difference" in capsys.readouterr().out
    assert set(ROLES_OF) == set(HERE)


@pytest.mark.parametrize("reader", READERS)
def test_a_report_fits_one_page(tmp_path: Path, reader: str) -> None:
    told = complete(tmp_path)
    with books.open_book(tmp_path / "b" / "tarn.db") as store:
        place = books.course_of(store, None)
    svg = report_svg(told, place, reader=reader)
    lows = [float(y) for y in re.findall(r'<text x="[\d.]+" y="([\d.]+)"', svg)]
    assert max(lows) < 842 - 20
    assert "rolled gave" in svg
    assert (">Held against<" in svg) is (reader == "scientist")
    pdf = report_pdf(told, place, reader=reader)
    assert pdf.startswith(b"%PDF") and len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1


def test_no_report_for_anyone_else(tmp_path: Path) -> None:
    with opened(tmp_path) as store:
        told = laid(store)
        with pytest.raises(BadInput, match="no report"):
            report_svg(told, books.course_of(store, None), reader="crowd")
