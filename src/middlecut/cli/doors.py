# SPDX-License-Identifier: MIT
"""What bootstrap hands to the commands: ways to the record and the app, opened when asked for."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from middlecut.app.ports import Shelf, Store

__all__ = ["Doors", "Opening", "Place", "doors_of", "opened", "shelf_of"]


@dataclass(frozen=True, slots=True)
class Opening:
    """How the app is to be opened.

    Parameters
    ----------
    place : str or None
        File or database of the record; None takes the usual one.
    port : int or None
        None takes the first free one from the usual one on.
    shared : bool
        Whether other devices in the network may reach it, once paired.
    demo : bool
        Whether to show the demo batch, from a record of its own.
    say : callable
        Takes each line for the terminal.
    browse : bool
        Whether to show the start page in a browser.
    """

    place: str | None
    port: int | None
    shared: bool
    demo: bool
    say: Callable[[str], None]
    browse: bool


@dataclass(frozen=True, slots=True)
class Doors:
    """Ways to the world outside, wired in bootstrap.

    Parameters
    ----------
    shelf : callable
        Gives the shelf that records are on.
    serve : callable
        Opens the app and returns when it is closed.
    """

    shelf: Callable[[], Shelf]
    serve: Callable[[Opening], None]


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
    doors = context.find_object(Doors)
    if doors is None:
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
