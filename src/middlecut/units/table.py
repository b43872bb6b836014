# SPDX-License-Identifier: MIT
"""The closed list of units and the kinds of quantity they belong to.

Factors are exact or as in NIST Special Publication 811, appendix B (:cite:t:`nist_sp811`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

__all__ = ["DIMENSIONS", "Dimension", "System", "Unit"]

System = Literal["metric", "us"]


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: SI value = factor × number + offset.

    Parameters
    ----------
    symbol : str
        As it is written out.
    factor, offset : float
    spellings : tuple of str
        Further accepted spellings, without spaces.
    scale : str
        Empty for a plain conversion; else the name of a scale only a table can convert.
    """

    symbol: str
    factor: float
    offset: float = 0.0
    spellings: tuple[str, ...] = ()
    scale: str = ""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity and the units it may be written in.

    Parameters
    ----------
    name, label : str
        Stable name and plain words.
    si : str
        SI unit of the floats inside.
    units : tuple of Unit
        The closed list, in the order messages show it.
    metric, us : tuple of str
        Symbols to show values in, smallest first; the largest that gives at least 1 is chosen.
    example : str
        A good value, for remedies.
    decimals : int or None
        Fixed digits after the point; None for three significant digits.
    bare : bool
        Whether a number without unit is accepted.
    """

    name: str
    label: str
    si: str
    units: tuple[Unit, ...]
    metric: tuple[str, ...]
    us: tuple[str, ...]
    example: str
    decimals: int | None = None
    bare: bool = False

    @property
    def symbols(self) -> str:
        """The accepted units, for messages."""
        return ", ".join(unit.symbol for unit in self.units if unit.symbol)


_GAL = 3.785411784e-3
_GAL_IMP = 4.54609e-3
_PROOF_GAL = 0.5 * _GAL * 793.0325 / 789.2391
"""A gallon at 100 proof holds half a gallon of ethanol, both at 60 °F: its volume at 20 °C. [m³]
The densities are those of the tables of :mod:`middlecut.liquid.alcoholometry`."""
_BTU = 1055.05585262

TABLE = (
    Dimension(
        "volume", "volume", "m³",
        (
            Unit("mL", 1e-6, spellings=("ml", "millilitre", "millilitres", "milliliter")),
            Unit("cL", 1e-5, spellings=("cl",)),
            Unit("L", 1e-3, spellings=("l", "litre", "litres", "liter", "liters")),
            Unit("m3", 1.0),
            Unit("gal_us", _GAL, spellings=("usgal",)),
            Unit("qt_us", _GAL / 4, spellings=("usqt",)),
            Unit("pt_us", _GAL / 8, spellings=("uspt",)),
            Unit("floz_us", _GAL / 128, spellings=("usfloz",)),
            Unit("gal_imp", _GAL_IMP, spellings=("impgal",)),
            Unit("qt_imp", _GAL_IMP / 4, spellings=("impqt",)),
            Unit("pt_imp", _GAL_IMP / 8, spellings=("imppt",)),
            Unit("floz_imp", _GAL_IMP / 160, spellings=("impfloz",)),
        ),
        ("mL", "L"), ("floz_us", "gal_us"), "25 L",
    ),
    Dimension(
        "gas_volume", "volume of a gas", "m³",
        (
            Unit("L", 1e-3, spellings=("l", "litre", "litres", "liter", "liters")),
            Unit("m3", 1.0),
            Unit("ft3", 0.3048**3, spellings=("cuft", "cubicfeet", "cubicfoot")),
        ),
        ("L", "m3"), ("ft3",), "600 L",
    ),
    Dimension(
        "pure_alcohol", "volume of pure alcohol", "m³",
        (
            Unit("LPA", 1e-3, spellings=("Lpurealcohol",)),
            Unit("proof_gal", _PROOF_GAL, spellings=("proofgallon", "proofgallons")),
        ),
        ("LPA",), ("proof_gal",), "2.5 LPA",
    ),
    Dimension(
        "mass", "mass", "kg",
        (
            Unit("µg", 1e-9, spellings=("ug", "μg")),
            Unit("mg", 1e-6),
            Unit("g", 1e-3, spellings=("gram", "grams")),
            Unit("kg", 1.0, spellings=("kilo", "kilos")),
            Unit("lb", 0.45359237, spellings=("lbs",)),
            Unit("oz", 0.028349523125),
        ),
        ("µg", "mg", "g", "kg"), ("µg", "mg", "g", "oz", "lb"), "180 g",
    ),
    Dimension(
        "compound_mass", "mass of a compound", "kg",
        (Unit("µg", 1e-9, spellings=("ug", "μg")), Unit("mg", 1e-6), Unit("g", 1e-3),
         Unit("kg", 1.0)),
        ("µg", "mg", "g", "kg"), ("µg", "mg", "g", "kg"), "25 mg",
    ),
    Dimension(
        "strength", "strength", "1",
        (
            Unit("%vol", 1e-2,
                 spellings=("%abv", "abv", "vol%", "%v/v", "%alc/vol"), scale="vol_20C"),
            Unit("%mass", 1e-2, spellings=("%w/w", "%m/m", "%wt", "wt%"), scale="mass"),
            Unit("proof", 1.0, spellings=("°proof", "usproof"), scale="proof_60F"),
        ),
        ("%vol",), ("%vol",), "40 %vol", decimals=1,
    ),
    Dimension(
        "proof", "US proof", "proof", (Unit("proof", 1.0, spellings=("°proof", "usproof")),),
        ("proof",), ("proof",), "80 proof", decimals=1,
    ),
    Dimension(
        "gravity", "gravity", "1",
        (
            Unit("SG", 1.0, spellings=("sg",), scale="sg"),
            Unit("°P", 1.0, spellings=("P", "Plato", "°Plato"), scale="plato"),
        ),
        ("SG",), ("SG",), "1.062 SG", decimals=3,
    ),
    Dimension(
        "power", "power", "W",
        (
            Unit("W", 1.0, spellings=("watt", "watts")),
            Unit("kW", 1e3),
            Unit("BTU/h", _BTU / 3600, spellings=("btu/hr",)),
        ),
        ("W", "kW"), ("W", "kW"), "2.4 kW",
    ),
    Dimension(
        "duration", "duration", "s",
        (
            Unit("s", 1.0, spellings=("sec", "second", "seconds")),
            Unit("min", 60.0, spellings=("mins", "minute", "minutes")),
            Unit("h", 3600.0, spellings=("hr", "hrs", "hour", "hours")),
            Unit("d", 86400.0, spellings=("day", "days")),
            Unit("week", 604800.0, spellings=("weeks", "wk")),
            Unit("year", 31557600.0, spellings=("years", "yr", "yrs")),
        ),
        ("s", "min", "h", "d"), ("s", "min", "h", "d"), "6 d",
    ),
    Dimension(
        "temperature", "temperature", "K",
        (
            Unit("°C", 1.0, 273.15, ("C", "degC", "°Celsius", "Celsius")),
            Unit("°F", 5 / 9, 459.67 * 5 / 9, ("F", "degF", "°Fahrenheit", "Fahrenheit")),
            Unit("K", 1.0),
        ),
        ("°C",), ("°F",), "28 °C", decimals=1,
    ),
    Dimension(
        "temperature_difference", "temperature difference", "K",
        (
            Unit("K", 1.0),
            Unit("°C", 1.0, spellings=("C", "degC")),
            Unit("°F", 5 / 9, spellings=("F", "degF")),
        ),
        ("K",), ("°F",), "30 K", decimals=1,
    ),
    Dimension(
        "pressure", "pressure", "Pa",
        (
            Unit("Pa", 1.0),
            Unit("hPa", 1e2),
            Unit("kPa", 1e3),
            Unit("mbar", 1e2),
            Unit("bar", 1e5),
            Unit("mmHg", 133.322387415, spellings=("torr",)),
            Unit("inHg", 3386.388640341),
            Unit("psi", 6894.757293168),
            Unit("atm", 101325.0),
        ),
        ("kPa",), ("inHg",), "98.5 kPa", decimals=1,
    ),
    Dimension(
        "length", "length", "m",
        (
            Unit("mm", 1e-3),
            Unit("cm", 1e-2),
            Unit("m", 1.0, spellings=("metre", "metres", "meter", "meters")),
            Unit("km", 1e3),
            Unit("in", 0.0254, spellings=("inch", "inches", '"')),
            Unit("ft", 0.3048, spellings=("foot", "feet")),
        ),
        ("mm", "m"), ("in", "ft"), "40 cm",
    ),
    Dimension(
        "area", "area", "m²",
        (Unit("cm2", 1e-4), Unit("m2", 1.0), Unit("in2", 6.4516e-4, spellings=("sqin",))),
        ("cm2", "m2"), ("in2",), "120 cm2",
    ),
    Dimension(
        "energy", "energy", "J",
        (
            Unit("J", 1.0),
            Unit("kJ", 1e3),
            Unit("MJ", 1e6),
            Unit("Wh", 3600.0),
            Unit("kWh", 3.6e6),
            Unit("BTU", _BTU),
        ),
        ("Wh", "kWh"), ("Wh", "kWh"), "5 kWh",
    ),
    Dimension(
        "mass_concentration", "mass concentration", "kg/m³",
        (
            Unit("µg/L", 1e-6, spellings=("ug/L", "μg/L")),
            Unit("mg/L", 1e-3),
            Unit("g/L", 1.0),
            Unit("g/hL", 1e-2),
            Unit("mg/mL", 1.0),
            Unit("kg/m3", 1.0),
        ),
        ("µg/L", "mg/L", "g/L"), ("µg/L", "mg/L", "g/L"), "25 mg/L",
    ),
    Dimension(
        "density", "density", "kg/m³",
        (Unit("kg/m3", 1.0), Unit("g/mL", 1e3, spellings=("g/cm3",)), Unit("kg/L", 1e3)),
        ("kg/m3",), ("kg/m3",), "950 kg/m3", decimals=2,
    ),
    Dimension("fraction", "share", "1", (Unit("%", 1e-2),), ("%",), ("%",), "60 %", decimals=1),
    Dimension(
        "volume_flow", "flow", "m³/s",
        (
            Unit("mL/min", 1e-6 / 60),
            Unit("mL/h", 1e-6 / 3600),
            Unit("L/min", 1e-3 / 60),
            Unit("L/h", 1e-3 / 3600),
            Unit("gal_us/h", _GAL / 3600, spellings=("usgal/h",)),
            Unit("floz_us/min", _GAL / 128 / 60, spellings=("usfloz/min",)),
        ),
        ("mL/min", "L/min"), ("floz_us/min",), "20 mL/min",
    ),
    Dimension(
        "mass_flow", "mass flow", "kg/s",
        (
            Unit("g/min", 1e-3 / 60),
            Unit("kg/h", 1 / 3600),
            Unit("kg/s", 1.0),
            Unit("lb/h", 0.45359237 / 3600),
        ),
        ("g/min", "kg/h"), ("lb/h",), "12 kg/h",
    ),
    Dimension(
        "heat_capacity", "heat capacity", "J/K",
        (Unit("J/K", 1.0, spellings=("J/°C",)), Unit("kJ/K", 1e3, spellings=("kJ/°C",))),
        ("J/K", "kJ/K"), ("J/K", "kJ/K"), "6 kJ/K",
    ),
    Dimension("ratio", "ratio", "1", (Unit("", 1.0),), ("",), ("",), "3.5", bare=True),
    Dimension("count", "number", "1", (Unit("", 1.0),), ("",), ("",), "4", decimals=0, bare=True),
)  # fmt: skip

DIMENSIONS: Mapping[str, Dimension] = MappingProxyType({row.name: row for row in TABLE})
"""Every kind of quantity by name; the list is closed."""
