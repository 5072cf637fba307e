"""What must hold between the cells of a row: a good and a bad row for each rule."""

from __future__ import annotations

import pytest

# file, header, good row, bad row, column of the refusal
RULES = [
    ("course", "course,name,timezone", "fen,Fen,Europe/London", "fen,Fen,Mars/North", "timezone"),
    ("course", "course,name,setting", "fen,Fen,member", "fen,Fen,fancy", "setting"),
    ("weather", "date,t_min_c,t_max_c", "2026-06-01,9,9", "2026-06-01,10,9", "t_max_c"),
    ("weather", "date,t_min_c,t_mean_c", "2026-06-01,9,12", "2026-06-01,9,8", "t_mean_c"),
    (
        "weather",
        "date,rh_min_pct,rh_mean_pct",
        "2026-06-01,40,70",
        "2026-06-01,71,70",
        "rh_mean_pct",
    ),
    (
        "weather",
        "date,rh_mean_pct,rh_max_pct",
        "2026-06-01,70,90",
        "2026-06-01,70,60",
        "rh_mean_pct",
    ),
    ("weather", "date,rain_mm", "2026-06-01,0", "2026-06-01,-1", "rain_mm"),
    (
        "weather",
        "date,kind,issued",
        "2026-06-09,forecast,2026-06-05",
        "2026-06-09,forecast,",
        "issued",
    ),
    (
        "weather",
        "date,kind,issued",
        "2026-06-09,forecast,2026-06-05",
        "2026-06-09,forecast,2026-06-06",
        "issued",
    ),
    ("weather", "date,kind", "2026-06-09,typical", "2026-06-09,observed", "date"),
    (
        "lab",
        "date,medium,depth_cm,extractant,analyte,value,unit",
        "2026-03-10,soil,10,olsen,P,9,mg/kg",
        "2026-03-10,soil,10,,P,9,mg/kg",
        "extractant",
    ),
    (
        "lab",
        "date,medium,depth_cm,extractant,analyte,value,unit",
        "2026-03-10,soil,10,olsen,P,9,ppm",
        "2026-03-10,soil,,olsen,P,9,mg/kg",
        "depth_cm",
    ),
    (
        "lab",
        "date,medium,analyte,value,unit",
        "2026-03-10,water,pH,7.2,",
        "2026-03-10,water,Na,30,",
        "unit",
    ),
    (
        "lab",
        "date,medium,analyte,value,unit",
        "2026-03-10,water,pH,7.2,",
        "2026-03-10,water,pH,72,",
        "value",
    ),
    (
        "lab",
        "date,medium,depth_cm,extractant,analyte,value,unit",
        "2026-03-10,soil,10,olsen,P,9,mg/kg",
        "2026-03-10,soil,10,olsen,P,9,lb/acre",
        "unit",
    ),
    (
        "lab",
        "date,medium,analyte,value,unit",
        "2026-06-05,leaf,N,4,%",
        "2026-06-06,leaf,N,4,%",
        "date",
    ),
    ("materials", "material,n_pct,p2o5_pct,k2o_pct", "mix,20,20,20", "mix,40,40,40", "n_pct"),
    (
        "materials",
        "material,n_pct,n_urea_pct,n_nitrate_pct",
        "mix,20,12,8.1",
        "mix,20,15,8",
        "n_pct",
    ),
    ("materials", "material,max_rate,max_rate_unit", "mix,2,g/m2", "mix,2,", "max_rate_unit"),
    ("rounds", "date,rounds", "2026-06-01,0", "2026-06-01,-3", "rounds"),
    ("rounds", "date,rounds", "2026-06-05,60", "2026-06-06,60", "date"),
    (
        "feedback",
        "date,topic,count,n_asked",
        "2026-06-01,bumpy,0,5",
        "2026-06-01,bumpy,6,5",
        "count",
    ),
    ("putts", "date,distance_m,tried,made", "2026-06-01,2,10,10", "2026-06-01,2,10,11", "made"),
    (
        "calendar",
        "start,end,name,kind",
        "2026-06-13,2026-06-13,Cup,event",
        "2026-06-13,2026-06-12,Cup,event",
        "end",
    ),
    ("targets", "quantity,low,high", "moisture,15,25", "moisture,25,15", "high"),
    ("targets", "quantity,low,high", "moisture,,25", "moisture,,", "low"),
    ("targets", "quantity,low,unit", "green_speed,9,ft", "green_speed,9,", "low"),
    (
        "targets",
        "quantity,high,method",
        "firmness,90,impact deceleration",
        "firmness,90,",
        "method",
    ),
    (
        "targets",
        "quantity,high,from,until",
        "moisture,25,2026-04-01,2026-09-30",
        "moisture,25,2026-09-30,2026-04-01",
        "until",
    ),
    ("limits", "limit,value,unit", "rolls_week,3,count", "rolls_week,,count", "value"),
    ("limits", "limit,value,unit", "min_height_mm,0.125,in", "min_height_mm,3,h", "unit"),
    ("limits", "limit,value,unit", "p_allowed,0,", "p_allowed,2,", "value"),
    ("limits", "limit,from,until", "no_work,2026-12-24,2026-12-26", "no_work,2026-12-24,", "until"),
    ("limits", "limit,from,until", "no_feed,2026-12-01,2027-03-01", "no_feed,,2027-03-01", "from"),
    ("limits", "limit,weekday,value", "labour_h_day,sun,0", "labour_h_day,sunday,0", "weekday"),
    ("crew", "practice,group,minutes", "mow,A,40", "mow,A,", "minutes"),
    ("crew", "practice,group,minutes", "mow,all,40", "mow,Z,40", "group"),
    ("crew", "practice,machine,count", ",roller,1", ",roller,", "count"),
    ("stations", "green,station,slope_pct", "1,D,1.6", "9,D,1.6", "green"),
    ("greens", "green,area_m2", "4,420", "4,42000", "area_m2"),
]


@pytest.mark.parametrize(("file", "header", "good", "bad", "column"), RULES)
def test_rule(read, file, header, good, bad, column):
    kept = read(**{file: f"{header}\n{good}\n"})[file]
    assert (len(kept.rows), kept.refusals) == (1, ())
    refused = read(**{file: f"{header}\n{bad}\n"})[file]
    assert refused.rows == ()
    assert [(r.row, r.column) for r in refused.refusals] == [(2, column)]
    assert refused.refusals[0].do


def test_targets_are_kept_in_the_canonical_unit(read):
    text = (
        'quantity,low,high,unit\ngreen_speed,9 ft,"10\'0""",\n'
        "trueness,,20,mm/m\nclippings,10,40,mL/m2\n"
    )
    rows = read(targets=text)["targets"].rows
    # by hand: 9 ft = 2.7432 m, 10 ft = 3.048 m
    assert rows[0].fields["low"] == pytest.approx(2.7432)
    assert rows[0].fields["high"] == pytest.approx(3.048)
    assert [row.fields["unit"] for row in rows] == ["m", "mm/m", "mL/m2"]


def test_limits_are_kept_in_the_unit_of_their_name(read):
    text = (
        "limit,value,unit\nmin_height_mm,0.125,in\nn_year_g_m2,3,lb/1000 ft2\nrolls_week,3,passes\n"
    )
    rows = read(limits=text)["limits"].rows
    # by hand: 0.125 x 25.4; 3 x 4.8824 (international pound and foot)
    assert [r.fields["value"] for r in rows] == pytest.approx([3.175, 14.6473, 3], rel=1e-5)
    assert [r.fields["unit"] for r in rows] == ["mm", "g/m2", "count"]


def test_nutrients_of_soil_are_kept_in_mg_per_kg(read):
    text = (
        "date,medium,depth_cm,extractant,analyte,value,unit\n"
        "2026-03-10,soil,10,olsen,K,50,ppm\n2026-03-10,soil,10,olsen,K,0.01,%\n"
    )
    rows = read(lab=text)["lab"].rows
    assert [r.fields["value"] for r in rows] == pytest.approx([50, 100])  # by hand: 1 % = 10,000
    assert {r.fields["unit"] for r in rows} == {"mg/kg"}


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("greens", "green\n4\n4\n"),
        ("materials", "material\nsand\nsand\n"),
        ("rounds", "date,rounds\n2026-06-01,60\n2026-06-01,61\n"),
        ("course", "course,name\nfen,Fen\nfen,Fen\n"),
        ("weather", "date,rain_mm\n2026-06-01,1\n2026-06-01,2\n"),
    ],
)
def test_a_key_stands_once(read, file, text):
    parsed = read(**{file: text})[file]
    assert len(parsed.rows) == 1
    assert "row 2" in parsed.refusals[0].why


def test_alike_readings_are_no_contradiction(read):
    row = "2026-06-01,1,moisture,20,%\n"
    assert len(read(readings=f"date,green,kind,value,unit\n{row}{row}")["readings"].rows) == 2


def test_a_course_of_another_key_brings_its_own_greens(read):
    files = read(
        course="course,name\nother,Other\n",
        readings="date,green,kind,value,unit\n2026-06-01,1,moisture,20,%\n",
    )
    assert files["readings"].refusals[0].column == "green"
