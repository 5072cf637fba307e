"""A trial's data file from anywhere: read, analysed as declared, told as JSON and exported."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from threadpoolctl import threadpool_limits

from greenwright import __version__
from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput, RefusedInput
from greenwright.desk.clock import stopwatch
from greenwright.verify.analyse import analyse
from greenwright.verify.declared import Declared
from greenwright.verify.found import Analysis, ContrastFound, MeanFound, TermFound

MODEL = "trial 1 (strata, else REML with Kenward and Roger's freedom)"
LARGEST = 20_000_000
"""Bytes of the largest file that is read."""
ROW_LIMIT = 4_000
"""Rows that are analysed at once: an exact analysis holds a table of rows by rows."""


def read_table(path: Path) -> dict[str, list[str]]:
    """Return the columns of a CSV (comma, semicolon or tab) as text; None and NA stay text.

    Raises:
        RefusedInput: no file, not UTF-8 text, or a row with too many or too few cells.
    """
    if not path.is_file():
        raise RefusedInput("there is no such file", where=str(path), do="Check its name")
    if path.stat().st_size > LARGEST:
        raise RefusedInput("the file is too large", where=str(path), expected="at most 20 MB")
    try:
        text = path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise RefusedInput("the file is not UTF-8 text", where=str(path),
                           do="Save it as CSV (UTF-8)") from None  # fmt: skip
    return table_of(text, where=path.name)


def table_of(text: str, *, where: str) -> dict[str, list[str]]:
    """Return the columns of CSV text.

    Raises:
        RefusedInput: names the line.
    """
    head = text.partition("\n")[0]
    mark = max(",;\t", key=head.count)
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=mark) if any(row)]
    if len(rows) < 2:
        raise RefusedInput("the file holds no rows", where=where,
                           expected="one header row and a row for each reading")  # fmt: skip
    names = [name.strip() for name in rows[0]]
    if len(set(names)) < len(names) or "" in names:
        raise RefusedInput("two columns have the same name, or one has none", where=where,
                           do="Name each column once")  # fmt: skip
    if len(rows) > ROW_LIMIT + 1:
        raise RefusedInput(f"{len(rows) - 1} rows are too many at once", where=where,
                           expected=f"at most {ROW_LIMIT}",
                           do="Take the mean of the readings of each plot first")  # fmt: skip
    for line, row in enumerate(rows[1:], 2):
        if len(row) != len(names):
            raise RefusedInput(f"{len(row)} cells where the header has {len(names)}",
                               where=f"{where}, line {line}")  # fmt: skip
    return {name: [row[i] for row in rows[1:]] for i, name in enumerate(names)}


def analyse_file(path: Path, declared: Declared, *, seed: int = 1) -> dict[str, Any]:
    """Return the analysis of a data file in the JSON shape of `trial`.

    Args:
        path: the CSV; declared: layout and columns; seed: of the lot's re-runs.

    Raises:
        RefusedInput: the file cannot be read. BadInput: it does not fit the declaration.
    """
    started = stopwatch()
    table = read_table(path)
    # Small matrices on many threads are slower than on one.
    with threadpool_limits(1):
        found = analyse(table, declared, seed=seed)
    return as_dict(found, declared, name=path.name) | {
        "made_by": {
            "program": f"greenwright {__version__}",
            "program_version": __version__,
            "model": MODEL,
            "seed": seed,
            "seconds": round(stopwatch() - started, 3),
        }
    }


def as_dict(found: Analysis, declared: Declared, *, name: str) -> dict[str, Any]:
    """Return an analysis as plain JSON values."""
    unit = declared.unit
    return {
        "question": "trial",
        "trial": {
            "name": name,
            "layout": declared.layout,
            "response": f"log({declared.response})" if declared.log else declared.response,
            "unit": unit,
            "roles": {k: list(v) for k, v in declared.roles.items() if v},
            "baseline": list(declared.baseline),
            "method": found.method,
            "how": found.how,
            "rows": found.rows,
            "used": found.used,
            "missing_lines": list(found.missing),
            "detectable": found.detectable,
        },
        "findings": [term_row(t, found, unit) for t in found.terms],
        "means": [mean_row(m, unit) for m in found.means],
        "contrasts": [contrast_row(c, unit) for c in found.contrasts],
        "strata": [
            {"stratum": s, "df": df, "ss": ss, "F": f} for s, df, ss, f in found.blocks
        ],
        "variances": found.variances,
        "aliased": list(found.aliased),
        "checks": [{"check": c.key, "holds": c.holds, "text": c.sentence} for c in found.checks],
        "cautions": [
            {"kind": "data", "text": c.sentence} for c in found.checks if c.holds is False
        ]
        + [{"kind": "confounding", "text": text} for text in found.aliased],
        "choices": [],
        "gaps": gap_rows(found),
        "sources": [],
    }  # fmt: skip


def term_row(one: TermFound, found: Analysis, unit: str) -> dict[str, Any]:
    """Return one finding; its estimate is the difference where there are two levels."""
    own = [c for c in found.contrasts if c.term == one.term]
    return {
        "term": one.term,
        "stratum": one.stratum,
        "df": one.df,
        "df_error": one.df_error,
        "ss": one.ss,
        "F": one.f,
        "p": one.p,
        "p_lot": one.p_lot,
        "lot_ways": one.ways,
        "lot_exact": one.lot_exact if one.p_lot is not None else None,
        "estimate": estimate_row(own[0], found.used, unit) if len(own) == 1 else None,
        "verdict": one.verdict,
        "reason": one.sentence,
    }


def estimate_row(one: ContrastFound, n: int, unit: str) -> dict[str, Any]:
    """Return a difference in the shape of an estimate."""
    return {
        "value": one.value,
        "unit": unit,
        "sd": one.se,
        "low": one.low,
        "high": one.high,
        "level": one.level,
        "n": n,
        "basis": "readings",
    }


def mean_row(one: MeanFound, unit: str) -> dict[str, Any]:
    """Return one mean; what cannot be told is null."""
    held = {"value": one.value, "se": one.se, "df": one.df, "low": one.low, "high": one.high}
    told = {k: v if math.isfinite(v) else None for k, v in held.items()}
    return {"term": one.term, "level": one.label, "n": one.n, "unit": unit, **told}


def contrast_row(one: ContrastFound, unit: str) -> dict[str, Any]:
    """Return one difference."""
    made = {
        "term": one.term,
        "first": one.first,
        "second": one.second,
        "value": one.value,
        "se": one.se,
        "df": one.df,
        "low": one.low,
        "high": one.high,
        "level": one.level,
        "p": one.p,
        "p_adjusted": one.p_adjusted,
        "adjusted": one.method,
        "unit": unit,
    }
    if one.alike is not None:
        made |= {"alike": one.alike, "no_worse": one.no_worse}
    return made


def gap_rows(found: Analysis) -> list[Mapping[str, Any]]:
    """Return what the trial cannot tell, and what would."""
    unsure = [t.term for t in found.terms if t.verdict == "cannot tell" and ":" not in t.term]
    if not unsure:
        return []
    size = f" {found.detectable:.3g} or more" if found.detectable else ""
    text = (f"Whether {', '.join(unsure)} makes a difference: a trial just as large would see"
            f"{size} four times in five.")  # fmt: skip
    return [{"about": "trial", "text": text, "why": "more blocks or greens narrow it",
             "reading": None}]  # fmt: skip


def script_of(path_name: str, declared: Declared) -> str:
    """Return a Python file that makes the same analysis from the same data."""
    roles = {k: tuple(v) for k, v in declared.roles.items() if v}
    return f'''"""Analyses {path_name} as it was laid out; run beside the data file."""

from pathlib import Path

from greenwright.desk.trialfile import analyse_file
from greenwright.verify.declared import Declared

declared = Declared(
    {declared.layout!r},
    {declared.response!r},
    {roles!r},
    baseline={declared.baseline!r},
    trend={declared.trend!r},
    order={declared.order!r},
    log={declared.log!r},
    control={declared.control!r},
    margin={declared.margin!r},
    unit={declared.unit!r},
)
answer = analyse_file(Path(__file__).with_name({path_name!r}), declared)
for row in answer["findings"]:
    print(row["reason"])
for row in answer["contrasts"]:
    print(row["first"], "-", row["second"], row["value"], row["low"], row["high"])
'''


ROLES_OF = {
    "crossover": {"units": "green", "periods": "period", "treatments": "treatment"},
    "stepped-wedge": {"units": "green", "periods": "period", "treated": "treatment"},
    "half-greens": {"units": "green", "treatments": "treatment"},
    "completely-randomised": {"treatments": "treatment"},
    "before-after": {"units": "green", "group": "treatment", "phase": "phase"},
}
"""Layout of a trial over greens -> the columns of its exported data."""


def export_trial(answer: Answer, folder: Path) -> tuple[Path, Path]:
    """Write a trial's data as CSV and a Python file that analyses it; return their paths.

    Args:
        answer: of the question trial.
        folder: made where it is missing.
    """
    trial, plan = answer.more["trial"], answer.more["plan"]
    name = "".join(c if c.isalnum() else "-" for c in trial["name"] or "trial").strip("-")
    folder.mkdir(parents=True, exist_ok=True)
    data, script = folder / f"{name}.csv", folder / f"{name}.py"
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(plan[0])
    writer.writerows(["" if cell is None else cell for cell in row.values()] for row in plan)
    data.write_text(out.getvalue(), encoding="utf-8", newline="")
    roles = ROLES_OF[trial["layout"]]
    declared = declared_of(
        trial["layout"], "value", roles, control=trial["treatments"][0], unit=trial["unit"]
    )
    script.write_text(script_of(data.name, declared), encoding="utf-8")
    return data, script


def declared_of(layout: str, response: str, roles: Mapping[str, str], **more: Any) -> Declared:
    """Return a declaration from comma lists as typed.

    Raises:
        BadInput: no response.
    """
    if not response.strip():
        raise BadInput("which column holds the readings?", where="--response")
    split = {k: _names(v) for k, v in roles.items() if v}
    for name in ("baseline", "trend"):
        more[name] = _names(more.get(name) or "")
    return Declared(layout, response.strip(), split, **more)


def _names(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())
