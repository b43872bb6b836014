# SPDX-License-Identifier: MIT
"""Bring a record's tables to the newest shape when it is opened."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from middlecut.errors import StoreError

__all__ = ["NEWEST", "revision_of", "upgrade"]

NEWEST = "0001"
"""The revision this release works with; a test checks that it is the last of the migrations."""

MIGRATIONS = Path(__file__).resolve().parent / "migrations"


def revision_of(connection: Connection) -> str | None:
    """Return the revision a record is at; None for an empty database."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found) if found is not None else None


def upgrade(connection: Connection) -> bool:
    """Upgrade inside the transaction of ``connection``.

    Parameters
    ----------
    connection : sqlalchemy.Connection
        With a transaction that keeps other writers out.

    Returns
    -------
    changed : bool
        Whether there was anything to do.

    Raises
    ------
    StoreError
        If the record is of a newer release, or the database is something else.
    """
    current = revision_of(connection)
    if current == NEWEST:
        return False
    _refuse_strangers(connection, current)
    # Only now: importing Alembic takes as long as opening a record.
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    return True


def _refuse_strangers(connection: Connection, current: str | None) -> None:
    if current is None:
        tables = inspect(connection).get_table_names()
        if tables:
            raise StoreError(
                f"This database holds something else (a table {tables[0]!r}), no record of "
                "middlecut. Choose another place for the record."
            )
        return
    known = {path.name[1:5] for path in (MIGRATIONS / "versions").glob("r*.py")}
    if current not in known:
        raise StoreError(
            f"This record was written by a newer middlecut (shape {current}; this one knows "
            f"{NEWEST}). Use that release or a newer one; nothing was changed."
        )
