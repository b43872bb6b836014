# SPDX-License-Identifier: MIT
"""Run the migrations inside the transaction that the store opened."""

from __future__ import annotations

from alembic import context

from middlecut.adapters.tables import METADATA

__all__ = ["run"]


def run() -> None:
    """Bring the tables up to the revision that was asked for."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=METADATA,
        transaction_per_migration=False,
    )
    context.run_migrations()


if hasattr(context, "config"):  # Alembic is running this file; otherwise it is only looked at
    run()
