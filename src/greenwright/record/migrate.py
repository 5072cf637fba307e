"""Brings the tables of a store to the present version, by named steps that never change."""

from __future__ import annotations

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection


def upgrade(conn: Connection) -> None:
    """Run the missing steps inside the transaction of conn: all of them, or none."""
    config = Config()
    config.set_main_option("script_location", "greenwright.record:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = conn
    command.upgrade(config, "head")
