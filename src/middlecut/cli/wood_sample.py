# SPDX-License-Identifier: MIT
"""``middlecut wood-sample``: scale a jar with wood in it to a batch."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from middlecut.cli.options import Json, System, Units

if TYPE_CHECKING:
    from middlecut.cli.readout import Line
    from middlecut.steps.wood_sample import ScaledSample

__all__ = ["Onto", "Pieces", "wood_sample"]


class Pieces(StrEnum):
    """Forms of wood that fit a jar."""

    staves = "staves"
    cubes = "cubes"
    chips = "chips"
    shavings = "shavings"


class Onto(StrEnum):
    """Forms of wood for the batch."""

    cask = "cask"
    staves = "staves"
    cubes = "cubes"
    chips = "chips"
    shavings = "shavings"


def wood_sample(
    volume: Annotated[
        str,
        typer.Argument(
            metavar="VOLUME", help='How much spirit was in the jar: "200 mL".', show_default=False
        ),
    ],
    *,
    wood: Annotated[
        str,
        typer.Option(
            "--wood",
            help='Wood in the jar, dry: "2 g", or its surface: "40 cm2".',
            show_default=False,
        ),
    ],
    form: Annotated[
        Pieces, typer.Option("--form", help="What the wood in the jar was.", show_default=False)
    ],
    time: Annotated[
        str, typer.Option("--time", help='How long it lay there: "14 d".', show_default=False)
    ],
    batch: Annotated[
        str,
        typer.Option("--batch", help='How much is to taste like it: "6 L".', show_default=False),
    ],
    onto: Annotated[
        Onto | None,
        typer.Option(
            "--onto",
            help="Wood for the batch; the same as in the jar if left out.",
            show_default=False,
        ),
    ] = None,
    cask: Annotated[
        str | None,
        typer.Option(
            "--cask", help='Size of the cask, with --onto cask: "20 L".', show_default=False
        ),
    ] = None,
    temperature: Annotated[
        str, typer.Option("--temperature", help="Where the jar stood.")
    ] = "20 °C",
    batch_temperature: Annotated[
        str | None,
        typer.Option(
            "--batch-temperature",
            help="Where the batch will stand, if elsewhere.",
            show_default=False,
        ),
    ] = None,
    json: Json = False,
    units: Units = System.metric,
) -> None:
    """Scale a jar with wood in it to a batch.

    By area of wood for each litre and by time; and say what does not scale.
    """
    from middlecut.cli.naming import naming  # noqa: PLC0415 - fast --help
    from middlecut.cli.readout import read_out  # noqa: PLC0415 - fast --help
    from middlecut.errors import InputError  # noqa: PLC0415 - fast --help
    from middlecut.steps.wood_sample import JarSample, scale_sample  # noqa: PLC0415 - fast --help
    from middlecut.units import dimension_of, parse_quantity  # noqa: PLC0415 - fast --help

    if onto is Onto.cask and cask is None:
        raise InputError(
            "--cask",
            "nothing",
            "the size of a cask decides how much wood each litre gets",
            'Add it, like --cask "20 L".',
        )
    by_area = "area" in dimension_of(wood.lstrip("0123456789.,+- "))
    amount = parse_quantity(wood, "area" if by_area else "mass", field="--wood")
    jar = JarSample(
        volume=parse_quantity(volume, "volume", field="VOLUME"),
        form=form.value,
        duration=parse_quantity(time, "duration", field="--time"),
        mass=None if by_area else amount,
        area=amount if by_area else None,
        temperature=parse_quantity(temperature, "temperature", field="--temperature"),
    )
    kelvin = batch_temperature and parse_quantity(
        batch_temperature, "temperature", field="--batch-temperature"
    )
    given = dict.fromkeys(("mass", "area"), ("--wood", wood))
    with naming({**given, "volume": ("VOLUME", volume), "batch_volume": ("--batch", batch)}):
        scaled = scale_sample(
            jar,
            parse_quantity(batch, "volume", field="--batch"),
            form=None if onto is None else onto.value,
            cask_volume=None if cask is None else parse_quantity(cask, "volume", field="--cask"),
            temperature=kelvin or None,
        )
    read_out(
        f"{volume} on {wood} of {form.value} for {time}, scaled to {batch}"
        + ("" if scaled.form == form.value else f" on {scaled.form}")
        + ("" if cask is None else f" of {cask}"),
        sample_lines(scaled),
        json=json,
        system=units,
        notes=(
            _time_note(scaled),
            "What does not scale:",
            *(f"- {text}" for text in scaled.does_not_scale),
            "Spirit burns and so does its vapour: keep jars and casks away from flames and sparks.",
        ),
    )


def sample_lines(scaled: ScaledSample) -> list[Line]:
    """Return the lines of the readout.

    Parameters
    ----------
    scaled : ScaledSample
        What the batch needs.

    Returns
    -------
    lines : list of Line
    """
    from middlecut.cli.readout import Line  # noqa: PLC0415 - fast --help

    lines = [
        Line("area_per_litre", "wood for each litre", scaled.area_per_volume * 1e-3, "area"),
        Line("area", "wood in all, by surface", scaled.area, "area"),
    ]
    if scaled.area_per_volume != scaled.sample_area_per_volume:
        jar = scaled.sample_area_per_volume * 1e-3
        lines.append(Line("sample_area_per_litre", "in the jar, for each litre", jar, "area"))
    if scaled.mass is not None:
        lines.append(Line("mass", "by weight, dry", scaled.mass, "mass"))
    for key, label, value in (
        ("duration", "time on the wood", scaled.duration),
        ("duration_low", "   at the earliest", scaled.duration_low),
        ("duration_high", "   at the latest", scaled.duration_high),
    ):
        if value is not None and (key == "duration" or value != scaled.duration):
            lines.append(Line(key, label, value, "duration"))
    return lines


def _time_note(scaled: ScaledSample) -> str:
    if scaled.duration is None:
        return (
            f"With this area {scaled.form} never give as much as the jar got, as far as is known: "
            "use more wood, and taste."
        )
    if scaled.basis == "computed":
        return "Same wood, same temperature: area and time carry over as they are."
    text = "The time rests on estimated rates; it is a day to start tasting, not a promise."
    return text if scaled.duration_high is not None else f"{text} It may never be reached."
