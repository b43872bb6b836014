# SPDX-License-Identifier: MIT
"""The first shape: events that nobody can change or delete, and documents."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

__all__ = ["down_revision", "revision", "upgrade"]

revision = "0001"
down_revision: str | None = None
branch_labels = None
depends_on = None

_REFUSAL = "the record is append-only"


def upgrade() -> None:
    """Make the tables and what guards them."""
    op.create_table(
        "events",
        sa.Column("sequence", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("stream", sa.String(300), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("type", sa.String(60), nullable=False),
        sa.Column("schema", sa.SmallInteger, nullable=False),
        sa.Column("utc", sa.String(27), nullable=False),
        sa.Column("entered_utc", sa.String(27), nullable=False),
        sa.Column("synced_utc", sa.String(27), nullable=False),
        sa.Column("actor", sa.String(200), nullable=False),
        sa.Column("device", sa.String(200), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("part", sa.SmallInteger, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.UniqueConstraint("stream", "version", name="uq_events_stream_version"),
        sa.UniqueConstraint("key", "part", name="uq_events_key_part"),
        sa.UniqueConstraint("id", name="uq_events_id"),
    )
    op.create_index("ix_events_type", "events", ["type"])
    op.create_table(
        "documents",
        sa.Column("name", sa.String(60), primary_key=True),
        sa.Column("key", sa.String(300), primary_key=True),
        sa.Column("content", sa.Text, nullable=False),
    )
    guard = _guard_sqlite if op.get_bind().dialect.name == "sqlite" else _guard_postgres
    guard()


def _guard_sqlite() -> None:
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER events_no_{verb.lower()} BEFORE {verb} ON events "
            f"BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END"
        )


def _guard_postgres() -> None:
    op.execute(
        "CREATE FUNCTION middlecut_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{_REFUSAL}'; END $$"
    )
    op.execute(
        "CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON events "
        "FOR EACH STATEMENT EXECUTE FUNCTION middlecut_refuse()"
    )
