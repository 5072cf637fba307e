"""The tables of the store, made from the specification of the record's files."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sqlalchemy import (
    REAL,
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

from greenwright.base.tables import record_files
from greenwright.record.layout import Layout, layout

NAMES = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
).naming_convention

Key = BigInteger().with_variant(Integer(), "sqlite")
Real = Double().with_variant(REAL(), "sqlite")
TYPES = {
    "text": Text(),
    "real": Real,
    "integer": Integer(),
    "yesno": Integer(),
    "date": Text(),
    "time": Text(),
    "datetime": Text(),
}
"""Written form -> column type."""

BOOK = (
    "seq",
    "course_key",
    "row_id",
    "ordinal",
    "own_id",
    "number",
    "known",
    "void",
    "change_id",
    "digest",
)
"""What the store notes of a revision beside the row itself."""

BY_DATE = ("readings", "work", "weather", "rounds", "feedback")
"""Files that a question reads from a day on."""


@dataclass(frozen=True, slots=True)
class Tables:
    """Every table: rows by file, changes, loads, refusals, answers and forecasts as given."""

    metadata: MetaData
    revision: dict[str, Table]
    current: dict[str, Table]
    change: Table
    load_file: Table
    refusal: Table
    answer: Table
    seal: Table
    forecast: Table

    @property
    def append_only(self) -> tuple[Table, ...]:
        """Tables whose rows are never changed nor removed."""
        noted = (self.change, self.load_file, self.refusal, self.answer, self.forecast)
        return (*self.revision.values(), *noted)


@lru_cache(maxsize=1)
def tables() -> Tables:
    """Return the tables that the code works with; the migrations must make the same."""
    meta = MetaData(naming_convention=NAMES)
    change = _change(meta)
    shapes = [layout(name) for name in record_files()]
    return Tables(
        meta,
        {s.name: _revision(meta, s) for s in shapes},
        {s.name: _current(meta, s.name) for s in shapes},
        change,
        _load_file(meta),
        _refusal(meta),
        _answer(meta),
        _seal(meta),
        _forecast(meta),
    )


def _table(meta: MetaData, name: str, *parts: object, by_key: bool = False) -> Table:
    options = {"sqlite_strict": True, "sqlite_with_rowid": not by_key}
    return Table(name, meta, *parts, **options)  # type: ignore[arg-type]


def _text(name: str, *, key: bool = False) -> Column:
    return Column(name, Text(), primary_key=key, nullable=False)


def _int(name: str) -> Column:
    return Column(name, Integer(), nullable=False)


def _change_id(*, key: bool = False) -> Column:
    return Column("change_id", Key, ForeignKey("change.id"), primary_key=key, nullable=False)


def _revision(meta: MetaData, shape: Layout) -> Table:
    book = [
        Column("seq", Key, primary_key=True),
        *(_text(n) for n in ("course_key", "row_id")),
        *(_int(n) for n in ("ordinal", "own_id", "number")),
        _text("known"),
        _int("void"),
        _change_id(),
        _text("digest"),
    ]
    cells = [Column(f.name, TYPES[f.form], nullable=f.form != "text") for f in shape.fields]
    name = f"{shape.name}_revision"
    made = _table(meta, name, *book, *cells, Column("other", Text()))
    made.append_constraint(UniqueConstraint("course_key", "row_id", "number"))
    if shape.name in BY_DATE:
        Index(None, made.c.course_key, made.c.date)
    return made


def _current(meta: MetaData, name: str) -> Table:
    return _table(
        meta,
        f"{name}_current",
        _text("course_key", key=True),
        _text("row_id", key=True),
        Column("seq", Key, nullable=False),
        _int("number"),
        _text("known_first"),
        _text("known_last"),
        _int("void"),
        by_key=True,
    )


def _change(meta: MetaData) -> Table:
    names = ("course_key", "kind", "who", "why", "today", "recorded_at", "ignored")
    return _table(meta, "change", Column("id", Key, primary_key=True), *(_text(n) for n in names))


def _load_file(meta: MetaData) -> Table:
    counts = ("read", "kept", "refused", "new", "same", "revised")
    return _table(
        meta,
        "load_file",
        _change_id(key=True),
        Column("position", Integer(), primary_key=True),
        *(_text(n) for n in ("file", "source", "sha256", "unknown_columns")),
        *(_int(n) for n in counts),
    )


def _refusal(meta: MetaData) -> Table:
    return _table(
        meta,
        "refusal",
        _change_id(key=True),
        Column("position", Integer(), primary_key=True),
        _text("file"),
        _int("row_number"),
        *(_text(n) for n in ("column_name", "value", "why", "do_next")),
    )


def _answer(meta: MetaData) -> Table:
    names = ("course_key", "question", "as_of", "made_at", "version", "digest", "content")
    return _table(
        meta,
        "answer",
        Column("id", Key, primary_key=True),
        *(_text(n) for n in names),
        UniqueConstraint("course_key", "question", "as_of", "digest"),
    )


def _seal(meta: MetaData) -> Table:
    return _table(
        meta,
        "seal",
        Column("id", Key, primary_key=True),
        _text("schema_version"),
        _int("row_count"),
        _text("digest"),
    )


def _forecast(meta: MetaData) -> Table:
    which = ("course_key", "made_on", "green", "quantity", "method", "model")
    return _table(
        meta,
        "forecast",
        Column("id", Key, primary_key=True),
        *(_text(n) for n in which),
        _int("number"),
        *(_text(n) for n in ("made_at", "unit", "digest", "content")),
        UniqueConstraint(*which, "number"),
    )
