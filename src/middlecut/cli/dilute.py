# SPDX-License-Identifier: MIT
"""``middlecut dilute``: how much water brings a spirit to a strength."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Json, System, Units

if TYPE_CHECKING:
    from middlecut.cli.readout import Line

__all__ = ["dilute"]


def dilute(
    volume: Annotated[
        str,
        typer.Argument(
            metavar="VOLUME", help='How much spirit, at 20 °C: "2.4 L".', show_default=False
        ),
    ],
    strength: Annotated[
        str,
        typer.Argument(
            metavar="STRENGTH",
            help='Its true strength: "63 %vol", "126 proof".',
            show_default=False,
        ),
    ],
    *,
    to: Annotated[
        str, typer.Option("--to", help='The strength wanted: "46 %vol".', show_default=False)
    ],
    additions: Annotated[
        int, typer.Option("--additions", min=1, max=50, help="Add the water in so many stages.")
    ] = 1,
    water_temperature: Annotated[
        str, typer.Option("--water-temperature", help="For the litres of water.")
    ] = "20 °C",
    json: Json = False,
    units: Units = System.metric,
) -> None:
    """Say how much water brings a spirit to a strength.

    By weight and by volume, in one go or in stages.
    """
    from middlecut.cli.naming import naming  # noqa: PLC0415 - fast --help
    from middlecut.cli.readout import read_out  # noqa: PLC0415 - fast --help
    from middlecut.cli.scales import read_strength  # noqa: PLC0415 - loads the tables
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.units import format_quantity, parse_quantity  # noqa: PLC0415 - fast --help

    litres = parse_quantity(volume, "volume", field="VOLUME")
    start = read_strength(strength, "STRENGTH")
    target = read_strength(to, "--to")
    if target <= 0.0:
        raise InputError(
            "--to", to, "no amount of water takes all the strength away", 'Write "40 %vol".'
        )
    if target >= start:
        raise InputError(
            "--to", to, f"water only lowers a strength, and this one is {strength}", "Ask for less."
        )
    kelvin = parse_quantity(water_temperature, "temperature", field="--water-temperature")
    if not litres > 0.0:
        raise InputError("VOLUME", volume, "there has to be some spirit", 'Write "2.4 L".')
    with naming({"temperature": ("--water-temperature", water_temperature)}):
        lines = water_lines(litres, start, target, additions=additions, water_temperature=kelvin)
    read_out(
        f"{format_quantity(litres, 'volume', system=units.value)} at "
        f"{format_quantity(start, 'strength')} down to {format_quantity(target, 'strength')}",
        lines,
        json=json,
        system=units,
        notes=(
            "Volumes of spirit are at 20 °C.",
            "Spirit and water take less room together than apart: weigh the water where you can.",
        ),
    )


def water_lines(
    volume: float,
    strength: float,
    target_strength: float,
    *,
    additions: int,
    water_temperature: float,
) -> list[Line]:
    """Return the lines of the readout: each stage, then the totals.

    Parameters
    ----------
    volume : float
        Of spirit. [m³ at 20 °C]
    strength, target_strength : float
        0 to 1.
    additions : int
        Number of stages.
    water_temperature : float
        [K]

    Returns
    -------
    lines : list of Line
    """
    from middlecut.cli.readout import Line  # noqa: PLC0415 - fast --help
    from middlecut.liquid import alcoholometry  # noqa: PLC0415 - loads the tables

    per_volume = alcoholometry.density(0.0, water_temperature)
    stages = alcoholometry.dilution_stages(volume, strength, target_strength, additions)
    lines = []
    for number, stage in enumerate(stages, start=1) if additions > 1 else ():
        lines += [
            Line(f"stage_{number}_water_mass", f"{number}. add water", stage.water, "mass", 4),
            Line(
                f"stage_{number}_water_volume", "   that is", stage.water / per_volume, "volume", 4
            ),
            Line(f"stage_{number}_strength", "   then it has", stage.strength, "strength", 2),
            Line(f"stage_{number}_volume", "   and there is", stage.volume, "volume", 4),
        ]
    last = stages[-1]
    water_volume = last.water_total / per_volume
    water_20 = last.water_total / alcoholometry.WATER_DENSITY_20
    lost = volume + water_20 - last.volume
    return [
        *lines,
        Line("water_mass", "water in all", last.water_total, "mass", 4),
        Line("water_volume", "that is", water_volume, "volume", 4),
        Line("volume", "spirit afterwards", last.volume, "volume", 4),
        Line("contraction", "lost by mixing", lost, "volume", 3, text=_barely(lost)),
    ]


def _barely(lost: float) -> str:
    """Return words for a contraction that no measure at hand shows."""
    return "under 1 mL" if 0.0 < abs(lost) < 1e-6 else ""
