# SPDX-License-Identifier: MIT
"""Connections to SQLite and PostgreSQL, as a record needs them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import QueuePool

from middlecut.errors import InputError, StoreError

__all__ = ["BUSY_SECONDS", "postgres_engine", "sqlite_engine", "url_of"]

BUSY_SECONDS = 10
"""How long to wait for another process that is writing."""


def url_of(place: str | Path) -> URL | None:
    """Return the address of a PostgreSQL record; None when the place is a file.

    Raises
    ------
    InputError
        If it is an address, but none of PostgreSQL.
    """
    text = str(place)
    if "://" not in text:
        return None
    try:
        url = make_url(text)
    except ArgumentError:
        raise InputError("record", "…", "that is no address of a database", _REMEDY) from None
    if url.get_backend_name() not in {"postgresql", "postgres"}:
        raise InputError(
            "record", url.get_backend_name(), "a record is a file or in PostgreSQL", _REMEDY
        )
    return url.set(drivername="postgresql+psycopg")


_REMEDY = "Give a file name, or postgresql://USER@HOST/DATABASE."


def sqlite_engine(path: Path, *, writer: bool) -> Engine:
    """Return an engine on a SQLite file.

    The writer has one connection and begins every transaction with BEGIN IMMEDIATE: it waits for
    its turn at the start, where waiting is harmless, and what it read then still holds when it
    writes. Readers have their own connections that cannot write.

    Parameters
    ----------
    path : pathlib.Path
    writer : bool

    Returns
    -------
    engine : sqlalchemy.Engine
    """
    engine = create_engine(
        URL.create("sqlite+pysqlite", database=str(path)),
        poolclass=QueuePool,
        pool_size=1 if writer else 4,
        max_overflow=0 if writer else 20,
        connect_args={"timeout": BUSY_SECONDS, "check_same_thread": False},
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # we say BEGIN ourselves
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
        cursor.execute("PRAGMA foreign_keys = ON")
        if writer:
            cursor.execute("PRAGMA journal_mode = WAL")
            cursor.execute("PRAGMA synchronous = FULL")
        else:
            cursor.execute("PRAGMA query_only = ON")
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Any) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writer else "BEGIN")

    return engine


def postgres_engine(url: URL) -> Engine:
    """Return an engine on a PostgreSQL database.

    Raises
    ------
    StoreError
        If the driver is not installed.
    """
    try:
        return create_engine(url, pool_pre_ping=True)
    except (ImportError, NoSuchModuleError):
        raise StoreError(
            "A record in PostgreSQL needs the driver: pip install 'middlecut[postgres]'."
        ) from None
