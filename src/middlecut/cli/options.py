# SPDX-License-Identifier: MIT
"""Options that several commands share, so that they read and behave alike."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["Force", "Json", "Out", "PlanFile", "System", "Units"]


class System(StrEnum):
    """A system of units for what is shown."""

    metric = "metric"
    us = "us"


PlanFile = Annotated[
    Path,  # whether it can be read is said by the reader, in the words of every other problem
    typer.Argument(
        metavar="PLAN", help="The plan file (TOML).", show_default=False, readable=False
    ),
]
Json = Annotated[
    bool,
    typer.Option(
        "--json",
        help="Print the result as JSON, always in SI units, named in the key (volume_m3) or beside "
        "it; else s, K, kg, m³, W and J, strengths and shares from 0 to 1.",
    ),
]
Units = Annotated[System, typer.Option("--units", help="Units of what is shown; never of JSON.")]
Out = Annotated[
    Path | None,
    typer.Option(
        "--out",
        metavar="FILE",
        help="Write to FILE instead; .md, .csv and .json choose the form.",
        show_default=False,
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Replace a file that exists.")]
