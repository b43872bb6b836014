# SPDX-License-Identifier: MIT
"""``middlecut open``: start the app in a browser."""

from __future__ import annotations

from typing import Annotated

import typer

from middlecut.cli.doors import Opening, doors_of

__all__ = ["open_app"]


def open_app(
    context: typer.Context,
    *,
    lan: Annotated[
        bool,
        typer.Option(
            "--lan", help="Let paired phones and tablets in this network reach it; shows a QR code."
        ),
    ] = False,
    port: Annotated[
        int | None,
        typer.Option(
            "--port",
            min=1,
            max=65535,
            help="Port; else the first free from 8460.",
            show_default=False,
        ),
    ] = None,
    record: Annotated[
        str | None,
        typer.Option(
            "--record",
            "--data",
            metavar="PLACE",
            help="The record, as in the other commands: a file, or a PostgreSQL address.",
            show_default=False,
        ),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Show no browser.")] = False,
    demo: Annotated[
        bool, typer.Option("--demo", help="Show the demo batch, in a record of its own.")
    ] = False,
) -> None:
    """Open the app: plan, make, run, choose and learn in a browser.

    Only this computer can reach it, unless --lan is given. Ctrl-C closes it.
    """
    doors_of(context).serve(
        Opening(
            place=record, port=port, shared=lan, demo=demo, say=typer.echo, browse=not no_browser
        )
    )
