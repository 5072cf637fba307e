"""How far a record reaches: the same as counting the rows of the snapshot."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import pytest

from greenwright import record
from greenwright.base.errors import CannotAnswer
from tests.record.made import DAY, NOW, course, load, parsed, roll

HEIGHT = {"kind": "height_of_cut", "unit": "mm", "value": 3.5, "given": "3.5"}


def counted(store: record.Store, on: date) -> record.Extent:
    """The same from the whole snapshot, counted by hand."""
    seen = record.snapshot(store, None, on=on)
    greens = {g.green for g in seen.greens}
    last: dict[tuple[str, str, bool], date] = {}
    for r in seen.readings:
        if r.green in greens:
            key = r.kind, r.method, bool(r.n)
            last[key] = max(r.date, last.get(key, r.date))
    return record.Extent(
        readings=len(seen.readings),
        work_done=sum(w.status == "done" for w in seen.work),
        last_reading=max((r.date for r in seen.readings), default=None),
        last_read=last,
    )


def filled(store: record.Store) -> None:
    days = [date(2026, 5, 1), date(2026, 6, 1), date(2026, 6, 4)]
    hops = {"kind": "hops", "unit": "count", "value": 2.0, "given": "2"}
    load(
        store,
        parsed("greens", {"green": "1"}, {"green": "2"}),
        parsed(
            "readings",
            *(roll(date=d) for d in days),
            *(roll(date=d, green="2", n=3, **hops) for d in days[:2]),
            roll(date=days[0], **hops),
            roll(date=days[1], method="bench", **HEIGHT),
            roll(date=days[0], method="effective", **HEIGHT),
            roll(date=days[2], green="old"),
        ),
        parsed(
            "work",
            *({"date": d, "green": "1", "practice": "mow"} for d in days),
            {"date": days[0], "green": "1", "practice": "roll", "status": "declined"},
        ),
    )


def test_counts_and_last_days_by_hand(store: record.Store) -> None:
    filled(store)
    found = record.extent(store, None, on=DAY)
    assert (found.readings, found.work_done, found.last_reading) == (9, 3, date(2026, 6, 4))
    assert found.last_read == {
        ("roll_distance", "", False): date(2026, 6, 4),
        ("hops", "", True): date(2026, 6, 1),
        ("hops", "", False): date(2026, 5, 1),
        ("height_of_cut", "bench", False): date(2026, 6, 1),
        ("height_of_cut", "effective", False): date(2026, 5, 1),
    }


@pytest.mark.parametrize("ago", [0, 1, 4, 20, 35, 40])
def test_it_agrees_with_the_snapshot_of_any_day(store: record.Store, ago: int) -> None:
    filled(store)
    on = DAY - timedelta(days=ago)
    assert record.extent(store, None, on=on) == counted(store, on)


def test_corrections_and_withdrawals_count_from_their_day(store: record.Store) -> None:
    filled(store)
    rows = record.snapshot(store, None, on=DAY).readings
    last = max((r for r in rows if r.green == "1"), key=lambda r: r.date)
    first = min((r for r in rows if r.kind == "roll_distance"), key=lambda r: r.date)
    later = DAY + timedelta(days=3)
    who = {"course": None, "who": "ana", "why": "slip", "today": later, "now": NOW}
    record.withdraw(store, "readings", last.id, **who)
    record.correct(store, "readings", first.id, {"method": "ramp"}, **who)
    for on in (DAY, later):
        assert record.extent(store, None, on=on) == counted(store, on)
    before, after = (record.extent(store, None, on=on) for on in (DAY, later))
    assert before.readings == after.readings + 1
    assert ("roll_distance", "ramp", False) in after.last_read
    assert ("roll_distance", "ramp", False) not in before.last_read


def test_an_empty_course_reaches_nowhere(store: record.Store) -> None:
    assert record.extent(store, None, on=DAY) == record.Extent(0, 0, None, {})


def test_courses_are_apart(store: record.Store) -> None:
    filled(store)
    load(store, course("otter"))
    assert record.extent(store, "otter", on=DAY).readings == 0
    assert record.extent(store, "heron", on=DAY).readings == 9
    with pytest.raises(CannotAnswer, match="several"):
        record.extent(store, None, on=DAY)


def test_opening_an_up_to_date_record_loads_neither_migrations_nor_units(path: Path) -> None:
    record.open_store(path, create=True).close()
    code = (
        "import sys; from pathlib import Path; from greenwright import record; "
        f"record.open_store(Path({str(path)!r})).close(); print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "sqlalchemy" in done.stdout.split()
    assert not {"alembic", "pint", "numpy"} & set(done.stdout.split())
