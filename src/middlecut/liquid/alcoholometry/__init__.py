# SPDX-License-Identifier: MIT
"""Strength, density and volume of ethanol-water mixtures.

Densities are those of OIML R 22; strengths are fractions by volume at 20 °C, 0 to 1, except where a
name says proof (US proof at 60 °F, 0 to 200). Every function takes scalars and arrays.
"""

from __future__ import annotations

from middlecut.liquid.alcoholometry.scales import (
    ETHANOL_MOLAR_MASS,
    WATER_MOLAR_MASS,
    mass_fraction_from_mole_fraction,
    mass_fraction_from_proof,
    mass_fraction_from_strength,
    mole_fraction_from_mass_fraction,
    mole_fraction_from_strength,
    proof_from_mass_fraction,
    proof_from_strength,
    strength_from_density,
    strength_from_mass_fraction,
    strength_from_proof,
)
from middlecut.liquid.alcoholometry.surface import (
    ETHANOL_DENSITY_20,
    LEGAL_ETHANOL_DENSITY_20,
    TEMPERATURE_20C,
    TEMPERATURE_60F,
    WATER_DENSITY_20,
    density,
    density_20,
    mass_fraction_from_density,
)

__all__ = [
    "ETHANOL_DENSITY_20",
    "ETHANOL_MOLAR_MASS",
    "LEGAL_ETHANOL_DENSITY_20",
    "TEMPERATURE_20C",
    "TEMPERATURE_60F",
    "WATER_DENSITY_20",
    "WATER_MOLAR_MASS",
    "density",
    "density_20",
    "mass_fraction_from_density",
    "mass_fraction_from_mole_fraction",
    "mass_fraction_from_proof",
    "mass_fraction_from_strength",
    "mole_fraction_from_mass_fraction",
    "mole_fraction_from_strength",
    "proof_from_mass_fraction",
    "proof_from_strength",
    "strength_from_density",
    "strength_from_mass_fraction",
    "strength_from_proof",
]
