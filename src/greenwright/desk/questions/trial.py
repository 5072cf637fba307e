"""Which of the two is better? A comparison laid out by lot, followed, and analysed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from threadpoolctl import threadpool_limits

from greenwright.base.answer import Answer, plain
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.evidence import value
from greenwright.base.tables import kinds
from greenwright.base.values import Snapshot
from greenwright.desk import cautions, clock
from greenwright.desk.answering import Made, Progress, Row, finish, require_greens, silent
from greenwright.desk.looking import day_of
from greenwright.desk.trialfile import contrast_row, gap_rows, mean_row, term_row
from greenwright.desk.trials import (
    Wanted,
    dated,
    gathered,
    plan_of,
    spread,
    wanted,
    washout,
)
from greenwright.record import Store, keep_answer, kept_answers, snapshot
from greenwright.verify.analyse import analyse
from greenwright.verify.declared import Declared
from greenwright.verify.designing import Plan
from greenwright.verify.found import Analysis
from greenwright.verify.power import Foresight, foresee

MODEL = "trial 1 (by lot; strata, else REML with Kenward and Roger's freedom)"
KEPT = ("layout", "treatments", "greens", "never", "seed", "periods", "kind", "from", "days",
        "difference", "sd")  # fmt: skip
"""Options that lay a trial out: a kept trial is asked for by its name alone."""
RUNS = 2_000


def answer(
    store: Store,
    *,
    on: date,
    course: str | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Answer:
    """Return a trial: its plan and what it can tell, what was read, and what it found.

    A trial that is given a name is kept in the record; asked for by that name alone it is told
    how far it is and, once it is complete, what it found.

    Args:
        store, on, course, progress: as in the question today.
        options: name, layout, treatments, greens, never (comma lists), kind, from, days, periods,
            seed, difference, sd.

    Raises:
        CannotAnswer: no green in play, or no sd to plan by. BadInput: what cannot be laid out.
    """
    started, tell = clock.stopwatch(), progress or silent
    tell("Reading the record", 0.0)
    record = snapshot(store, course, on=on)
    require_greens(record)
    found = _kept(store, record, options)
    one = wanted(record, found if found else options)
    if one.name and not found:
        _unlike(store, record, one)
    tell("Drawing the lot", 0.3)
    with threadpool_limits(1):
        made = _answer(record, one, kept=bool(found), tell=tell)
    told = finish("trial", record, made, started=started)
    if one.name and not found:
        keep_answer(store, told, course=record.course.course, now=clock.now())
    return told


def _kept(store: Store, record: Snapshot, options: Mapping[str, Any]) -> dict[str, Any]:
    """Return the options of the kept trial of that name (of the latest), or nothing."""
    name = str(options.get("name") or "").strip()
    if any(options.get(key) not in (None, "") for key in KEPT):
        return {}
    held = kept_trials(store, record)
    if not name:
        return held[list(held)[-1]] if held else {}
    if name not in held:
        raise BadInput(
            f"no trial named {name!r} is kept",
            where="name",
            expected=", ".join(held) or "none is kept yet",
            do="Lay it out first: name it together with its treatments",
        )
    return held[name]


def kept_trials(store: Store, record: Snapshot) -> dict[str, dict[str, Any]]:
    """Return name -> options of the trials kept in the record, the latest last."""
    held = {}
    for one in kept_answers(store, course=record.course.course, question="trial"):
        trial = one.answer.get("trial", {})
        if trial.get("name") and one.as_of <= record.as_of.isoformat():
            held.pop(trial["name"], None)
            held[trial["name"]] = dict(trial["asked"])
    return held


def _unlike(store: Store, record: Snapshot, one: Wanted) -> None:
    """Refuse to lay another trial out under a name that is kept.

    Raises:
        BadInput: the name is taken by a trial laid out otherwise.
    """
    old = kept_trials(store, record).get(one.name)
    if old is not None and old != plain(asked_of(one)):
        raise BadInput(
            f"a trial named {one.name!r} is kept already, laid out otherwise",
            where="name",
            expected="another name",
            do="Ask for it by its name alone, or choose another",
        )


def _answer(record: Snapshot, one: Wanted, *, kept: bool, tell: Progress) -> Made:
    plan = plan_of(one)
    sds, where, key = spread(record, one)
    difference = one.difference or _difference(one, sds)
    tell("Simulating the trial", 0.5)
    seen = foresee(plan, sd=sds, difference=difference, runs=RUNS)
    rows = gathered(record, dated(plan, one), one)
    found = _found(plan, rows, one)
    used = {"trial.washout_days", "trial.power", "trial.alpha"} | ({key} if key else set())
    if one.difference is None and one.kind in ("roll_distance", "green_speed"):
        used.add("trial.difference")
    return Made(
        model=MODEL,
        findings=tuple(_findings(found, seen, one)),
        choices=tuple(_crew(rows)),
        gaps=tuple(_gaps(rows, found, one)),
        cautions=(*_cautions(found, seen, plan), *cautions.safety()),
        used=frozenset(used),
        more=_more(one, plan, seen, rows, difference=difference) | _told(found, one) | {
            "state": _state(rows, found, kept=kept), "spread": {"sd": sds, "from": where},
        },
    )  # fmt: skip


def _difference(one: Wanted, sds: Mapping[str, float]) -> float:
    if one.kind in ("roll_distance", "green_speed"):
        return value("trial.difference")
    return 1.5 * max(sds["periods within greens"], 1e-9)


def _declared(plan: Plan, one: Wanted) -> Declared:
    """Return what the analysis is told; every way is held against the usual one."""
    unit = kinds()[one.kind].unit
    return Declared(plan.layout, "value", plan.roles, control=one.treatments[0], unit=unit)


def _found(plan: Plan, rows: Sequence[Row], one: Wanted) -> Analysis | None:
    """Return the analysis once every plot was read, else None."""
    if not all(row["read"] for row in rows):
        return None
    table = plan.table() | {"value": [repr(float(row["value"])) for row in rows]}
    try:
        return analyse(table, _declared(plan, one), seed=one.seed)
    except CannotAnswer:
        return None


def _findings(found: Analysis | None, seen: Foresight, one: Wanted) -> list[Row]:
    if found is None:
        return [
            {
                "term": seen.term,
                "stratum": seen.stratum,
                "df": seen.df,
                "df_error": seen.df_error,
                "ss": None,
                "F": None,
                "p": None,
                "estimate": None,
                "verdict": "cannot tell",
                "reason": "The trial is not complete: nothing is told before every plot was read.",
            }
        ]
    unit = kinds()[one.kind].unit
    return [term_row(t, found, unit) for t in found.terms]


def _told(found: Analysis | None, one: Wanted) -> dict[str, Any]:
    if found is None:
        return {"contrasts": (), "means": (), "checks": (), "aliased": ()}
    unit = kinds()[one.kind].unit
    return {
        "contrasts": [contrast_row(c, unit) for c in found.contrasts],
        "means": [mean_row(m, unit) for m in found.means],
        "checks": [{"check": c.key, "holds": c.holds, "text": c.sentence} for c in found.checks],
        "aliased": list(found.aliased),
    }


def _crew(rows: Sequence[Row]) -> list[Row]:
    """Return what the crew does: treatment by treatment, the greens of each period."""
    held: dict[tuple[date, date, str], list[str]] = {}
    for row in rows:
        if row.get("phase") == "before":
            continue
        where = row["green"] + (f" half {row['part']}" if row.get("part") else "")
        held.setdefault((row["from"], row["until"], row["treatment"]), []).append(where)
    return [
        {"date": first, "until": last, "treatment": way, "greens": greens}
        for (first, last, way), greens in sorted(held.items())
    ]


def _gaps(rows: Sequence[Row], found: Analysis | None, one: Wanted) -> list[Row]:
    missing = [row for row in rows if not row["read"]]
    if missing:
        first = missing[0]
        part = f" half {first['part']}" if first.get("part") else ""
        return [
            {
                "about": f"trial:{one.name}",
                "text": f"{len(missing)} of {len(rows)} plots have no reading yet; the next one is "
                f"green {first['green']}{part}, {first['from']} to {first['until']}.",
                "why": "every plot counts: one that is missing costs more than one reading",
                "reading": {"kind": one.kind, "n": 1, "green": first["green"]},
            }
        ]
    return list(gap_rows(found)) if found else []


def _cautions(found: Analysis | None, seen: Foresight, plan: Plan) -> list[Row]:
    told = []
    if seen.smallest_p is not None and seen.smallest_p > seen.alpha:
        told.append(f"By the lot alone p cannot go under {seen.smallest_p:.2f}, however large the "
                    f"difference: it could fall in only {seen.ways} ways.")  # fmt: skip
    if found is None and seen.power < value("trial.power"):
        told.append(f"This plan would see the difference asked for only {10 * seen.power:.0f} "
                    "times in ten: take more greens or periods, or expect to be left in "
                    "doubt.")  # fmt: skip
    if found is not None:
        told += [c.sentence for c in found.checks if c.holds is False]
    return [*cautions.data(told)]


def _state(rows: Sequence[Row], found: Analysis | None, *, kept: bool) -> Row:
    return {
        "read": sum(1 for row in rows if row["read"]),
        "plots": len(rows),
        "complete": all(row["read"] for row in rows),
        "analysed": found is not None,
        "kept": kept,
    }


def _more(
    one: Wanted, plan: Plan, seen: Foresight, rows: Sequence[Row], *, difference: float
) -> dict[str, Any]:
    return {
        "trial": {
            "name": one.name,
            "layout": one.layout,
            "seed": one.seed,
            "kind": one.kind,
            "unit": kinds()[one.kind].unit,
            "treatments": list(one.treatments),
            "greens": list(one.greens),
            "from": day_of("from", rows[0]["from"]),
            "until": max(row["until"] for row in rows),
            "washout_days": washout(one),
            "notes": list(plan.notes),
            "smallest_p": seen.smallest_p,
            "ways": seen.ways,
            "power": seen.power,
            "power_error": seen.error,
            "difference": difference,
            "detectable": seen.detectable,
            "alpha": seen.alpha,
            "asked": asked_of(one),
        },
        "plan": [dict(row) for row in rows],
    }


def asked_of(one: Wanted) -> dict[str, Any]:
    """Return the options that lay a trial out again."""
    return {
        "name": one.name, "layout": one.layout, "treatments": ",".join(one.treatments),
        "greens": ",".join(one.greens), "never": ",".join(one.never), "seed": one.seed,
        "periods": one.periods, "kind": one.kind, "from": one.start, "days": one.days,
        "difference": one.difference, "sd": one.sd,
    }  # fmt: skip
