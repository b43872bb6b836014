# SPDX-License-Identifier: MIT
"""The closed list of units: text becomes SI floats here, and SI floats become text.

Nothing else in middlecut knows a unit factor. Strength in proof or by mass and gravity in degrees
Plato are no plain conversions: :func:`parse_strength` and :func:`parse_gravity` return them tagged
with their scale, and a layer above converts them through the tables.
"""

from __future__ import annotations

from middlecut.units.lookup import dimension_of, from_si
from middlecut.units.parse import (
    Gravity,
    Strength,
    parse_gravity,
    parse_quantity,
    parse_strength,
)
from middlecut.units.render import format_quantity, unit_of
from middlecut.units.table import DIMENSIONS, Dimension, System, Unit

__all__ = [
    "DIMENSIONS",
    "Dimension",
    "Gravity",
    "Strength",
    "System",
    "Unit",
    "dimension_of",
    "format_quantity",
    "from_si",
    "parse_gravity",
    "parse_quantity",
    "parse_strength",
    "unit_of",
]
