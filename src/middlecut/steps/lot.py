# SPDX-License-Identifier: MIT
"""A lot: a known amount of liquid in one vessel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from types import MappingProxyType

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.liquid.extract import EXTRACT_VOLUME
from middlecut.steps.band import LotBand

__all__ = ["SOLIDS_VOLUME", "Amount", "Lot"]

SOLIDS_VOLUME = EXTRACT_VOLUME
"""Apparent specific volume of dissolved extract. [m³ kg⁻¹]"""


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of one compound a lot holds, with its range.

    Parameters
    ----------
    typical, low, high : float
        Mass. [kg] ``low`` and ``high`` carry the range of the source the compound came from; in a
        prediction with draws they are its 5–95 % band.
    basis : str
        The weakest basis along the way: "read", "read-abstract", "computed", "memory" or
        "estimate".
    """

    typical: float
    low: float
    high: float
    basis: str = "estimate"

    def scaled(self, fraction: float) -> Amount:
        """Return this amount times a fraction, range and all."""
        return Amount(
            self.typical * fraction, self.low * fraction, self.high * fraction, self.basis
        )

    def plus(self, other: Amount) -> Amount:
        """Return the sum of two amounts; the weaker basis wins."""
        order = ("read", "read-abstract", "computed", "memory", "estimate")
        ranks = [order.index(basis) if basis in order else 4 for basis in (self.basis, other.basis)]
        return Amount(
            self.typical + other.typical,
            self.low + other.low,
            self.high + other.high,
            order[max(ranks)],
        )


@dataclass(frozen=True, slots=True)
class Lot:
    """A known amount of liquid in one vessel.

    Parameters
    ----------
    name : str
        The user's name for it.
    water, ethanol, solids : float
        Masses; solids are everything dissolved that neither boils nor is tracked by name. [kg]
    amounts : mapping of str to Amount
        Mass of each tracked compound by its table name. [kg]
    temperature : float
        [K]
    band : LotBand or None
        Set in a prediction with draws.
    """

    name: str
    water: float
    ethanol: float
    solids: float = 0.0
    amounts: Mapping[str, Amount] = field(default_factory=dict)
    temperature: float = 293.15
    band: LotBand | None = None

    def __post_init__(self) -> None:
        for key in ("water", "ethanol", "solids"):
            value = getattr(self, key)
            if not value >= 0.0:
                raise InputError(f"lot {self.name}: {key}", value, "a mass must be 0 kg or more")
        object.__setattr__(self, "amounts", MappingProxyType(dict(self.amounts)))

    @property
    def mass(self) -> float:
        """Mass of water, ethanol and solids. [kg] Tracked compounds are traces beside them."""
        return self.water + self.ethanol + self.solids

    @property
    def volume(self) -> float:
        """Volume at 20 °C. [m³]."""
        liquid = self.water + self.ethanol
        if liquid <= 0.0:
            return self.solids * SOLIDS_VOLUME
        density = alcoholometry.density_20(self.ethanol / liquid)
        return liquid / density + self.solids * SOLIDS_VOLUME

    @property
    def pure_alcohol(self) -> float:
        """Volume of the ethanol alone at 20 °C. [m³]."""
        return self.ethanol / alcoholometry.ETHANOL_DENSITY_20

    @property
    def strength(self) -> float:
        """Strength as a fraction by volume at 20 °C, 0 to 1."""
        volume = self.volume
        return self.pure_alcohol / volume if volume > 0.0 else 0.0

    @property
    def ethanol_mole_fraction(self) -> float:
        """Ethanol over ethanol and water, by amount of substance."""
        ethanol = self.ethanol / alcoholometry.ETHANOL_MOLAR_MASS
        water = self.water / alcoholometry.WATER_MOLAR_MASS
        return ethanol / (ethanol + water) if ethanol + water > 0.0 else 0.0

    @property
    def compounds(self) -> dict[str, float]:
        """Concentration of each tracked compound. [mg L⁻¹ of lot at 20 °C]."""
        volume = self.volume
        if volume <= 0.0:
            return dict.fromkeys(self.amounts, 0.0)
        return {name: amount.typical * 1e3 / volume for name, amount in self.amounts.items()}

    def part(self, fraction: float, name: str | None = None) -> Lot:
        """Return this fraction (0 to 1) of the lot, alike in every respect."""
        return replace(
            self,
            name=name or self.name,
            water=self.water * fraction,
            ethanol=self.ethanol * fraction,
            solids=self.solids * fraction,
            amounts={key: amount.scaled(fraction) for key, amount in self.amounts.items()},
            band=None,
        )

    def to_dict(self) -> dict[str, object]:
        """Return the lot in SI units as plain JSON types; with draws its band too."""
        levels, band = self.compounds, self.band
        found: dict[str, object] = {
            "name": self.name,
            "volume_m3": self.volume,
            "strength": self.strength,
            "pure_alcohol_m3": self.pure_alcohol,
            "water_kg": self.water,
            "ethanol_kg": self.ethanol,
            "solids_kg": self.solids,
            "temperature_K": self.temperature,
            "compounds": {
                name: {
                    "mg_per_L": levels[name],
                    "kg": amount.typical,
                    "kg_low": amount.low,
                    "kg_high": amount.high,
                    "basis": amount.basis,
                }
                for name, amount in self.amounts.items()
            },
        }
        return found if band is None else {**found, "band": asdict(band)}
