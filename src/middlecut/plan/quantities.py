# SPDX-License-Identifier: MIT
"""What one value of a plan may be: its kind of quantity, its range, and why.

A value is read by :mod:`middlecut.units`; scales that need a table (proof, per cent by mass,
degrees Plato) are converted here. A range is never clipped to: a value outside it is a problem.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from middlecut import units
from middlecut.errors import InputError, MiddlecutError, NotFoundError, UnitError
from middlecut.liquid import alcoholometry
from middlecut.plan.meant import meant, reworded
from middlecut.steps.parameters import Until

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from pydantic_core import CoreSchema

    from middlecut.liquid.own_names import OwnCompound

__all__ = [
    "CONDITIONS",
    "HIGHEST_STRENGTH",
    "SHARE_OF_POWER",
    "Level",
    "Price",
    "Quantity",
    "Setting",
    "gravity_from",
    "read_date",
    "read_dose",
    "read_level",
    "read_price",
    "read_setting",
    "read_until",
    "read_water",
    "show",
    "strength_from",
]

HIGHEST_STRENGTH = 0.96
"""Highest strength a step may ask for.

The azeotrope at 101.3 kPa lies at 97.2 % vol; 96 % vol is what a good column reaches.
"""

AZEOTROPE = "the azeotrope lies at 97.2 %vol, and no distillation goes past it"


def strength_from(strength: units.Strength) -> float:
    """Return a strength on any scale as fraction by volume at 20 °C.

    Parameters
    ----------
    strength : Strength
        As :func:`middlecut.units.parse_strength` returns it.

    Returns
    -------
    strength : float
        0 to 1.

    Raises
    ------
    OutOfRangeError
        If the number lies outside its scale.

    Examples
    --------
    >>> strength_from(units.Strength("vol_20C", 0.4))
    0.4
    """
    if strength.kind == "proof_60F":
        return float(alcoholometry.strength_from_proof(strength.value))
    if strength.kind == "mass":
        return float(alcoholometry.strength_from_mass_fraction(strength.value))
    return strength.value


def gravity_from(gravity: units.Gravity) -> float:
    """Return a gravity on any scale as specific gravity 20/20 °C.

    Parameters
    ----------
    gravity : Gravity
        As :func:`middlecut.units.parse_gravity` returns it.

    Returns
    -------
    gravity : float
        SG 20/20.

    Raises
    ------
    OutOfRangeError
        If degrees Plato lie outside the table.

    Examples
    --------
    >>> gravity_from(units.Gravity("sg", 1.062))
    1.062
    """
    if gravity.kind == "plato":
        from middlecut.liquid import extract  # noqa: PLC0415 - only plans in degrees Plato need it

        return float(extract.gravity_from_plato(gravity.value))
    return gravity.value


def show(value: float, dimension: str, *, system: units.System = "metric") -> str:
    """Write a value for a person; in US units a strength is shown as proof at 60 °F.

    Parameters
    ----------
    value : float
        In SI.
    dimension : str
        A name in :data:`middlecut.units.DIMENSIONS`.
    system : {"metric", "us"}
        System of units.

    Returns
    -------
    text : str
        Number and unit.

    Raises
    ------
    NotFoundError
        If there is no such dimension.

    Examples
    --------
    >>> show(0.4, "strength")
    '40.0 %vol'
    """
    if dimension == "strength" and system == "us":
        proof = float(alcoholometry.proof_from_strength(value))
        return units.format_quantity(proof, "proof")
    return units.format_quantity(value, dimension, system=system)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit and a range; goes into ``Annotated`` beside the type.

    Parameters
    ----------
    dimension : str
        A name in :data:`middlecut.units.DIMENSIONS`.
    low, high : float
        Both allowed. [SI]
    why : str
        Reason of the range, as a clause.
    example : str
        A good value as it stands in a plan, quotes included; "" for that of the dimension.
    """

    dimension: str
    low: float
    high: float
    why: str = ""
    example: str = ""

    @property
    def sample(self) -> str:
        """A good value as it stands in a plan."""
        kind = units.DIMENSIONS[self.dimension]
        return self.example or (kind.example if kind.bare else f'"{kind.example}"')

    def read(self, raw: object) -> float:
        """Return the value in SI, or raise InputError."""
        try:
            return self.within(self._value(raw), raw)
        except InputError as error:
            raise reworded(error, raw, self.dimension, self.sample) from None

    def _value(self, raw: object) -> float:
        name = units.DIMENSIONS[self.dimension].label
        plain = self.sample.strip('"')
        if self.dimension == "strength":
            return _strength(raw, name, plain)
        if self.dimension == "gravity":
            return gravity_from(units.parse_gravity(raw, field=name, example=plain))
        return units.parse_quantity(raw, self.dimension, field=name, example=plain)

    def within(self, value: float, raw: object) -> float:
        """Return the value if it lies in the range, or raise InputError."""
        if self.low <= value <= self.high:
            if self.dimension == "count" and value != int(value):
                raise InputError("number", raw, "a whole number is needed", f"Write {self.sample}.")
            return value
        low, high = (self.bound(bound) for bound in (self.low, self.high))
        allowed = f"allowed is {low} to {high}"
        if self.why:
            allowed += f"; {self.why}"
        name = units.DIMENSIONS[self.dimension].label
        raise InputError(name, raw, allowed, f"Write for example {self.sample}.")

    def bound(self, value: float) -> str:
        """Return one end of the range for a person."""
        fixed = units.DIMENSIONS[self.dimension].decimals is not None
        text = units.format_quantity(value, self.dimension, digits=6 if fixed else None)
        return re.sub(r"(\.\d*?)0+(?= |$)", r"\1", text).replace(". ", " ").rstrip(".")

    def __get_pydantic_core_schema__(self, source: Any, handler: object) -> CoreSchema:
        """Let pydantic read the value with :meth:`read`."""
        return reader_schema(self.read)


def reader_schema(read: Callable[[object], object]) -> CoreSchema:
    """Return the pydantic schema that reads a value with one of our own functions."""
    from pydantic_core import core_schema  # noqa: PLC0415 - pydantic stays out of the cold path

    return core_schema.no_info_plain_validator_function(read)


def _strength(raw: object, field: str, example: str) -> float:
    strength = units.parse_strength(raw, field=field, example=example)
    if strength.kind == "proof_60F" and not 0.0 <= strength.value <= 200.0:
        raise InputError(field, raw, "proof goes from 0 to 200", 'Write for example "80 proof".')
    if strength.kind == "mass" and not 0.0 <= strength.value <= 1.0:
        raise InputError(field, raw, "per cent by mass goes from 0 to 100", 'Write "40 %mass".')
    return strength_from(strength)


@dataclass(frozen=True, slots=True)
class Setting:
    """A power setting: a share of full power or watts; the still decides between them.

    Parameters
    ----------
    fraction, power : float or None
        Exactly one is set; 0 to 1, or watts.
    """

    fraction: float | None = None
    power: float | None = None


SHARE_OF_POWER = Quantity("fraction", 0.02, 1.0, "full power is 100 %")
"""What a share of full power may be."""

_POWER = Quantity("power", 10.0, 2.0e5)


def read_setting(raw: object) -> Setting:
    """Return a power setting such as "60 %" or "1.4 kW"."""
    text = raw if isinstance(raw, str) else ""
    if text.rstrip().endswith("%") or not re.search(r"[A-Za-z]", text):
        return Setting(fraction=SHARE_OF_POWER.read(raw))
    return Setting(power=_POWER.read(raw))


CONDITIONS: Mapping[str, Quantity] = {
    "volume": Quantity("volume", 1.0e-6, 2.0),
    "strength": Quantity("strength", 0.001, HIGHEST_STRENGTH, AZEOTROPE, '"62 %vol"'),
    "head_temperature": Quantity("temperature", 323.15, 378.15, "", '"92 °C"'),
    "time": Quantity("duration", 1.0, 7.0 * 86400.0, "", '"35 min"'),
    "boiler_volume": Quantity("volume", 1.0e-5, 2.0, "", '"4 L"'),
}
"""The ways to say when a cut ends, by key, and what each may be."""

_UNTIL_BY_DIMENSION = {
    "volume": "volume",
    "strength": "strength",
    "temperature": "head_temperature",
    "duration": "time",
}
_UNTIL_ALLOWED = "a cut ends at a strength, a volume, a still-head temperature or a time"
_UNTIL_REMEDY = (
    'Write "62 %vol", "500 mL", "92 °C", "35 min", or { boiler_volume = "4 L" } for what is left.'
)
_LEADING_NUMBER = re.compile(r"^[\s+\-−]*[0-9.,' ]+")


def read_until(raw: object) -> Until:
    """Return when a cut ends; the unit says which quantity is meant."""
    if isinstance(raw, Mapping):
        if len(raw) != 1:
            raise InputError("until", "a table", "exactly one condition is wanted", _UNTIL_REMEDY)
        ((key, value),) = raw.items()
        if key not in CONDITIONS:
            allowed = f"the conditions are {', '.join(CONDITIONS)}"
            raise InputError("until", key, allowed, _UNTIL_REMEDY)
        return Until(**{key: CONDITIONS[key].read(value)})
    if not isinstance(raw, str):
        raise UnitError("until", raw, _UNTIL_ALLOWED, _UNTIL_REMEDY)
    unit = re.split(r"\s", _LEADING_NUMBER.sub("", raw), maxsplit=1)[0]
    whole = _LEADING_NUMBER.sub("", raw).strip()
    for name in (*units.dimension_of(whole), *units.dimension_of(unit)):
        if name in _UNTIL_BY_DIMENSION:
            key = _UNTIL_BY_DIMENSION[name]
            return Until(**{key: CONDITIONS[key].read(raw)})
    raise UnitError("until", raw, _UNTIL_ALLOWED, meant(raw, "strength") or _UNTIL_REMEDY)


_WATER = Quantity("volume", 0.0, 2.0)
_WATER_MASS = Quantity("mass", 0.0, 2000.0)


def read_water(raw: object) -> float:
    """Return kilograms of water given by volume at 20 °C or by mass."""
    unit = _LEADING_NUMBER.sub("", raw).strip() if isinstance(raw, str) else ""
    if "mass" in units.dimension_of(unit):
        return _WATER_MASS.read(raw)
    return _WATER.read(raw) * alcoholometry.WATER_DENSITY_20


@dataclass(frozen=True, slots=True)
class Level:
    """The user's own level of a compound in a liquid, with its range.

    Parameters
    ----------
    low, typical, high : float
        In that order of size. [kg m⁻³]
    """

    low: float
    typical: float
    high: float


_LEVEL = Quantity("mass_concentration", 0.0, 50.0)


def read_level(raw: object) -> Level:
    """Return a level such as "25 mg/L" or { low = …, typical = …, high = … }."""
    if not isinstance(raw, Mapping):
        value = _LEVEL.read(raw)
        return Level(value, value, value)
    keys = ("low", "typical", "high")
    remedy = 'Write { low = "10 mg/L", typical = "25 mg/L", high = "60 mg/L" }.'
    if set(raw) != set(keys):
        raise InputError("level", "a table", f"its keys are {', '.join(keys)}", remedy)
    low, typical, high = (_LEVEL.read(raw[key]) for key in keys)
    if not low <= typical <= high:
        raise InputError("level", "a table", "low, typical and high have to rise", remedy)
    return Level(low, typical, high)


@dataclass(frozen=True, slots=True)
class Price:
    """A price per SI unit.

    Parameters
    ----------
    amount : float
        [currency J⁻¹] or [currency m⁻³]
    currency : str
        As written; "" when none was.
    """

    amount: float
    currency: str


_PRICE = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*([^\s/0-9]{0,8})\s*/\s*(\S+)")


def read_price(raw: object, *, dimension: str, example: str) -> Price:
    """Return a price such as "0.32 EUR/kWh"."""
    match = _PRICE.fullmatch(raw.strip()) if isinstance(raw, str) and len(raw) < 60 else None
    if match is None:
        raise UnitError("price", raw, "a price names its currency and unit", f'Write "{example}".')
    number, currency, unit = match.groups()
    per = units.parse_quantity(f"1 {unit}", dimension, field="price")
    return Price(float(number.replace(",", ".")) / per, currency)


_DOSE = Quantity("volume", 1.0e-7, 2.0)


def read_dose(raw: object) -> float:
    """Return a dose such as "12 mL/L" as volume per volume."""
    example = 'Write for example "12 mL/L".'
    first, slash, per = raw.partition("/") if isinstance(raw, str) else ("", "", "")
    if not slash or not per.strip():
        raise UnitError("dose", raw, "a dose is a volume per volume of the rest", example)
    number = per if re.match(r"\s*[0-9]", per) else f"1 {per}"
    dose = _DOSE.read(first) / units.parse_quantity(number, "volume", field="dose")
    if not 1.0e-6 <= dose <= 1.0:
        raise InputError("dose", raw, "allowed is 0.001 mL/L to 1000 mL/L", example)
    return dose


def read_date(raw: object) -> dt.datetime:
    """Return a date or a date and time, without a time zone; a date alone means noon."""
    if isinstance(raw, str):
        try:
            raw = dt.datetime.fromisoformat(raw)
        except ValueError:
            raw = None
        else:
            raw = raw.replace(hour=12) if raw.time() == dt.time() else raw
    if isinstance(raw, dt.datetime):
        return raw.replace(tzinfo=None)
    if isinstance(raw, dt.date):
        return dt.datetime(raw.year, raw.month, raw.day, 12)  # noqa: DTZ001 - local wall time
    raise InputError("date", raw, "a date is wanted", 'Write "2026-03-05" or "2026-03-05 18:30".')


def find_compound(name: str, own: Iterable[OwnCompound] = ()) -> str:
    """Return the name of a compound of the table or of the user's own, or raise InputError."""
    from middlecut.liquid import compounds  # noqa: PLC0415 - only plans with own levels need it

    try:
        return compounds.find(name, own).name
    except NotFoundError as error:
        near = " or ".join(f'"{word}"' for word in error.near)
        describe = f"describe it in a section [compound.{name}]"
        remedy = f"Did you mean {near}? Or {describe}." if near else f"{describe.capitalize()}."
        raise InputError("compound", name, "no compound of that name is known", remedy) from None
    except MiddlecutError as error:
        raise InputError("compound", name, str(error)) from None
