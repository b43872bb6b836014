# SPDX-License-Identifier: MIT
"""How the commands of the record reach it, through what bootstrap wired."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.wiring import Wiring

if TYPE_CHECKING:
    from collections.abc import Iterator

    from middlecut.app.ports import Shelf, Store

__all__ = ["Doors", "Opening", "Place", "doors_of", "opened", "shelf_of"]


Place = Annotated[
    str | None,
    typer.Option(
        "--record",
        metavar="PLACE",
        help="The record: a file, or postgresql://USER@HOST/DATABASE. Otherwise the one named by "
        "MIDDLECUT_RECORD, or record.sqlite in your data folder.",
        show_default=False,
    ),
]


def doors_of(context: typer.Context) -> Doors:
    """Return what bootstrap wired.

    Raises
    ------
    RuntimeError
        If the command was not started by bootstrap.
    """
    wiring = context.find_object(Wiring)
    if wiring is None:
        raise RuntimeError("the command line is started by middlecut.bootstrap.main")
    return doors


def shelf_of(context: typer.Context) -> Shelf:
    """Return the shelf that bootstrap wired."""
    return doors_of(context).shelf()


@contextmanager
def opened(context: typer.Context, place: str | None) -> Iterator[Store]:
    """Give a record that exists, and close it afterwards."""
    store = shelf_of(context).open(place, make=False)
    try:
        yield store
    finally:
        store.close()
