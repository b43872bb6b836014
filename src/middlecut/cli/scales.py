# SPDX-License-Identifier: MIT
"""Strength on whatever scale a person writes it becomes the one used inside, and back."""

from __future__ import annotations

import contextlib

from middlecut.cli.naming import naming
from middlecut.cli.readout import Line
from middlecut.errors import OutOfRangeError
from middlecut.liquid import alcoholometry
from middlecut.units import Strength, parse_strength

__all__ = ["every_scale", "read_strength", "strength_of"]


def strength_of(tagged: Strength, field: str) -> float:
    """Return a tagged strength as a fraction by volume at 20 °C.

    Raises
    ------
    OutOfRangeError
        If no mixture of ethanol and water has that strength.
    """
    high = 200.0 if tagged.kind == "proof_60F" else 1.0
    if not 0.0 <= tagged.value <= high:
        scale, unit = (1.0, "proof") if high > 1.0 else (100.0, "%")
        raise OutOfRangeError(
            field,
            tagged.value * scale,
            0.0,
            high * scale,
            unit=unit,
            source="water to pure ethanol",
        )
    if tagged.kind == "proof_60F":
        return alcoholometry.strength_from_proof(tagged.value)
    if tagged.kind == "mass":
        return alcoholometry.strength_from_mass_fraction(tagged.value)
    return tagged.value


def read_strength(text: str, field: str) -> float:
    """Return a written strength as a fraction by volume at 20 °C."""
    with naming({field: (field, text)}):
        return strength_of(parse_strength(text, field=field), field)


def every_scale(strength: float, temperature: float) -> list[Line]:
    """Return a strength on every scale, with density and weights.

    Parameters
    ----------
    strength : float
        0 to 1.
    temperature : float
        For density, weight and what instruments show. [K]

    Returns
    -------
    lines : list of Line
    """
    mass_fraction = alcoholometry.mass_fraction_from_strength(strength)
    density = alcoholometry.density(mass_fraction, temperature)
    proof = alcoholometry.proof_from_strength(strength)
    celsius = f"{temperature - 273.15:.1f} °C"
    in_air = density * alcoholometry.weight_in_air_factor(density)
    pure = strength * 1e-3
    lines = [
        Line("strength", "strength by volume at 20 °C", strength, "strength", 2),
        Line(
            "mass_fraction",
            "by mass",
            mass_fraction,
            "fraction",
            text=f"{mass_fraction * 100:.2f} %mass",
        ),
        Line("proof", "US proof at 60 °F", proof, "proof", 1),
        Line(
            "pure_alcohol", "pure alcohol in a litre", pure, "volume", text=f"{pure * 1e6:.1f} mL"
        ),
        Line("density", f"density at {celsius}", density, "density", 2),
        Line("weight_in_air", f"a litre at {celsius} weighs, in air", in_air * 1e-3, "mass", 5),
    ]
    if abs(temperature - alcoholometry.TEMPERATURE_20C) > 0.05:
        grown = alcoholometry.volume_at_temperature(
            1e-3, mass_fraction=mass_fraction, temperature=temperature
        )
        lines.append(
            Line("volume_of_a_litre", f"a litre of 20 °C takes at {celsius}", grown, "volume", 5)
        )
    return lines + _instrument_lines(strength, proof, temperature, celsius)


def _instrument_lines(
    strength: float, proof: float, temperature: float, celsius: str
) -> list[Line]:
    """Return what glass instruments show, where they float within their scale."""
    lines = []
    if abs(temperature - alcoholometry.TEMPERATURE_20C) > 0.05:
        with contextlib.suppress(OutOfRangeError):
            reading = alcoholometry.reading_for_strength(strength, temperature, "20C")
            label = f"a glass instrument for 20 °C shows at {celsius}"
            lines.append(Line("reading_20c", label, reading, "strength", 2))
    with contextlib.suppress(OutOfRangeError):
        reading = alcoholometry.reading_for_strength(proof / 200.0, temperature, "60F")
        label = f"a glass instrument for 60 °F shows at {celsius}"
        lines.append(Line("reading_60f", label, reading * 200.0, "proof", 1))
    return lines
