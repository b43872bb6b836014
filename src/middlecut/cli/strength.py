# SPDX-License-Identifier: MIT
"""``middlecut strength``: a strength, density, gravity or reading on every scale."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from middlecut.cli.options import Json, System, Units

__all__ = ["Reference", "strength"]


class Reference(StrEnum):
    """The temperature a glass instrument is made for."""

    c20 = "20C"
    f60 = "60F"


def strength(
    value: Annotated[
        str,
        typer.Argument(
            metavar="VALUE",
            help='"62.4 %vol", "124.8 proof", "54 %mass", "912.3 kg/m3", "1.062 SG" or "15 °P".',
            show_default=False,
        ),
    ],
    *,
    reading_at: Annotated[
        str | None,
        typer.Option(
            "--reading-at",
            metavar="TEMPERATURE",
            help="VALUE is what an instrument shows in liquid of this temperature.",
            show_default=False,
        ),
    ] = None,
    reference: Annotated[
        Reference | None,
        typer.Option(
            "--reference",
            help="The temperature the instrument is made for; 60F for proof, else 20C.",
            show_default=False,
        ),
    ] = None,
    dissolved: Annotated[
        str | None,
        typer.Option(
            "--dissolved",
            metavar="CONCENTRATION",
            help='Dissolved solids that hide strength: "12 g/L".',
            show_default=False,
        ),
    ] = None,
    final_gravity: Annotated[
        str | None,
        typer.Option(
            "--final-gravity",
            metavar="GRAVITY",
            help="For a gravity: where fermentation ends, to give the strength of the wash.",
            show_default=False,
        ),
    ] = None,
    at: Annotated[
        str,
        typer.Option(
            "--at", metavar="TEMPERATURE", help="For density, weight and instrument readings."
        ),
    ] = "20 °C",
    json: Json = False,
    units: Units = System.metric,
) -> None:
    """Show a strength or a reading on every scale.

    Takes a strength, a density, a gravity, or what an instrument shows at a temperature.
    """
    from middlecut.cli.answer import Question, answer  # noqa: PLC0415 - loads the tables
    from middlecut.cli.readout import read_out  # noqa: PLC0415 - fast --help

    question = Question(
        value=value,
        reading_at=reading_at,
        reference=reference.value if reference else None,
        dissolved=dissolved,
        final_gravity=final_gravity,
        at=at,
    )
    title, lines, notes = answer(question)
    read_out(title, lines, json=json, system=units, notes=notes)
