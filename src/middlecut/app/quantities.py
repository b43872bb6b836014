# SPDX-License-Identifier: MIT
"""What can be read from an instrument, in which range, and how typed words become SI numbers.

The ranges are wider than a good run: they keep out slips of the finger and mixed-up fields, not
surprising measurements.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from middlecut.errors import InputError, NotFoundError, OutOfRangeError
from middlecut.units import (
    DIMENSIONS,
    parse_gravity,
    parse_quantity,
    parse_strength,
)

__all__ = ["QUANTITIES", "Quantity", "Typed", "check_value", "find_quantity", "read_typed"]

_GLASS = "A glass instrument shows the right value at one temperature only."


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing an instrument shows.

    Parameters
    ----------
    name : str
        Stable name in the record.
    label : str
        In words.
    dimension : str
        Kind of quantity in :data:`middlecut.units.DIMENSIONS`.
    low, high : float
        Range that is accepted. [SI unit of the dimension]
    glass : bool
        Whether the temperature of the liquid is needed beside it.
    """

    name: str
    label: str
    dimension: str
    low: float
    high: float
    glass: bool = False


_TABLE = (
    Quantity("strength", "strength as read", "strength", 0.0, 1.0, glass=True),
    Quantity("true_strength", "strength at 20 °C", "strength", 0.0, 1.0),
    Quantity("gravity", "gravity as read", "gravity", 0.98, 1.2, glass=True),
    Quantity("true_gravity", "gravity at 20 °C", "gravity", 0.98, 1.2),
    Quantity("volume", "volume", "volume", 0.0, 5.0),
    Quantity("mass", "mass", "mass", 0.0, 5.0e3),
    Quantity("head_temperature", "still-head temperature", "temperature", 263.15, 388.15),
    Quantity("boiler_temperature", "boiler temperature", "temperature", 263.15, 398.15),
    Quantity("temperature", "temperature of the liquid", "temperature", 253.15, 398.15),
    Quantity("room_temperature", "temperature of the room", "temperature", 243.15, 333.15),
    Quantity("coolant_in", "cooling water coming in", "temperature", 263.15, 353.15),
    Quantity("coolant_out", "cooling water going out", "temperature", 263.15, 373.15),
    Quantity("coolant_flow", "flow of cooling water", "volume_flow", 0.0, 2.0e-2),
    Quantity("take_off", "take-off", "volume_flow", 0.0, 2.0e-3),
    Quantity("power", "heating power", "power", 0.0, 2.0e5),
    Quantity("energy", "energy meter", "energy", 0.0, 3.6e12),
    Quantity("pressure", "air pressure", "pressure", 5.0e4, 1.1e5),
    Quantity("density", "density", "density", 770.0, 1200.0, glass=True),
    Quantity("acidity", "pH", "ratio", 0.0, 14.0),
    Quantity("refraction", "refractometer, °Brix as read", "ratio", 0.0, 50.0),
)

QUANTITIES: Mapping[str, Quantity] = MappingProxyType({row.name: row for row in _TABLE})
"""Every quantity a reading may have, by name."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A reading as it was typed, turned into SI.

    Parameters
    ----------
    value : float
        [SI unit of the quantity]; a strength in proof is kept as half per cent at 60 °F.
    temperature : float or None
        Of the liquid. [K]
    reference : str
        "20C", "60F" or "".
    uncertainty : float or None
        [SI unit of the quantity]
    as_entered : str
    """

    value: float
    temperature: float | None
    reference: str
    uncertainty: float | None
    as_entered: str


def find_quantity(name: str) -> Quantity:
    """Return the quantity of that name.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    if name not in QUANTITIES:
        from difflib import get_close_matches  # noqa: PLC0415 - only for the error

        near = tuple(get_close_matches(name, QUANTITIES, 3, 0.4))
        raise NotFoundError("quantity", name, near or tuple(QUANTITIES)[:3])
    return QUANTITIES[name]


def check_value(
    quantity: str, value: float, temperature: float | None, reference: str = ""
) -> None:
    """Refuse a reading that no instrument can have shown.

    Parameters
    ----------
    quantity : str
        A name in :data:`QUANTITIES`.
    value : float
        [SI unit of the quantity]
    temperature : float or None
        Of the liquid. [K]
    reference : str
        "20C", "60F" or "".

    Raises
    ------
    InputError
        If a value is out of range or a temperature is missing.
    NotFoundError
        If there is no such quantity.
    """
    kind = find_quantity(quantity)
    if not (math.isfinite(value) and kind.low <= value <= kind.high):
        raise OutOfRangeError(
            kind.label,
            value,
            kind.low,
            kind.high,
            unit=_unit(kind),
            remedy="Look at the instrument and its unit again.",
        )
    if kind.glass and temperature is None:
        raise InputError(
            "temperature",
            None,
            f"a {kind.label} needs the temperature of the liquid. {_GLASS}",
            "Give it; it is 20 °C where the instrument corrected the value by itself.",
        )
    if temperature is not None:
        _check_temperature(temperature)
    allowed = ("20C", "60F") if quantity == "strength" else ("", "20C", "60F")
    if reference not in allowed:
        raise InputError(
            "reference", reference, f"it is one of {', '.join(filter(None, allowed))}", ""
        )


def _check_temperature(temperature: float) -> None:
    # Alcoholometry covers -20 to 40 °C; a hot wash may be read at up to boiling heat.
    if not (math.isfinite(temperature) and 253.15 <= temperature <= 373.15):
        raise OutOfRangeError(
            "temperature",
            temperature,
            253.15,
            373.15,
            unit="K",
            remedy="Give the temperature of the liquid the instrument stands in.",
        )


def _unit(kind: Quantity) -> str:
    """Return the SI unit of a quantity, "" for a pure number."""
    unit = DIMENSIONS[kind.dimension].si
    return "" if unit == "1" else unit


def read_typed(
    quantity: str,
    value: str,
    *,
    temperature: str = "",
    uncertainty: str = "",
    reference: str = "",
) -> Typed:
    """Turn what a person typed into SI; the range is judged by :func:`check_value`.

    Parameters
    ----------
    quantity : str
        A name in :data:`QUANTITIES`.
    value, temperature, uncertainty : str
        With their units, comma or point; "" for a temperature or uncertainty not given.
    reference : str
        Temperature a glass alcoholometer is made for; "" takes 20 °C, for proof 60 °F.

    Returns
    -------
    typed : Typed

    Raises
    ------
    UnitError
        If a text is no such quantity.
    NotFoundError
        If there is no such quantity.
    """
    kind = find_quantity(quantity)
    number, reference = _number(kind, value, reference)
    kelvin = (
        parse_quantity(temperature, "temperature", field="temperature") if temperature else None
    )
    spread = _spread(kind, uncertainty) if uncertainty else None
    entered = " at ".join(part.strip() for part in (value, temperature) if part.strip())
    return Typed(number, kelvin, reference, spread, entered)


def _number(kind: Quantity, text: str, reference: str) -> tuple[float, str]:
    if kind.dimension == "gravity":
        return _gravity(kind, text), reference
    if kind.dimension == "strength":
        return _strength(kind, text, reference)
    return parse_quantity(text, kind.dimension, field=kind.label), reference


def _gravity(kind: Quantity, text: str) -> float:
    gravity = parse_gravity(text, field=kind.label)
    if gravity.kind == "sg":
        return gravity.value
    from middlecut.liquid.extract import gravity_from_plato  # noqa: PLC0415 - only for °P

    return float(gravity_from_plato(gravity.value))


def _strength(kind: Quantity, text: str, reference: str) -> tuple[float, str]:
    strength = parse_strength(text, field=kind.label)
    if strength.kind == "mass":
        raise InputError(
            kind.label, text, "a strength by mass is not what an instrument shows", "Give %vol."
        )
    proof = strength.kind == "proof_60F"
    if kind.name == "strength":
        return (strength.value / 200.0, "60F") if proof else (strength.value, reference or "20C")
    if not proof:
        return strength.value, ""
    from middlecut.liquid.alcoholometry import strength_from_proof  # noqa: PLC0415 - only proof

    return float(strength_from_proof(strength.value)), ""


def _spread(kind: Quantity, text: str) -> float:
    dimension = "temperature_difference" if kind.dimension == "temperature" else kind.dimension
    value = parse_quantity(text, dimension, field="uncertainty")
    if not value > 0.0:
        raise InputError("uncertainty", text, "it is more than zero", "Leave it out if unknown.")
    return value
