# SPDX-License-Identifier: MIT
"""Units: pint is the outside oracle for plain conversions; refusals name what to write instead."""

from __future__ import annotations

import math
from functools import cache
from typing import Any, get_args

import pytest

from middlecut import units
from middlecut.errors import InputError, NotFoundError, UnitError
from middlecut.liquid import alcoholometry
from middlecut.units import DIMENSIONS, format_quantity, from_si, parse_quantity

# Our symbol → the expression pint reads. Tagged scales (proof, % mass, °P) are no plain units.
PINT = {
    "%": "percent",
    "%vol": "percent",
    "BTU": "Btu_it",
    "BTU/h": "Btu_it/hour",
    "J/K": "joule/kelvin",
    "L/min": "liter/minute",
    "LPA": "liter",
    "cm2": "cm**2",
    "d": "day",
    "floz_imp": "imperial_fluid_ounce",
    "floz_us": "fluid_ounce",
    "floz_us/min": "fluid_ounce/minute",
    "g/min": "gram/minute",
    "ft3": "foot**3",
    "gal_imp": "imperial_gallon",
    "gal_us": "gallon",
    "gal_us/h": "gallon/hour",
    "h": "hour",
    "in": "inch",
    "in2": "inch**2",
    "kJ/K": "kilojoule/kelvin",
    "kg/h": "kilogram/hour",
    "L/h": "liter/hour",
    "lb/h": "pound/hour",
    "m2": "m**2",
    "m3": "m**3",
    "kg/m3": "kg/m**3",
    "mL/h": "milliliter/hour",
    "mL/min": "milliliter/minute",
    "min": "minute",
    "pt_imp": "imperial_pint",
    "pt_us": "pint",
    "qt_imp": "imperial_quart",
    "qt_us": "quart",
    "s": "second",
    "°C": "degC",
    "°F": "degF",
}
SI = {
    "1": "dimensionless",
    "m³": "m**3",
    "kg/m³": "kg/m**3",
    "m³/s": "m**3/s",
    "kg/s": "kg/s",
    "J/K": "J/K",
    "m²": "m**2",
}
PLAIN = [
    (dimension.name, unit.symbol)
    for dimension in DIMENSIONS.values()
    for unit in dimension.units
    if unit.symbol and unit.scale in {"", "vol_20C"} and dimension.name not in {"proof"}
    if unit.symbol != "proof_gal"  # no plain conversion; it is held against the density tables
]


@cache
def registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(("dimension", "symbol"), PLAIN)
def test_conversion_agrees_with_pint(dimension: str, symbol: str) -> None:
    ureg = registry()
    name = PINT.get(symbol, symbol)
    if dimension == "temperature_difference":
        name = {"°C": "delta_degC", "°F": "delta_degF"}.get(symbol, name)
    si = DIMENSIONS[dimension].si
    expected = ureg.Quantity(12.5, name).to(SI.get(si, si)).magnitude
    # 1e-7: pint and NIST SP 811 print the conventional inch of mercury with different digits.
    assert parse_quantity(f"12.5 {symbol}", dimension) == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        # NIST SP 811, appendix B.8: exact or to all printed digits.
        ("1 gal_us", "volume", 3.785412e-3),
        ("1 gal_imp", "volume", 4.54609e-3),
        ("1 floz_us", "volume", 2.957353e-5),
        ("1 qt_us", "volume", 9.463529e-4),
        ("1 lb", "mass", 0.4535924),
        ("1 oz", "mass", 0.02834952),
        ("1 BTU", "energy", 1055.056),
        ("1 psi", "pressure", 6894.757),
        ("1 mmHg", "pressure", 133.3224),
        ("1 inHg", "pressure", 3386.389),
        ("212 °F", "temperature", 373.15),
    ],
)
def test_factors_of_nist_sp_811(text: str, dimension: str, value: float) -> None:
    # Half a unit of the seventh printed digit, relative.
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=2e-7)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("25 L", "volume", 0.025),
        ("25L", "volume", 0.025),
        ("25 l", "volume", 0.025),
        ("0,75 L", "volume", 0.00075),
        (".5 L", "volume", 0.0005),
        ("25\u00a0L", "volume", 0.025),
        ("25\u2009L", "volume", 0.025),
        ("25\u202fL", "volume", 0.025),
        ("2 gal us", "volume", 2 * 3.785411784e-3),
        ("2 US gal", "volume", 2 * 3.785411784e-3),
        ("1 m³", "volume", 1.0),
        ("28 °C", "temperature", 301.15),
        ("28 C", "temperature", 301.15),
        ("28 ºC", "temperature", 301.15),
        ("-5 °C", "temperature", 268.15),
        ("\u22125 °C", "temperature", 268.15),
        ("7,4 %vol", "strength", 0.074),
        ("7.4 % vol", "strength", 0.074),
        ("7.4 %abv", "strength", 0.074),
        ("3 µg/L", "mass_concentration", 3e-6),
        ("3 μg/L", "mass_concentration", 3e-6),
        ("0,125 L", "volume", 0.000125),
        ("1 h 25 min", "duration", 5100.0),
        ("1h25min", "duration", 5100.0),
        ("2 d 6 h", "duration", 194400.0),
        ("2 weeks", "duration", 1209600.0),
        ("60 %", "fraction", 0.6),
        ("3.5", "ratio", 3.5),
        (3.5, "ratio", 3.5),
        (4, "count", 4.0),
        ("2.4 KW", "power", 2400.0),
        ("1.012 SG", "gravity", 1.012),
        ("1,012 SG", "gravity", 1.012),
    ],
)
def test_spellings(text: object, dimension: str, value: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-12)


def test_whole_numbers_stay_clean() -> None:
    assert parse_quantity("26 L", "volume") == 0.026
    assert parse_quantity("80 mL", "volume") == 8e-5


@pytest.mark.parametrize(
    ("text", "dimension", "told"),
    [
        ("25", "volume", 'Write for example "25 L"'),
        (25, "volume", 'Write for example "25 L"'),
        (-5, "power", 'Write for example "2.4 kW"'),
        ("25 kW", "volume", '"kW" is a unit of power'),
        ("25 Lt", "volume", 'Did you mean "25 L"?'),
        ("25 gal", "volume", '"25 gal_us" or "25 gal_imp"'),
        ("4 qt", "volume", '"4 qt_us" or "4 qt_imp"'),
        ("2 pints", "volume", '"2 pt_us" or "2 pt_imp"'),
        ("6 fl oz", "volume", '"6 floz_us" or "6 floz_imp"'),
        ("40 %", "strength", "%vol, %mass, proof"),
        ("40", "strength", 'Write "40 %vol" if it is by volume'),
        ("40 %mass", "strength", "scale of its own"),
        ("80 proof", "strength", "scale of its own"),
        ("15 °P", "gravity", "scale of its own"),
        ("1,500 L", "volume", '"1500 L", or "1.500 L" if you mean 1.5 L'),
        ("1 500 L", "volume", 'Write "1500 L"'),
        ("1'500 L", "volume", 'Write "1500 L"'),
        ("1.500,5 L", "volume", 'Write "1500.5 L"'),
        ("1,500.5 L", "volume", 'Write "1500.5 L"'),
        ("1,234,567 L", "volume", 'Write "1234567 L"'),
        ("1e400 W", "power", "powers of ten are not read"),
        ("1e3 W", "power", "powers of ten are not read"),
        ("nan W", "power", "starts with a number"),
        ("inf W", "power", "starts with a number"),
        (math.inf, "ratio", "a finite number"),
        (math.nan, "ratio", "a finite number"),
        (10**400, "ratio", "a finite number"),
        ("3-4 L", "volume", "one number and one unit"),
        ("1/2 L", "volume", "one number and one unit"),
        ("1.2.3 L", "volume", "one number and one unit"),
        ("", "volume", "starts with a number"),
        ("much", "volume", "starts with a number"),
        (True, "count", "a number is needed"),
        (None, "volume", "a volume is needed"),
        (["1 L"], "volume", "a volume is needed"),
        ("9" * 80 + " L", "volume", "too long"),
        ("3.5 L", "ratio", "without a unit"),
        ("30 min 1 h", "duration", "written in s, min"),
        ("1 h 30 parsec", "duration", "written in s, min"),
        ("٣ L", "volume", "starts with a number"),
    ],
)
def test_refusals_say_what_to_write(text: object, dimension: str, told: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, dimension, field="charge")
    assert str(caught.value).startswith("charge: ")
    assert told in str(caught.value)


def test_unknown_dimension_offers_the_nearest() -> None:
    with pytest.raises(NotFoundError, match="'volume'"):
        parse_quantity("1 L", "volumes")


def test_tagged_scales_are_not_converted() -> None:
    assert units.parse_strength("120 proof") == units.Strength("proof_60F", 120.0)
    assert units.parse_strength("40 % mass") == units.Strength("mass", 0.4)
    assert units.parse_strength("62,5 %vol") == units.Strength("vol_20C", 0.625)
    assert units.parse_gravity("15 °P") == units.Gravity("plato", 15.0)
    assert units.parse_gravity("15 P") == units.Gravity("plato", 15.0)
    assert units.parse_gravity("1.062 SG") == units.Gravity("sg", 1.062)
    with pytest.raises(UnitError, match="missing"):
        units.parse_gravity(1.062)


@pytest.mark.parametrize(
    ("value", "dimension", "metric", "us"),
    [
        (0.0005, "volume", "500 mL", "16.9 US fl oz"),
        (0.025, "volume", "25.0 L", "6.60 US gal"),
        (1.234, "volume", "1234 L", "326 US gal"),
        (0.001, "volume", "1.00 L", "33.8 US fl oz"),
        (0.0037, "volume", "3.70 L", "125 US fl oz"),
        (0.0038, "volume", "3.80 L", "1.00 US gal"),
        (0.0019018, "pure_alcohol", "1.90 LPA", "1.00 proof gal"),
        (0.59, "gas_volume", "590 L", "20.8 cu ft"),
        (1.5, "gas_volume", "1.50 m3", "53.0 cu ft"),
        (0.0, "volume", "0 L", "0 US gal"),
        (8.5e-7, "volume_flow", "51.0 mL/min", "1.72 US fl oz/min"),
        (9.0e-10, "mass", "0.900 µg", "0.900 µg"),
        (4.5e-4, "mass", "450 mg", "450 mg"),
        (0.005, "mass", "5.00 g", "5.00 g"),
        (0.18, "mass", "180 g", "6.35 oz"),
        (60.0, "mass", "60.0 kg", "132 lb"),
        (1400.0, "power", "1.40 kW", "1.40 kW"),
        (60.0, "power", "60.0 W", "60.0 W"),
        (45.0, "duration", "45.0 s", "45.0 s"),
        (2100.0, "duration", "35.0 min", "35.0 min"),
        (5100.0, "duration", "1 h 25 min", "1 h 25 min"),
        (3600.0, "duration", "1 h", "1 h"),
        (518400.0, "duration", "6.00 d", "6.00 d"),
        (351.3, "temperature", "78.2 °C", "172.7 °F"),
        (30.0, "temperature_difference", "30.0 K", "54.0 °F"),
        (0.625, "strength", "62.5 %vol", "62.5 %vol"),
        (125.0, "proof", "125.0 proof", "125.0 proof"),
        (1.062, "gravity", "1.062 SG", "1.062 SG"),
        (101325.0, "pressure", "101.3 kPa", "29.9 inHg"),
        (0.4, "length", "400 mm", "15.7 in"),
        (1.5e7, "energy", "4.17 kWh", "4.17 kWh"),
        (0.025, "mass_concentration", "25.0 mg/L", "25.0 mg/L"),
        (0.55, "fraction", "55.0 %", "55.0 %"),
        (-0.00001, "fraction", "0.0 %", "0.0 %"),
        (3.4567, "ratio", "3.46", "3.46"),
        (12.0, "count", "12", "12"),
        (math.nan, "volume", "unknown", "unknown"),
    ],
)
def test_format(value: float, dimension: str, metric: str, us: str) -> None:
    assert format_quantity(value, dimension) == metric
    assert format_quantity(value, dimension, system="us") == us


def test_format_takes_digits() -> None:
    assert format_quantity(0.0254321, "volume", digits=4) == "25.43 L"
    assert format_quantity(0.6254, "strength", digits=2) == "62.54 %vol"
    assert format_quantity(5100.0, "duration", digits=3) == "1.42 h"


def test_unit_of_names_a_unit_of_the_dimension() -> None:
    for name in DIMENSIONS:
        for system in get_args(units.System):
            symbol = units.unit_of(name, system)
            assert name in units.dimension_of(symbol) or symbol == ""
    with pytest.raises(InputError, match="metric"):
        units.unit_of("volume", "imperial")  # type: ignore[arg-type]


def test_from_si() -> None:
    assert from_si(0.0125, "volume", "L") == 12.5
    assert from_si(373.15, "temperature", "°F") == pytest.approx(212.0, abs=1e-9)
    with pytest.raises(UnitError, match="scale of its own"):
        from_si(0.4, "strength", "proof")


def test_no_spelling_means_two_units_of_one_dimension() -> None:
    for dimension in DIMENSIONS.values():
        seen: dict[str, str] = {}
        for unit in dimension.units:
            for spelling in (unit.symbol, *unit.spellings):
                key = spelling.replace(" ", "").replace("_", "").casefold()
                assert seen.setdefault(key, unit.symbol) == unit.symbol


def test_examples_of_the_table_can_be_read() -> None:
    for dimension in DIMENSIONS.values():
        assert parse_quantity(dimension.example, dimension.name) > 0.0


def test_a_proof_gallon_holds_half_a_gallon_of_ethanol_at_60_fahrenheit() -> None:
    # 27 CFR 30.11: a gallon of liquid at 60 °F that contains 50 % by volume of ethanol at 60 °F.
    w = float(alcoholometry.mass_fraction_from_proof(100.0))
    gallon = parse_quantity("1 gal_us", "volume")
    cold = parse_quantity("60 °F", "temperature")
    mass = alcoholometry.mass_from_volume(gallon, mass_fraction=w, temperature=cold)
    pure = w * mass / alcoholometry.density_20(1.0)
    # 1e-5: the densities of ethanol are written to seven digits, the proof tables to a tenth.
    assert parse_quantity("1 proof_gal", "pure_alcohol") == pytest.approx(pure, rel=1e-5)


@pytest.mark.parametrize("word", ["62 abv", "62 ABV", "62 %ABV", "62 Abv"])
def test_the_trade_word_for_strength_by_volume_is_taken(word: str) -> None:
    assert units.parse_strength(word) == units.Strength("vol_20C", 0.62)
