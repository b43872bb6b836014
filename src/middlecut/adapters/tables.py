# SPDX-License-Identifier: MIT
"""The tables of a record in SQL, as the newest migration leaves them."""

from __future__ import annotations

from sqlalchemy import (
    Column,
    Index,
    Integer,
    MetaData,
    SmallInteger,
    String,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = ["DOCUMENTS", "EVENTS", "METADATA"]

METADATA = MetaData()

EVENTS = Table(
    "events",
    METADATA,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("stream", String(300), nullable=False),
    Column("version", Integer, nullable=False),
    Column("id", String(64), nullable=False),
    Column("type", String(60), nullable=False),
    Column("schema", SmallInteger, nullable=False),
    Column("utc", String(27), nullable=False),
    Column("entered_utc", String(27), nullable=False),
    Column("synced_utc", String(27), nullable=False),
    Column("actor", String(200), nullable=False),
    Column("device", String(200), nullable=False),
    Column("key", String(200), nullable=False),
    Column("part", SmallInteger, nullable=False),
    Column("payload", Text, nullable=False),
    Column("digest", String(64), nullable=False),
    UniqueConstraint("stream", "version", name="uq_events_stream_version"),
    UniqueConstraint("key", "part", name="uq_events_key_part"),
    UniqueConstraint("id", name="uq_events_id"),
    Index("ix_events_type", "type"),
)
"""The record itself: rows are added, never changed or deleted; triggers see to it."""

DOCUMENTS = Table(
    "documents",
    METADATA,
    Column("name", String(60), primary_key=True),
    Column("key", String(300), primary_key=True),
    Column("content", Text, nullable=False),
)
"""Projections: can be computed again from the events at any time."""
