# SPDX-License-Identifier: MIT
"""``middlecut restore``: put a backup in the place of the record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.doors import Place, shelf_of
from middlecut.cli.options import Json

__all__ = ["restore"]


def restore(
    context: typer.Context,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="A backup, or an export in JSON Lines.", show_default=False
        ),
    ],
    *,
    record: Place = None,
    force: Annotated[
        bool, typer.Option("--force", help="Set a record that is there aside, under a new name.")
    ] = False,
    json: Json = False,
) -> None:
    """Put a backup in the place of the record.

    Nothing is overwritten: a record that is there is set aside, and only with --force.
    """
    from middlecut.cli.output import say, say_json, working  # noqa: PLC0415 - fast --help

    with working("Restoring the record ..."):
        done = shelf_of(context).restore(file, record, force=force)
    if json:
        say_json(
            {
                "record": done.location,
                "file": str(file),
                "events": done.events,
                "set_aside": done.set_aside or None,
            }
        )
        return
    text = f"The record at {done.location} now has the {done.events} events of {file}."
    say(f"{text}\nThe one that was there is at {done.set_aside}." if done.set_aside else text)
