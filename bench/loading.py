"""Loading readings, against the csv module and a plain Core insert of the same file."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

from sqlalchemy import Column, MetaData, String, Table, create_engine, event, insert

from bench.timing import Row, seconds

ROWS = 100_000
FIRST = date(2023, 3, 1)
HEADER = [
    *("date", "time", "green", "station", "kind", "value", "unit"),
    *("n", "direction", "set", "instrument", "observer"),
]


def write_readings(path: Path, rows: int = ROWS) -> None:
    """Write rolls of 18 greens, six a set, one set a green and day, as a course would."""
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(HEADER)
        for i in range(rows):
            roll, green, day = i % 6, i // 6 % 18, i // 108
            metres = f"{2.5 + 0.01 * ((i * 7919) % 60):.2f}"
            when = (FIRST + timedelta(days=day)).isoformat()
            side = "a" if roll < 3 else "b"
            head = [when, f"06:{30 + green:02d}", str(green + 1), "C", "roll_distance", metres]
            out.writerow(
                [*head, "m", "1", side, f"s{day}-{green}", "ramp-1", ("ana", "ben")[day % 2]]
            )


def plain_insert(readings: Path, store: Path) -> None:
    """Read the file with csv and insert it as it is, durable as a record must be."""
    engine = create_engine(f"sqlite:///{store}")
    event.listen(engine, "connect", _durable)
    table = Table("reading", MetaData(), *(Column(name, String) for name in HEADER))
    with engine.begin() as connection:
        table.create(connection)
        with readings.open(encoding="utf-8", newline="") as file:
            connection.execute(insert(table), list(csv.DictReader(file)))
    engine.dispose()


def _durable(connection: object, _record: object) -> None:
    for setting in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
        connection.execute(f"PRAGMA {setting}")  # type: ignore[attr-defined]


def load_record(folder: Path, store: Path) -> None:
    """Load the folder the way the command does."""
    from greenwright.desk import books

    with books.open_book(store, create=True) as book:
        books.load_paths(book, [folder], who="bench", on=date(2026, 6, 12))


def rows(work: Path) -> list[Row]:
    """Return the rate of a load as a share of the plain insert's, over alternating runs."""
    folder = work / "record"
    folder.mkdir()
    (folder / "course.csv").write_text("course,name\nfen,Fen\n", "utf-8")
    greens = "".join(f"{i},A,450,creeping bentgrass,sand,yes,{i}\n" for i in range(1, 19))
    (folder / "greens.csv").write_text(
        f"green,group,area_m2,grass,rootzone,in_play,order\n{greens}", "utf-8"
    )
    write_readings(folder / "readings.csv")
    peer, ours = [], []
    for run in range(3):
        peer.append(seconds(lambda r=run: plain_insert(folder / "readings.csv", work / f"p{r}.db")))
        ours.append(seconds(lambda r=run: load_record(folder, work / f"o{r}.db")))
    share = sorted(p / o for p, o in zip(peer, ours, strict=True))[1]
    beside = f"ours {sorted(ours)[1]:.2f} s, csv + Core {sorted(peer)[1]:.2f} s"
    return [
        Row(f"load of {ROWS:,} readings, rate over plain insert", share, "x", 0.3, False, beside)
    ]
