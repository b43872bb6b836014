# SPDX-License-Identifier: MIT
"""``middlecut dilute``: how much water brings a spirit to a strength."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Json, System, Units
from middlecut.cli.strength import Reference

if TYPE_CHECKING:
    from collections.abc import Sequence

    from middlecut.cli.readout import Line

__all__ = ["dilute"]


def dilute(
    amount: Annotated[
        str,
        typer.Argument(
            metavar="AMOUNT",
            help='How much spirit: "2.4 L" at 20 °C, or its weight, "2.2 kg".',
            show_default=False,
        ),
    ],
    strength: Annotated[
        str,
        typer.Argument(
            metavar="STRENGTH",
            help='Its true strength, or with --reading-at what is read: "63 %vol", "126 proof".',
            show_default=False,
        ),
    ],
    *,
    to: Annotated[
        str, typer.Option("--to", help='The strength wanted: "46 %vol".', show_default=False)
    ],
    reading_at: Annotated[
        str | None,
        typer.Option(
            "--reading-at",
            metavar="TEMPERATURE",
            help="STRENGTH is what an instrument shows in liquid of this temperature.",
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
    volume_at: Annotated[
        str | None,
        typer.Option(
            "--volume-at",
            metavar="TEMPERATURE",
            help="AMOUNT was measured in liquid of this temperature, not at 20 °C.",
            show_default=False,
        ),
    ] = None,
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
    from middlecut.cli.spirit import Measured, spirit_of  # noqa: PLC0415 - the same
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.units import format_quantity, parse_quantity  # noqa: PLC0415 - fast --help

    spirit = spirit_of(
        Measured(amount, strength, reading_at, volume_at, reference.value if reference else None)
    )
    target = read_strength(to, "--to")
    if target <= 0.0:
        raise InputError(
            "--to", to, "no amount of water takes all the strength away", 'Write "40 %vol".'
        )
    if target >= spirit.strength:
        had = strength if reading_at is None else format_quantity(spirit.strength, "strength")
        raise InputError(
            "--to", to, f"water only lowers a strength, and this one is {had}", "Ask for less."
        )
    kelvin = parse_quantity(water_temperature, "temperature", field="--water-temperature")
    with naming({"temperature": ("--water-temperature", water_temperature)}):
        lines = water_lines(
            spirit.volume,
            spirit.strength,
            target,
            additions=additions,
            water_temperature=kelvin,
        )
    much = (spirit.mass, "mass") if spirit.weighed else (spirit.volume, "volume")
    read_out(
        f"{format_quantity(*much, system=units.value)} at "
        f"{_shown(spirit.strength, units)} down to {_shown(target, units)}",
        [_on_scale(line, units) for line in (*spirit.lines, *_with_weight(lines, spirit.mass))],
        json=json,
        system=units,
        notes=(
            *spirit.notes,
            "Spirit and water take less room together than apart: weigh the water where you can.",
        ),
    )


def _shown(strength: float, units: System) -> str:
    """Return a strength; in US units in proof, with the %vol beside it."""
    from middlecut.liquid import alcoholometry  # noqa: PLC0415 - loads the tables
    from middlecut.units import format_quantity  # noqa: PLC0415 - fast --help

    volume = format_quantity(strength, "strength", digits=2 if units is System.us else None)
    if units is System.metric:
        return volume
    proof = float(alcoholometry.proof_from_strength(strength))
    return f"{format_quantity(proof, 'proof')} ({volume})"


def _on_scale(line: Line, units: System) -> Line:
    """Return the line with its strength as it is shown in that system of units."""
    if line.dimension != "strength" or units is System.metric:
        return line
    return replace(line, text=_shown(line.value, units))


def _with_weight(lines: Sequence[Line], mass: float) -> list[Line]:
    """Return the lines with what the spirit weighs after its volume."""
    from middlecut.cli.readout import Line  # noqa: PLC0415 - fast --help

    total = mass + next(line.value for line in lines if line.key == "water_mass")
    place = next(n for n, line in enumerate(lines) if line.key == "volume") + 1
    weight = Line("mass", "it weighs", total, "mass", 4)
    return [*lines[:place], weight, *lines[place:]]


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
