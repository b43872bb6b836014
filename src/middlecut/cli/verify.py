# SPDX-License-Identifier: MIT
"""``middlecut verify``: is the record whole, and are its projections what the events say."""

from __future__ import annotations

from typing import Annotated

import typer

from middlecut.cli.doors import Place, opened
from middlecut.cli.options import Json

__all__ = ["verify"]


def verify(
    context: typer.Context,
    *,
    mend: Annotated[
        bool, typer.Option("--mend", help="Compute the projections again from the events.")
    ] = False,
    record: Place = None,
    json: Json = False,
) -> None:
    """Read the whole record again and compare."""
    from middlecut.app import verifying  # noqa: PLC0415 - fast --help
    from middlecut.cli.endings import RECORD  # noqa: PLC0415 - the same
    from middlecut.cli.output import say, say_json, working  # noqa: PLC0415 - the same

    with opened(context, record) as store, working("Reading the record ..."):
        verdict = verifying.verify(store)
        mended = mend and not verdict.damaged
        if mended:
            verifying.rebuild(store)
        location = store.location
    good = not verdict.problems or mended
    if json:
        say_json(
            {
                "record": location,
                "events": verdict.events,
                "streams": verdict.streams,
                "documents": verdict.documents,
                "problems": list(verdict.problems),
                "damaged": verdict.damaged,
                "mended": mended,
            }
        )
    else:
        lines = [f"{location}: {verdict.events} events in {verdict.streams} streams read."]
        lines.extend(verdict.problems or ["Every event is whole and in its place."])
        if verdict.damaged:
            lines.append("Restore a backup (middlecut restore) or export what can be read.")
        elif mended:
            lines.append("The projections were computed again from the events.")
        elif verdict.problems:
            lines.append("The events are whole; middlecut verify --mend computes the rest again.")
        say("\n".join(lines))
    if not good:
        raise typer.Exit(RECORD)
