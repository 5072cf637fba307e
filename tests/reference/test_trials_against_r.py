"""Every analysis against R 4.2.2 (lme4, lmerTest, pbkrtest, emmeans), frozen in r/trials.csv."""

from __future__ import annotations

import pytest

from greenwright.verify.analyse import analyse
from greenwright.verify.declared import Declared
from tests.reference.r_answers import frozen, table, without

SAME = 1e-6


def run(name: str, layout: str, response: str, **roles):
    """Analyse a trial; names in roles, `extra` for what else is declared."""
    extra = roles.pop("extra", {})
    held = roles.pop("held", None) or table(name)
    named = {k: v if isinstance(v, tuple) else (v,) for k, v in roles.items()}
    return analyse(held, Declared(layout, response, named, **extra))


PLAIN = {
    # set of R: (file, layout, response, roles, R's table, blocks of R)
    "npk": ("npk", "complete-block", "yield", {"treatments": ("N", "P", "K"), "blocks": "block"}),
    "immer": (None, "complete-block", "Y", {"treatments": "Var", "blocks": "Loc"}),
    "cabbages": ("cabbages", "completely-randomised", "HeadWt", {"treatments": ("Cult", "Date")}),
    "wheat2": ("wheat2", "complete-block", "yield", {"treatments": "variety", "blocks": "Block"}),
    "orchard_sprays": (
        "orchard_sprays",
        "latin-square",
        "decrease",
        {"treatments": "treatment", "rows": "rowpos", "columns": "colpos"},
    ),
    "insect_sprays": ("insect_sprays", "completely-randomised", "count", {"treatments": "spray"}),
    "plant_growth": ("plant_growth", "completely-randomised", "weight", {"treatments": "group"}),
    "fungicide": (
        "fungicide_latin_square",
        "latin-square",
        "yield",
        {"treatments": "trt", "rows": "row", "columns": "col"},
    ),
    "strawberry": (
        "strawberry_yield",
        "complete-block",
        "yield",
        {"treatments": "gen", "blocks": "block"},
    ),
    "turnip": (
        "turnip_density",
        "complete-block",
        "yield",
        {"treatments": ("spacing", "density"), "blocks": "block"},
    ),
    "scab": ("potato_scab_sulfur", "completely-randomised", "inf", {"treatments": "trt"}),
    "regulator plain": (
        "plant_growth_regulator",
        "completely-randomised",
        "Height",
        {"treatments": "Dose"},
    ),
    "regulator": (
        "plant_growth_regulator",
        "latin-square",
        "Height",
        {"treatments": "Dose", "rows": "Row", "columns": "Column"},
    ),
    "corn": ("corn_hybrid_density", "completely-randomised", "Resp", {"treatments": ("A", "B")}),
    "soybean": (
        "soybean_cultivars",
        "complete-block",
        "prod",
        {"treatments": "cult", "blocks": "bloc"},
    ),
    "orange": ("orange_rootstocks", "complete-block", "resp",
               {"treatments": "trat", "blocks": "bloco"}),
}  # fmt: skip


def mean_of_years() -> dict[str, list[str]]:
    held = table("immer")
    pairs = zip(held["Y1"], held["Y2"], strict=True)
    return held | {"Y": [repr((float(a) + float(b)) / 2) for a, b in pairs]}


@pytest.mark.parametrize("name", PLAIN)
def test_sums_of_squares_and_f_of_plain_layouts(name: str) -> None:
    file, layout, response, roles = PLAIN[name]
    held = mean_of_years() if file is None else table(file)
    found = run(name, layout, response, held=held, **roles)
    theirs = frozen(name, "anova")
    told = [one for one in found.terms if one.term in theirs]
    assert told
    for one in told:
        r = theirs[one.term]
        assert (one.df, one.df_error) == (r.df, r.df_error)
        assert one.ss == pytest.approx(r.ss, rel=SAME)
        assert one.f == pytest.approx(r.f, rel=SAME)
        assert one.p == pytest.approx(r.p, rel=1e-5)


STRATA = {
    "npk": PLAIN["npk"],
    "oats": ("oats", "split-plot", "Y", {"blocks": "B", "whole": "V", "sub": "N"}),
    "alfalfa": (
        "alfalfa",
        "split-plot-in-time",
        "Yield",
        {"blocks": "Block", "whole": "Variety", "periods": "Date"},
    ),
    "kiwishade": (
        "kiwishade",
        "complete-block",
        "yield",
        {"treatments": "shade", "blocks": "block"},
    ),
    "wheat_splitsplit": (
        "wheat_splitsplit",
        "split-plot",
        "yield",
        {"blocks": "block", "whole": "gen", "sub": ("dust", "dry", "inoc")},
    ),
}


@pytest.mark.parametrize("name", STRATA)
def test_every_stratum(name: str) -> None:
    file, layout, response, roles = STRATA[name]
    found = run(file, layout, response, **roles)
    theirs = frozen(name, "strata")
    assert {one.term for one in found.terms} == set(theirs)
    for one in found.terms:
        r = theirs[one.term]
        assert (one.df, one.df_error) == (r.df, r.df_error)
        assert one.ss == pytest.approx(r.ss, rel=SAME)
        assert one.f == pytest.approx(r.f, rel=SAME)


def test_blocks_of_the_confounded_peas() -> None:
    found = run(*STRATA["npk"][:3], **STRATA["npk"][3])
    name, df, ss, f = found.blocks[0]
    r = frozen("npk", "anova")["block"]
    assert (name, df) == ("blocks", r.df)
    assert (ss, f) == (pytest.approx(r.ss, rel=SAME), pytest.approx(r.f, rel=SAME))


def test_rows_and_columns_of_a_latin_square() -> None:
    found = run(*PLAIN["fungicide"][:3], **PLAIN["fungicide"][3])
    theirs = frozen("fungicide", "anova")
    for told, r in zip(found.blocks, (theirs["row"], theirs["col"]), strict=True):
        assert told[3] == pytest.approx(r.f, rel=SAME)


def test_a_baseline_is_allowed_for() -> None:
    held = table("eelworm_fumigation")
    pairs = zip(held["fumigant"], held["dose"], strict=True)
    held["trt"] = [f"{a} {b}" for a, b in pairs]
    # The control stands on four plots of each block: rows and columns tell the plots apart.
    roles = {"treatments": "trt", "blocks": "block", "plots": ("row", "col"), "held": held}
    plain = run("", "complete-block", "final", extra={"log": True}, **roles)
    r = frozen("eelworm plain", "anova")["trt"]
    assert plain.term("trt").f == pytest.approx(r.f, rel=SAME)
    roles["held"] = held
    fair = run(
        "", "complete-block", "final", extra={"log": True, "baseline": ("initial",)}, **roles
    )
    r = frozen("eelworm", "anova")["trt"]
    assert fair.term("trt").f == pytest.approx(r.f, rel=SAME)
    assert fair.term("trt").df_error == r.df_error == 35


def test_interactions_up_to_an_order() -> None:
    held = table("cowpea_maize_yield")
    held["y"] = [repr(float(x) / 1000) for x in held["myield"]]
    roles = {"treatments": ("nitro", "cowpea", "maize"), "blocks": "block"}
    for name, order in (("cowpea", None), ("cowpea 2", 2)):
        found = run("", "complete-block", "y", held=held, extra={"order": order}, **roles)
        theirs = frozen(name, "anova")
        for one in found.terms:
            assert one.ss == pytest.approx(theirs[one.term].ss, rel=SAME)
            assert one.f == pytest.approx(theirs[one.term].f, rel=SAME)
    # Help page of the open agridat repository: maize 18, nitro 29, residual 16 on 46 df.
    full = run("", "complete-block", "y", held=held, **roles)
    assert round(full.term("nitro").ss) == 29 and round(full.term("maize").ss) == 18
    assert full.term("nitro").df_error == 46


LOST = [2, 17, 30, 31, 66]
"""Rows without a reading, as in the R script."""


def short_oats():
    held = without(table("oats"), "Y", LOST)
    return run("", "split-plot", "Y", held=held, blocks="B", whole="V", sub="N")


def test_missing_plots_go_to_reml_with_kenward_and_roger() -> None:
    found = short_oats()
    assert found.method == "reml" and "Kenward and Roger" in found.how
    for one in found.terms:
        r = frozen("oats short", "Kenward-Roger")[one.term]
        assert one.f == pytest.approx(r.f, rel=1e-5)
        assert one.df_error == pytest.approx(r.df_error, abs=1e-3)
    theirs = frozen("oats short", "variance")
    ours = found.variances
    assert ours["blocks"] == pytest.approx(theirs["B"].value, rel=1e-4)
    assert ours["whole plots"] == pytest.approx(theirs["V:B"].value, rel=1e-4)
    assert ours["residual"] == pytest.approx(theirs["Residual"].value, rel=1e-4)


def test_means_and_differences_of_the_short_oats() -> None:
    found = short_oats()
    theirs = frozen("oats short", "mean")
    for mean in found.means:
        if mean.term in ("V", "N"):
            r = theirs[f"{mean.term} {mean.label}"]
            assert mean.value == pytest.approx(r.value, rel=SAME)
            assert mean.se == pytest.approx(r.se, rel=1e-5)
            assert mean.df == pytest.approx(r.df_error, abs=1e-3)
    pairs = frozen("oats short N", "tukey")
    told = [c for c in found.contrasts if c.term == "N"]
    assert len(told) == len(pairs) == 6
    for one in told:
        r = pairs.get(f"{one.first} - {one.second}") or pairs[f"{one.second} - {one.first}"]
        assert abs(one.value) == pytest.approx(abs(r.value), rel=1e-5)
        assert one.se == pytest.approx(r.se, rel=1e-5)
        assert one.p_adjusted == pytest.approx(r.p, rel=1e-3, abs=1e-9)


def test_the_whole_oats_give_the_same_by_strata_and_by_reml() -> None:
    found = run("oats", "split-plot", "Y", blocks="B", whole="V", sub="N")
    assert found.method == "strata"
    for one in found.terms:
        assert one.f == pytest.approx(frozen("oats", "Kenward-Roger")[one.term].f, rel=1e-5)
    theirs = frozen("oats", "mean")
    for mean in found.means:
        if mean.term in ("V", "N"):
            r = theirs[f"{mean.term} {mean.label}"]
            assert (mean.value, mean.se) == (
                pytest.approx(r.value, rel=SAME),
                pytest.approx(r.se, rel=1e-5),
            )
    one = next(c for c in found.contrasts if (c.first, c.second) == ("0.6cwt", "0.0cwt"))
    r = frozen("oats N", "tukey")["0.0cwt - 0.6cwt"]
    assert one.se == pytest.approx(r.se, rel=SAME)


def test_plots_read_several_times_with_some_readings_lost() -> None:
    held = without(table("kiwishade"), "yield", [3, 4, 20, 41])
    found = run("", "complete-block", "yield", held=held, treatments="shade", blocks="block")
    r = frozen("kiwishade short", "Kenward-Roger")["shade"]
    assert found.term("shade").f == pytest.approx(r.f, rel=1e-4)
    assert found.term("shade").df_error == pytest.approx(r.df_error, abs=1e-3)


@pytest.mark.parametrize("name", ["plant_growth", "orange"])
def test_tukey(name: str) -> None:
    found = run(*PLAIN[name][:3], **PLAIN[name][3])
    pairs = frozen(name, "tukey")
    assert len(found.contrasts) == len(pairs)
    for one in found.contrasts:
        names = (f"{a} - {b}" for a, b in _both(one.first, one.second))
        r = next(pairs[n] for n in names if n in pairs)
        assert one.se == pytest.approx(r.se, rel=SAME)
        assert one.p_adjusted == pytest.approx(r.p, abs=2e-6)


def _both(a: str, b: str):
    def told(x: str) -> str:
        return f"({x})" if "-" in x else x

    return ((told(a), told(b)), (told(b), told(a)))


def test_dunnett() -> None:
    found = run("plant_growth", "completely-randomised", "weight", treatments="group",
                extra={"control": "ctrl"})  # fmt: skip
    assert [c.method for c in found.contrasts] == ["dunnett", "dunnett"]
    for one in found.contrasts:
        # R integrates by quasi-random points: three digits.
        r = frozen("plant_growth", "mvt")[f"{one.first} - ctrl"]
        assert one.p_adjusted == pytest.approx(r.p, abs=1e-3)
