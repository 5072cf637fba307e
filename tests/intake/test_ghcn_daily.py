"""GHCN-Daily files: three shapes of the open standard give the same weather rows.

The layout is that of the standard's readme [memory, and the readme of its station files, read];
every number is invented.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from greenwright.base.errors import RefusedInput
from greenwright.base.values import ParsedFile
from greenwright.intake import read_paths
from greenwright.intake.ghcn_daily import looks_like, read_ghcn

TODAY = date(2026, 6, 12)
STATION = "XXA00000001"


def month(element: str, *values: str, year: str = "2026", number: str = "05") -> str:
    """Return one .dly line: a value with its three flags for each of 31 days."""
    pieces = [v.ljust(8) if len(v) > 5 else f"{v:>5}   " for v in values]
    pieces += ["-9999   "] * (31 - len(pieces))
    return f"{STATION}{year}{number}{element}{''.join(pieces)}\n"


FIXED = (
    month("TMAX", "183", "  201 X ", "-9999")
    + month("TMIN", "92", "88", "71")
    + month("PRCP", "0", "    0T  ", "124")
    + month("SNOW", "0", "0", "0")
)
LONG = "\n".join(
    [
        f"{STATION},20260501,TMAX,183,,,S,",
        f"{STATION},20260501,TMIN,92,,,S,",
        f"{STATION},20260501,PRCP,0,,,S,",
        f"{STATION},20260501,SNOW,0,,,S,",
        f"{STATION},20260502,TMAX,201,,X,S,",
        f"{STATION},20260502,TMIN,88,,,S,",
        f"{STATION},20260502,PRCP,0,T,,S,",
        f"{STATION},20260503,TMIN,71,,,S,",
        f"{STATION},20260503,PRCP,124,,,S,",
        "",
    ]
)
WIDE = (
    '"STATION","DATE","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN"\n'
    f'"{STATION}","2026-05-01","FEN, XX","    0",",,S","  183",",,S","   92"\n'
    f'"{STATION}","2026-05-02","FEN, XX","    0","T,,S","  201",",X,S","   88"\n'
    f'"{STATION}","2026-05-03","FEN, XX","  124",",,S","",,"   71"\n'
)
SHAPES = {"fen.dly": FIXED, "fen.csv": LONG, "daily.csv": WIDE, "weather.csv": WIDE}


def loaded(folder: Path, name: str, text: str) -> ParsedFile:
    """Return what one file gives."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    (parsed,), ignored = read_paths([path], today=TODAY)
    assert ignored == ()
    return parsed


@pytest.mark.parametrize("name", SHAPES)
def test_three_shapes_give_the_same_days(tmp_path: Path, name: str) -> None:
    parsed = loaded(tmp_path, name, SHAPES[name])
    assert parsed.name == "weather" and parsed.refusals == ()
    first, second, third = (row.fields for row in parsed.rows)
    # by hand: tenths of a degree and of a millimetre
    assert (first["t_max_c"], first["t_min_c"], first["rain_mm"]) == (18.3, 9.2, 0.0)
    assert first["date"] == date(2026, 5, 1) and first["kind"] == "observed"
    assert first["station"] == STATION
    assert "t_max_c" not in second and second["t_min_c"] == 8.8 and second["rain_mm"] == 0.0
    assert second["note"] in (
        "TMAX left out: quality flag X; a trace of rain",
        "a trace of rain; TMAX left out: quality flag X",
    )
    assert third["rain_mm"] == 12.4 and "t_max_c" not in third


def test_a_folder_takes_them_beside_the_record(tmp_path: Path) -> None:
    (tmp_path / "course.csv").write_text("course,name\nfen,Fen\n", encoding="utf-8")
    (tmp_path / "fen.dly").write_text(FIXED, encoding="utf-8")
    (tmp_path / "notes.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    parsed, ignored = read_paths([tmp_path], today=TODAY)
    assert [p.name for p in parsed] == ["course", "weather"]
    assert ignored == ("notes.csv",)


def test_other_elements_have_their_own_units() -> None:
    text = "".join(
        f"{STATION},20260501,{element},{value},,,S,\n"
        for element, value in (("AWND", "21"), ("TSUN", "555"), ("RHAV", "74"), ("TAVG", "131"),
                               ("TMIN", "92"), ("TMAX", "183"))
    )  # fmt: skip
    table = read_ghcn(text.encode(), fixed=False)
    cells = {name: column[0] for name, column in table.columns.items()}
    # by hand: tenths of m/s; 555 min = 9.25 h; whole %
    assert (cells["wind_m_s"], cells["sunshine_h"]) == ("2.1", "9.25")
    assert (cells["rh_mean_pct"], cells["t_mean_c"]) == ("74", "13.1")


def test_a_mean_of_another_reading_hour_is_left_out() -> None:
    text = "".join(
        f"{STATION},20260501,{element},{value},,,S,\n"
        for element, value in (("TMIN", "92"), ("TMAX", "183"), ("TAVG", "190"))
    )
    table = read_ghcn(text.encode(), fixed=False)
    assert table.columns["t_mean_c"][0] == "" and "TAVG left out" in table.columns["note"][0]


def test_whole_degrees_are_refused_by_name(tmp_path: Path) -> None:
    text = f"STATION,DATE,TMAX,TMIN,PRCP\n{STATION},2026-05-01,18.3,9.2,12.4\n"
    parsed = loaded(tmp_path, "daily.csv", text)
    assert parsed.rows == () and len(parsed.refusals) == 1
    assert "counts in tenths" in parsed.refusals[0].why and "9.2" in parsed.refusals[0].why


def test_days_that_contradict_themselves_are_refused(tmp_path: Path) -> None:
    text = month("TMAX", "50", "183") + month("TMIN", "92", "92")
    parsed = loaded(tmp_path, "fen.dly", text)
    assert [row.fields["date"].day for row in parsed.rows] == [2]
    assert "under t_min_c" in parsed.refusals[0].why


def test_a_day_that_no_month_has_is_refused(tmp_path: Path) -> None:
    values = ["-9999"] * 30 + ["100"]
    parsed = loaded(tmp_path, "fen.dly", month("TMAX", "183", *values[1:], number="04"))
    assert len(parsed.rows) == 1 and len(parsed.refusals) == 1  # 31 April


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("fen.dly", "this is no weather\n", "line 1 is not of a GHCN-Daily file"),
        ("fen.dly", month("SNOW", "0"), "holds no temperature"),
        ("fen.dly", "", "holds no temperature"),
        ("daily.csv", f"STATION,DATE,TMAX\n{STATION},2026-05-01,\n", "holds no temperature"),
        ("daily.csv", f'STATION,DATE,TMAX\n"{STATION},2026-05-01,183\n', "never closed"),
    ],
)
def test_what_is_not_of_the_standard_is_refused_whole(
    tmp_path: Path, name: str, text: str, told: str
) -> None:
    parsed = loaded(tmp_path, name, text)
    assert parsed.rows == () and told in parsed.refusals[0].why


def test_a_name_that_is_not_of_the_record_is_still_refused(tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(RefusedInput, match="GHCN-Daily"):
        read_paths([path], today=TODAY)


def test_readings_are_never_taken_for_weather(tmp_path: Path) -> None:
    parsed = loaded(tmp_path, "readings.csv", WIDE)
    assert parsed.name == "readings" and parsed.rows == ()


def test_looks() -> None:
    assert looks_like(LONG.encode()) and looks_like(WIDE.encode())
    assert looks_like(b"\xef\xbb\xbf" + WIDE.encode())
    assert looks_like(b"ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG\n")
    for other in (b"", b"date,kind,issued,t_min_c\n", b"STATION,DATE,NAME\n", b"\xff\xfe\x00"):
        assert not looks_like(other)


@given(st.lists(st.integers(-600, 600), min_size=1, max_size=28))
def test_tenths_go_there_and_back(values: list[int]) -> None:
    table = read_ghcn(month("TMIN", *map(str, values)).encode(), fixed=True)
    assert [float(cell) for cell in table.columns["t_min_c"]] == [v / 10 for v in values]
    assert list(table.numbers) == list(range(2, len(values) + 2))


@given(st.binary(max_size=300))
def test_any_bytes_are_a_table_or_a_refusal(data: bytes) -> None:
    for fixed in (True, False):
        try:
            table = read_ghcn(data, fixed=fixed)
        except RefusedInput:
            continue
        assert len(table.numbers) == len(table.columns["date"])


CELLS = st.none() | st.integers(-400, 400)


@given(st.lists(st.tuples(CELLS, CELLS, st.none() | st.integers(0, 999)), min_size=1, max_size=20))
def test_each_shape_gives_what_the_others_give(days: list[tuple]) -> None:
    names = ("TMIN", "TMAX", "PRCP")
    fixed = "".join(
        month(name, *(str(d[i]) if d[i] is not None else "-9999" for d in days))
        for i, name in enumerate(names)
    )
    long = "".join(
        f"{STATION},202605{k:02d},{name},{d[i]},,,S,\n"
        for k, d in enumerate(days, 1)
        for i, name in enumerate(names)
        if d[i] is not None
    )
    wide = f"STATION,DATE,{','.join(names)}\n" + "".join(
        f"{STATION},2026-05-{k:02d},{','.join('' if v is None else str(v) for v in d)}\n"
        for k, d in enumerate(days, 1)
    )
    if not long:
        for text, shape in ((fixed, True), (wide, False)):
            with pytest.raises(RefusedInput):
                read_ghcn(text.encode(), fixed=shape)
        return
    tables = [
        read_ghcn(t.encode(), fixed=s) for t, s in ((fixed, True), (long, False), (wide, False))
    ]
    assert tables[0] == tables[1] == tables[2]
    told = [d for d in days if any(v is not None for v in d)]
    rain = [cell for cell in tables[0].columns["rain_mm"] if cell]
    assert [float(cell) for cell in rain] == [d[2] / 10 for d in told if d[2] is not None]
