# SPDX-License-Identifier: MIT
"""Strength, density and volume of ethanol-water mixtures.

Densities are those of OIML R 22; strengths are fractions by volume at 20 °C, 0 to 1, except where a
name says proof (US proof at 60 °F, 0 to 200) or an instrument made for 60 °F is read. Every
function takes scalars and arrays.
"""

from __future__ import annotations

from middlecut.liquid.alcoholometry.instruments import (
    GLASS_EXPANSION,
    Reference,
    reading_for_strength,
    true_proof,
    true_strength,
)
from middlecut.liquid.alcoholometry.mixing import (
    Blend,
    DilutionStage,
    Water,
    blend,
    contraction,
    dilution_stages,
    dilution_water,
)
from middlecut.liquid.alcoholometry.proof import (
    mass_fraction_from_proof,
    proof_from_mass_fraction,
    proof_from_strength,
    strength_from_proof,
)
from middlecut.liquid.alcoholometry.scales import (
    ETHANOL_MOLAR_MASS,
    WATER_MOLAR_MASS,
    mass_fraction_from_mole_fraction,
    mass_fraction_from_strength,
    mole_fraction_from_mass_fraction,
    mole_fraction_from_strength,
    strength_from_density,
    strength_from_mass_fraction,
)
from middlecut.liquid.alcoholometry.solids import (
    EXTRACT_DENSITY_RISE,
    obscuration_us,
    strength_with_extract,
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
from middlecut.liquid.alcoholometry.volumes import (
    AIR_DENSITY,
    WEIGHT_DENSITY,
    apparent_density,
    density_from_apparent,
    mass_from_volume,
    volume_20_from_volume,
    volume_at_temperature,
    volume_from_mass,
    weight_in_air_factor,
)

__all__ = [
    "AIR_DENSITY",
    "ETHANOL_DENSITY_20",
    "ETHANOL_MOLAR_MASS",
    "EXTRACT_DENSITY_RISE",
    "GLASS_EXPANSION",
    "LEGAL_ETHANOL_DENSITY_20",
    "TEMPERATURE_20C",
    "TEMPERATURE_60F",
    "WATER_DENSITY_20",
    "WATER_MOLAR_MASS",
    "WEIGHT_DENSITY",
    "Blend",
    "DilutionStage",
    "Reference",
    "Water",
    "apparent_density",
    "blend",
    "contraction",
    "density",
    "density_20",
    "density_from_apparent",
    "dilution_stages",
    "dilution_water",
    "mass_fraction_from_density",
    "mass_fraction_from_mole_fraction",
    "mass_fraction_from_proof",
    "mass_fraction_from_strength",
    "mass_from_volume",
    "mole_fraction_from_mass_fraction",
    "mole_fraction_from_strength",
    "obscuration_us",
    "proof_from_mass_fraction",
    "proof_from_strength",
    "reading_for_strength",
    "strength_from_density",
    "strength_from_mass_fraction",
    "strength_from_proof",
    "strength_with_extract",
    "true_proof",
    "true_strength",
    "volume_20_from_volume",
    "volume_at_temperature",
    "volume_from_mass",
    "weight_in_air_factor",
]
