# SPDX-License-Identifier: MIT
"""``middlecut backup``: the whole record in one file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from middlecut.cli.doors import Place, opened, shelf_of
from middlecut.cli.options import Force, Json

__all__ = ["backup"]


def backup(
    context: typer.Context,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="The file to write.", show_default=False)
    ],
    *,
    record: Place = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Copy the whole record into one file.

    It is checked on the way; the record may be used meanwhile.
    """
    from middlecut.cli.output import check_new, say, say_json, working  # noqa: PLC0415 - fast --help

    with opened(context, record) as store, working("Copying the record ..."):
        check_new(file, force=force, option="FILE", source=Path(store.location))
        count = shelf_of(context).back_up(store, file, force=force)
        location = store.location
    if json:
        say_json({"record": location, "file": str(file), "events": count})
    else:
        say(
            f"{count} events of {location} are now in {file}, checked. Keep it on another disk.\n"
            f"To put it back: middlecut restore {file}"
        )
