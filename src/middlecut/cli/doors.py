# SPDX-License-Identifier: MIT
"""What bootstrap hands to the commands: the way to the record, opened only when asked for."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from middlecut.app.ports import Shelf, Store

__all__ = ["Doors", "Place", "opened", "shelf_of"]


@dataclass(frozen=True, slots=True)
class Doors:
    """Ways to the world outside, wired in bootstrap.

    Parameters
    ----------
    shelf : callable
        Gives the shelf that records are on.
    """

    shelf: Callable[[], Shelf]


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


def shelf_of(context: typer.Context) -> Shelf:
    """Return the shelf that bootstrap wired.

    Raises
    ------
    RuntimeError
        If the command was not started by bootstrap.
    """
    doors = context.find_object(Doors)
    if doors is None:
        raise RuntimeError("the command line is started by middlecut.bootstrap.main")
    return doors.shelf()


@contextmanager
def opened(context: typer.Context, place: str | None) -> Iterator[Store]:
    """Give a record that exists, and close it afterwards."""
    store = shelf_of(context).open(place, make=False)
    try:
        yield store
    finally:
        store.close()
