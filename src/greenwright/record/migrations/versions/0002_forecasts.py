"""Forecasts, kept on the day they are given so that they can be judged."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from greenwright.record import sqlite

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
WHICH = ("course_key", "made_on", "green", "quantity", "method", "model")


def upgrade() -> None:
    """Make the table and the triggers that keep it append-only."""
    named = "_".join((*WHICH, "number"))
    op.create_table(
        "forecast",
        sa.Column("id", KEY),
        *(_text(name) for name in WHICH),
        sa.Column("number", sa.Integer(), nullable=False),
        *(_text(name) for name in ("made_at", "unit", "digest", "content")),
        sa.PrimaryKeyConstraint("id", name="pk_forecast"),
        sa.UniqueConstraint(*WHICH, "number", name=f"uq_forecast_{named}"),
        sqlite_strict=True,
    )
    for statement in sqlite.append_only_ddl("forecast"):
        op.execute(sa.text(statement))


def downgrade() -> None:
    """Refuse: a record is never thrown away by a change of version."""
    raise NotImplementedError("restore a backup of the earlier version instead")


def _text(name: str) -> sa.Column:
    return sa.Column(name, sa.Text(), nullable=False)
