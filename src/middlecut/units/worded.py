# SPDX-License-Identifier: MIT
"""Say a range that was left in the units a person uses."""

from __future__ import annotations

import math
from collections.abc import Mapping

from middlecut.errors import OutOfRangeError
from middlecut.units.render import format_quantity
from middlecut.units.table import System

__all__ = ["worded"]

_DIMENSIONS: Mapping[str, str] = {
    "J": "energy",
    "K": "temperature",
    "Pa": "pressure",
    "W": "power",
    "kg": "mass",
    "kg m⁻³": "density",
    "kg/m³": "density",
    "m": "length",
    "m²": "area",
    "m³": "volume",
    "m³/m³": "fraction",
    "m³/s": "volume_flow",
    "s": "duration",
}
"""Kind of quantity by the SI unit an error names; a temperature may also be a difference."""

_PURE: Mapping[str, str] = {
    "gravity as read": "gravity",
    "gravity at 20 °C": "gravity",
    "highest strength": "strength",
    "label_strength": "strength",
    "lowest strength": "strength",
    "rate": "fraction",
    "strength": "strength",
    "strength as read": "strength",
    "strength at 20 °C": "strength",
    "target_strength": "strength",
    "tasting strength": "strength",
}
"""Kind of a pure number by the name an error has for it."""
_ENDLESS = 1e11  # a bound this large only keeps infinity out


def worded(error: OutOfRangeError, *, system: System = "metric") -> tuple[str, str]:
    """Return value and range of an error in the units a person uses.

    Parameters
    ----------
    error : OutOfRangeError
        With its numbers in SI.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    value : str
        What was given.
    allowed : str
        What would be accepted, as a clause.

    Examples
    --------
    >>> worded(OutOfRangeError("temperature", 275.15, 278.15, 313.15, unit="K"))
    ('2.0 °C', 'the range is 5 to 40 °C')
    """
    dimension = _dimension(error)
    given = error.value
    if not dimension or not isinstance(given, float):
        open_ended = f"it is {error.low:g} or more" if math.isinf(error.high) else error.allowed
        return f"{given:.6g}" if isinstance(given, float) else str(given), open_ended
    value = format_quantity(given, dimension, system=system)
    low, high = (_bound(bound, dimension, system) for bound in (error.low, error.high))
    reason = f" ({error.source})" if error.source else ""
    if math.isinf(error.high) or error.high > _ENDLESS:
        return value, f"it is {low} or more{reason}"
    number, _, unit = low.partition(" ")
    low = number if high.endswith(f" {unit}") else low
    return value, f"the range is {low} to {high}{reason}"


def _dimension(error: OutOfRangeError) -> str:
    if error.unit == "K" and error.quantity.endswith(("_rise", "_difference")):
        return "temperature_difference"
    if not error.unit:
        return _PURE.get(error.quantity, "")
    if error.unit == "kg m⁻³" and error.quantity == "extract":
        return "mass_concentration"
    return _DIMENSIONS.get(error.unit, "")


def _bound(value: float, dimension: str, system: System) -> str:
    number, _, unit = format_quantity(value, dimension, system=system).partition(" ")
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit}".rstrip()
