"""The record: revisions and current rows of every file, changes, loads, refusals, answers."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from greenwright.record import sqlite

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# The columns of the record's files as they were when this step was released, column:form.
FILES = {
    "course": """
        course:text name:text latitude:real longitude:real elevation_m:real timezone:text
        display_units:text speed_units:text currency:text jurisdiction:text setting:text
        entered_at:datetime note:text
    """,
    "greens": """
        green:text group:text area_m2:real grass:text rootzone:text in_play:yesno order:integer
        latitude:real longitude:real shade:text entered_at:datetime note:text
    """,
    "stations": """
        green:text station:text slope_pct:real x_m:real y_m:real entered_at:datetime note:text
    """,
    "readings": """
        date:date time:time green:text station:text part:text kind:text value:real unit:text
        n:integer direction:text pass_:text set:text roll_length_m:real hole_m:real
        depth_mm:real surface:text method:text instrument:text observer:text entered_at:datetime
        note:text given:text given_unit:text
    """,
    "work": """
        date:date time:time status:text green:text part:text practice:text amount:real unit:text
        passes:real material:text depth_mm:real diameter_mm:real spacing_mm:real
        spacing2_mm:real carrier_l_ha:real target:text machine:text operator:text licence:text
        labour_h:real cost:real detail:text entered_at:datetime note:text given:text
        given_unit:text
    """,
    "weather": """
        date:date kind:text issued:date t_min_c:real t_max_c:real t_mean_c:real rain_mm:real
        rh_mean_pct:real rh_min_pct:real rh_max_pct:real rh90_h:real leaf_wet_h:real
        wind_m_s:real wind_height_m:real solar_mj_m2:real sunshine_h:real station:text
        entered_at:datetime note:text
    """,
    "lab": """
        date:date green:text medium:text depth_cm:real extractant:text analyte:text value:real
        unit:text laboratory:text entered_at:datetime note:text
    """,
    "materials": """
        material:text form:text n_pct:real n_urea_pct:real n_ammonium_pct:real
        n_nitrate_pct:real p2o5_pct:real k2o_pct:real ca_pct:real mg_pct:real s_pct:real
        fe_pct:real mn_pct:real cl_pct:real na_pct:real density_kg_l:real price:real
        price_unit:text pack:real stock:real caco3_equivalent:real salt_index:real active:text
        half_life_gdd:real max_rate:real max_rate_unit:text max_per_year:real
        min_interval_d:real reentry_h:real registration:text entered_at:datetime note:text
    """,
    "rounds": """
        date:date rounds:real entered_at:datetime note:text
    """,
    "feedback": """
        date:date topic:text count:integer green:text asked:yesno n_asked:integer
        entered_at:datetime note:text
    """,
    "putts": """
        date:date green:text distance_m:real player:text tried:integer made:integer
        entered_at:datetime note:text
    """,
    "calendar": """
        start:date end:date name:text kind:text weight:real rounds:real entered_at:datetime
        note:text
    """,
    "targets": """
        from_:date until:date quantity:text green:text method:text low:real high:real unit:text
        weight:real entered_at:datetime note:text
    """,
    "crew": """
        practice:text group:text minutes:real people:real machine:text count:integer
        cost_per_h:real entered_at:datetime note:text
    """,
    "limits": """
        limit:text green:text weekday:text from_:date until:date value:real unit:text
        entered_at:datetime note:text
    """,
}

BY_DATE = ("readings", "work", "weather", "rounds", "feedback")

KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
REAL = sa.Double().with_variant(sa.REAL(), "sqlite")
FORMS = {"real": REAL, "integer": sa.Integer(), "yesno": sa.Integer()}


def upgrade() -> None:
    """Make every table, its indexes and the triggers that keep it append-only."""
    _change_tables()
    for name, columns in FILES.items():
        _revision_table(name, columns.split())
        _current_table(name)
    _answer_table()
    _seal_table()
    kept = [f"{name}_revision" for name in FILES]
    for table in (*kept, "change", "load_file", "refusal", "answer"):
        for statement in sqlite.append_only_ddl(table):
            op.execute(sa.text(statement))
    sqlite.mark_as_record(op.get_bind())


def downgrade() -> None:
    """Refuse: a record is never thrown away by a change of version."""
    raise NotImplementedError("restore a backup of the earlier version instead")


def _make(name: str, *parts: object, by_key: bool = False) -> None:
    op.create_table(name, *parts, sqlite_strict=True, sqlite_with_rowid=not by_key)


def _text(*names: str) -> list[sa.Column]:
    return [sa.Column(name, sa.Text(), nullable=False) for name in names]


def _integer(*names: str) -> list[sa.Column]:
    return [sa.Column(name, sa.Integer(), nullable=False) for name in names]


def _change_id(table: str) -> list[sa.schema.SchemaItem]:
    link = f"fk_{table}_change_id"
    return [
        sa.Column("change_id", KEY, nullable=False),
        sa.ForeignKeyConstraint(["change_id"], ["change.id"], name=link),
    ]


def _change_tables() -> None:
    said = ("course_key", "kind", "who", "why", "today", "recorded_at", "ignored")
    _make("change", sa.Column("id", KEY), *_text(*said), _primary("change", "id"))
    _make(
        "load_file",
        *_change_id("load_file"),
        *_integer("position"),
        *_text("file", "source", "sha256", "unknown_columns"),
        *_integer("read", "kept", "refused", "new", "same", "revised"),
        _primary("load_file", "change_id", "position"),
    )
    _make(
        "refusal",
        *_change_id("refusal"),
        *_integer("position"),
        *_text("file"),
        *_integer("row_number"),
        *_text("column_name", "value", "why", "do_next"),
        _primary("refusal", "change_id", "position"),
    )


def _primary(table: str, *columns: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(*columns, name=f"pk_{table}")


def _revision_table(name: str, columns: list[str]) -> None:
    table = f"{name}_revision"
    cells = [tuple(column.split(":")) for column in columns]
    _make(
        table,
        sa.Column("seq", KEY),
        *_text("course_key", "row_id"),
        *_integer("ordinal", "own_id", "number"),
        *_text("known"),
        *_integer("void"),
        *_change_id(table),
        *_text("digest"),
        *(sa.Column(n, FORMS.get(f, sa.Text()), nullable=f != "text") for n, f in cells),
        sa.Column("other", sa.Text()),
        _primary(table, "seq"),
        sa.UniqueConstraint(
            "course_key", "row_id", "number", name=f"uq_{table}_course_key_row_id_number"
        ),
    )
    if name in BY_DATE:
        op.create_index(f"ix_{table}_course_key_date", table, ["course_key", "date"])


def _current_table(name: str) -> None:
    table = f"{name}_current"
    _make(
        table,
        *_text("course_key", "row_id"),
        sa.Column("seq", KEY, nullable=False),
        *_integer("number"),
        *_text("known_first", "known_last"),
        *_integer("void"),
        _primary(table, "course_key", "row_id"),
        by_key=True,
    )


def _answer_table() -> None:
    key = ("course_key", "question", "as_of", "digest")
    _make(
        "answer",
        sa.Column("id", KEY),
        *_text("course_key", "question", "as_of", "made_at", "version", "digest", "content"),
        _primary("answer", "id"),
        sa.UniqueConstraint(*key, name=f"uq_answer_{'_'.join(key)}"),
    )


def _seal_table() -> None:
    _make(
        "seal",
        sa.Column("id", KEY),
        *_text("schema_version"),
        *_integer("row_count"),
        *_text("digest"),
        _primary("seal", "id"),
    )
