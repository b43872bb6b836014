# SPDX-License-Identifier: MIT
"""Extract of a wort or wash: gravity, degrees Plato, attenuation and what yeast makes of it.

Gravity is the density of the liquid over that of water, both at 20 °C (SG 20/20). Degrees Plato are
grams of extract, counted as sucrose, in 100 g.
"""

from __future__ import annotations

from middlecut.liquid.extract.balling import (
    CARBON_DIOXIDE_YIELD,
    EXTRACT_PER_ETHANOL,
    YEAST_YIELD,
    apparent_attenuation,
    ethanol_mass_fraction,
    final_gravity_from_attenuation,
    real_attenuation,
    real_extract,
)
from middlecut.liquid.extract.fermented import (
    EXTRACT_VOLUME,
    Fermented,
    ferment_balance,
)
from middlecut.liquid.extract.gravity import (
    HIGHEST_GRAVITY,
    HIGHEST_PLATO,
    LOWEST_GRAVITY,
    LOWEST_PLATO,
    gravity_from_plato,
    gravity_reading,
    plato_from_gravity,
    true_gravity,
    wort_density,
)
from middlecut.liquid.extract.refractometer import (
    strength_from_refractometer,
)

__all__ = [
    "CARBON_DIOXIDE_YIELD",
    "EXTRACT_PER_ETHANOL",
    "EXTRACT_VOLUME",
    "HIGHEST_GRAVITY",
    "HIGHEST_PLATO",
    "LOWEST_GRAVITY",
    "LOWEST_PLATO",
    "YEAST_YIELD",
    "Fermented",
    "apparent_attenuation",
    "ethanol_mass_fraction",
    "ferment_balance",
    "final_gravity_from_attenuation",
    "gravity_from_plato",
    "gravity_reading",
    "plato_from_gravity",
    "real_attenuation",
    "real_extract",
    "strength_from_refractometer",
    "true_gravity",
    "wort_density",
]
