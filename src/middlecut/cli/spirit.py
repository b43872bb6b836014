# SPDX-License-Identifier: MIT
"""A spirit as a person measures it, by volume or weight, warm or cold, becomes litres at 20 °C."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.cli.answer import strength_read
from middlecut.cli.naming import naming
from middlecut.cli.readout import Line
from middlecut.cli.scales import read_strength
from middlecut.errors import InputError
from middlecut.insight.reading_names import unit_in
from middlecut.liquid import alcoholometry
from middlecut.units import dimension_of, format_quantity, parse_quantity, parse_strength

__all__ = ["Measured", "Spirit", "spirit_of"]

_READING = "A reading is only as good as its temperature: measure both in the same liquid."
_SOLIDS = "Sugar, wood or flavour in it hides strength from every instrument that floats."
_AT_20 = "Volumes of spirit are at 20 °C."
_WARM = "If the volume was measured in liquid of that temperature too, add --volume-at."


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured, as it was written.

    Parameters
    ----------
    amount, strength : str
    reading_at, volume_at, reference : str or None
        The options of the same names.
    """

    amount: str
    strength: str
    reading_at: str | None = None
    volume_at: str | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Spirit:
    """What it is.

    Parameters
    ----------
    volume : float
        [m³ at 20 °C]
    strength : float
        0 to 1.
    mass : float
        [kg]
    lines : tuple of Line
        What became of the measurements, where they had to be corrected.
    notes : tuple of str
    weighed : bool
        Whether the amount was a weight.
    """

    volume: float
    strength: float
    mass: float
    lines: tuple[Line, ...]
    notes: tuple[str, ...]
    weighed: bool


def spirit_of(measured: Measured) -> Spirit:
    """Return the spirit behind what was measured.

    Parameters
    ----------
    measured : Measured

    Returns
    -------
    Spirit

    Raises
    ------
    InputError
        If something cannot be read, is out of range or does not go together.
    """
    strength, lines, notes = _strength(measured)
    w = float(alcoholometry.mass_fraction_from_strength(strength))
    amount, text = measured.amount, measured.volume_at
    weighed = "mass" in dimension_of(unit_in(amount))
    given = parse_quantity(amount, "mass" if weighed else "volume", field="AMOUNT")
    if not given > 0.0:
        raise InputError("AMOUNT", amount, "there has to be some spirit", 'Write "2.4 L".')
    if weighed and text is not None:
        raise InputError("--volume-at", text, f"{amount} is a weight", "Leave it out.")
    density = float(alcoholometry.density_20(w))
    volume = given / density if weighed else given
    if text is not None:
        kelvin = parse_quantity(text, "temperature", field="--volume-at")
        with naming({"temperature": ("--volume-at", text), "volume": ("AMOUNT", amount)}):
            volume = float(
                alcoholometry.volume_20_from_volume(given, mass_fraction=w, temperature=kelvin)
            )
    elif not weighed and measured.reading_at is not None:
        notes = [*notes, _WARM]
    if weighed or text is not None:
        lines = [*lines, Line("volume_20", "volume at 20 °C", volume, "volume", 4)]
    mass = given if weighed else volume * density
    return Spirit(volume, strength, mass, tuple(lines), (*notes, _AT_20), weighed)


def _strength(measured: Measured) -> tuple[float, list[Line], list[str]]:
    """Return the true strength, with the line and the notes that a reading brings."""
    text = measured.strength
    if measured.reading_at is None:
        if measured.reference is not None:
            raise InputError(
                "--reference", measured.reference, "it goes with --reading-at only", "Leave it out."
            )
        return read_strength(text, "STRENGTH"), [], []
    kelvin = parse_quantity(measured.reading_at, "temperature", field="--reading-at")
    asked = {"temperature": ("--reading-at", measured.reading_at)}
    asked |= dict.fromkeys(("VALUE", "reading", "strength", "density"), ("STRENGTH", text))
    with naming(asked):
        true, _ = strength_read(parse_strength(text, field="STRENGTH"), kelvin, measured.reference)
    shown = format_quantity(kelvin, "temperature")
    label = f"true strength, from {text} at {shown}"
    return true, [Line("strength", label, true, "strength", 2)], [_READING, _SOLIDS]
