# SPDX-License-Identifier: MIT
"""The shape of a plan file, table by table; pydantic refuses what does not fit.

Each class is one kind of TOML table. Values are in SI once read. What ties tables together (lots,
stills, order) is judged in :mod:`middlecut.plan.flow` and :mod:`middlecut.plan.build`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    StringConstraints,
    ValidationInfo,
)

from middlecut.errors import InputError
from middlecut.liquid.alcoholometry.surface import HIGHEST_TEMPERATURE
from middlecut.liquid.equilibrium import PRESSURE_RANGE
from middlecut.liquid.extract.balling import HIGHEST_ATTENUATION, LOWEST_WORT
from middlecut.liquid.extract.gravity import HIGHEST_GRAVITY, LOWEST_GRAVITY
from middlecut.liquid.oak_rates import LONGEST_CONTACT, STORAGE_TEMPERATURES
from middlecut.liquid.own_names import OwnCompound
from middlecut.plan.meant import altitude_in_doubt
from middlecut.plan.quantities import (
    AZEOTROPE,
    HIGHEST_STRENGTH,
    Level,
    Price,
    Quantity,
    Setting,
    find_compound,
    read_date,
    read_dose,
    read_level,
    read_price,
    read_setting,
    read_until,
    read_water,
)
from middlecut.steps.gravity_course import TEMPERATURE_RANGE as YEAST_TEMPERATURES
from middlecut.steps.parameters import Until

__all__ = [
    "ENTRY_POINTS",
    "KINDS",
    "BatchTable",
    "LotTable",
    "StepTable",
    "StillTable",
]

ENTRY_POINTS = ("wash-early", "wash-late", "charge", "basket", "steep", "dose")

Id = Annotated[str, StringConstraints(strict=True, max_length=40, pattern=r"^\w[\w-]*$")]
Name = Annotated[
    str,
    StringConstraints(strict=True, min_length=1, max_length=60, pattern=r"^\S([^\x00-\x1f]*\S)?$"),
]
Text = Annotated[str, StringConstraints(strict=True, max_length=20_000)]

Volume = Annotated[float, Quantity("volume", 1.0e-5, 5.0)]
VolumeOrNone = Annotated[float, Quantity("volume", 0.0, 2.0, example='"1 L"')]
Heat = Annotated[float, Quantity("power", 0.0, 2.0e5, example='"80 W"')]
Temperature = Annotated[float, Quantity("temperature", 273.15, 318.15, example='"20 °C"')]
WaterTemperature = Annotated[
    float, Quantity("temperature", 273.15, HIGHEST_TEMPERATURE, "liquid water", '"15 °C"')
]
Strength = Annotated[float, Quantity("strength", 0.001, HIGHEST_STRENGTH, AZEOTROPE, '"46 %vol"')]
_HEAVY = "thin a heavier wort with a known share of water and measure that"

PowerSetting = Annotated[Setting, BeforeValidator(read_setting)]


class Table(BaseModel):
    """Any table of a plan: unknown keys are refused, values are frozen once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


def _own(info: ValidationInfo) -> tuple[OwnCompound, ...]:
    """Return the user's own compounds, which the reader hands to every table."""
    return tuple(info.context or ())


def _compound(raw: str, info: ValidationInfo) -> str:
    return find_compound(raw, _own(info))


def _one_name_each(raw: object, info: ValidationInfo) -> object:
    """Refuse two names of one compound; anything else is judged entry by entry."""
    if not isinstance(raw, Mapping):
        remedy = 'Write { "ethyl acetate" = "25 mg/L" }.'
        raise InputError("compounds", "a single value", "a table is wanted", remedy)
    seen: dict[str, str] = {}
    for name in raw:
        try:
            first = seen.setdefault(find_compound(str(name), _own(info)), str(name))
        except InputError:
            continue
        if first != name:
            allowed = f"it is the same compound as {first!r}"
            raise InputError("compound", name, allowed, "Keep one of the two.")
    return raw


CompoundLevels = Annotated[
    dict[
        Annotated[str, PlainValidator(_compound)],
        Annotated[Level, BeforeValidator(read_level)],
    ],
    BeforeValidator(_one_name_each),
]


def _as_takes(raw: object) -> object:
    """Return a list of tables for every way to say which lots a step takes."""
    items = raw if isinstance(raw, list) else [raw]
    return [{"lot": item} if isinstance(item, str) else item for item in items]


class TakeTable(Table):
    """One lot a step takes from: all of what is left, a volume, or a share of what is left."""

    lot: Name
    volume: Annotated[float, Quantity("volume", 1.0e-6, 5.0)] | None = None
    fraction: Annotated[float, Quantity("fraction", 1.0e-4, 1.0)] | None = None
    dose: Annotated[float, BeforeValidator(read_dose)] | None = None


Takes = Annotated[
    tuple[TakeTable, ...], BeforeValidator(_as_takes), Field(alias="from", min_length=1)
]


class AddTable(Table):
    """An ingredient added in a step, where and when."""

    ingredient: Name
    amount: Annotated[float, Quantity("mass", 1.0e-6, 500.0, "of ingredient", '"60 g"')]
    entry: Literal["wash-early", "wash-late", "charge", "basket", "steep", "dose"] | None = None
    form: Literal["whole", "coarse", "fine"] | None = None
    after: Annotated[float, Quantity("duration", 0.0, 3.2e7, "from pitching", '"4 d"')] | None = (
        None
    )
    on: Annotated[dt.datetime, BeforeValidator(read_date)] | None = None
    attenuation: (
        Annotated[float, Quantity("fraction", 0.0, 1.0, "of the fall in gravity", '"90 %"')] | None
    ) = None
    contact: Annotated[float, Quantity("duration", 60.0, 3.2e7, example='"2 d"')] | None = None


class BatchTable(Table):
    """The ``[batch]`` section."""

    name: Name
    altitude: (
        Annotated[
            float,
            Quantity("length", -400.0, 4000.0, example='"350 m"'),
            BeforeValidator(altitude_in_doubt),
        ]
        | None
    ) = None
    pressure: (
        Annotated[float, Quantity("pressure", *PRESSURE_RANGE, "the equilibrium tables cover that")]
        | None
    ) = None
    currency: Annotated[str, StringConstraints(strict=True, pattern=r"^[^\s/0-9]{1,8}$")] | None = (
        None
    )
    energy_price: (
        Annotated[
            Price,
            BeforeValidator(
                lambda raw: read_price(raw, dimension="energy", example="0.32 EUR/kWh")
            ),
        ]
        | None
    ) = None
    water_price: (
        Annotated[
            Price,
            BeforeValidator(lambda raw: read_price(raw, dimension="volume", example="4.10 EUR/m3")),
        ]
        | None
    ) = None
    start: Annotated[dt.datetime, BeforeValidator(read_date)] | None = None
    notes: Text = ""


class StillTable(Table):
    """A ``[still.NAME]`` section; the column is given in exactly one of three ways."""

    boiler_volume: Annotated[float, Quantity("volume", 5.0e-4, 2.0, example='"30 L"')]
    heater_power: Annotated[float, Quantity("power", 50.0, 2.0e5)]
    safe_fill: (
        Annotated[float, Quantity("fraction", 0.1, 0.9, "foam needs room", '"66 %"')] | None
    ) = None
    heater_efficiency: Annotated[float, Quantity("fraction", 0.1, 1.0, "", '"97 %"')] | None = None
    boiler_loss: Heat | None = None
    still_heat_capacity: Annotated[float, Quantity("heat_capacity", 0.0, 2.0e6)] | None = None
    stages: Annotated[float, Quantity("ratio", 0.0, 60.0, example="4")] | None = None
    plates: Annotated[float, Quantity("count", 1.0, 60.0)] | None = None
    plate_efficiency: Annotated[float, Quantity("fraction", 0.05, 1.0)] | None = None
    packing_height: Annotated[float, Quantity("length", 0.01, 10.0)] | None = None
    hetp: Annotated[float, Quantity("length", 0.01, 2.0, example='"12 cm"')] | None = None
    column_diameter: Annotated[float, Quantity("length", 0.005, 1.0, example='"5 cm"')] | None = (
        None
    )
    stage_holdup: Annotated[float, Quantity("volume", 0.0, 5.0e-3, example='"20 mL"')] | None = None
    column_holdup: Annotated[float, Quantity("volume", 0.0, 0.1, example='"80 mL"')] | None = None
    column_loss: Heat | None = None
    head_loss: Heat | None = None
    head_holdup: Annotated[float, Quantity("volume", 0.0, 0.02, example='"5 mL"')] | None = None
    head_efficiency: Annotated[float, Quantity("fraction", 0.0, 1.0, "", '"50 %"')] | None = None
    coolant_duty: Annotated[float, Quantity("power", 0.0, 2.0e5, example='"600 W"')] | None = None
    reflux_ratio: Annotated[float, Quantity("ratio", 0.0, 1000.0)] | None = None
    condenser_duty: Annotated[float, Quantity("power", 10.0, 5.0e5, example='"3 kW"')] | None = None
    coolant_rise: Annotated[float, Quantity("temperature_difference", 1.0, 90.0)] | None = None
    basket_volume: VolumeOrNone | None = None
    element_covered_above: (
        Annotated[float, Quantity("volume", 0.0, 2.0, example='"4 L"')] | None
    ) = None
    drains_back: Annotated[bool, Field(strict=True)] = True


class LotTable(Table):
    """A ``[lot.NAME]`` section: a lot of an earlier batch, such as feints carried over."""

    volume: Volume
    strength: Annotated[float, Quantity("strength", 0.0, 0.972, AZEOTROPE, '"28 %vol"')]
    temperature: Temperature | None = None
    extract: (
        Annotated[float, Quantity("mass_concentration", 0.0, 400.0, example='"5 g/L"')] | None
    ) = None
    compounds: CompoundLevels = Field(default_factory=dict)


class StepBase(Table):
    """What every step has."""

    id: Id
    add: tuple[AddTable, ...] = ()
    notes: Text = ""


class ReserveTable(Table):
    """A further lot split off a cleared wash."""

    into: Name
    volume: Volume


class FermentTable(StepBase):
    """``kind = "ferment"``."""

    kind: Literal["ferment"]
    into: Name
    volume: Volume
    gravity: Annotated[float, Quantity("gravity", LOWEST_WORT, HIGHEST_GRAVITY, _HEAVY)]
    final_gravity: (
        Annotated[float, Quantity("gravity", LOWEST_GRAVITY, HIGHEST_GRAVITY, "", '"1.010 SG"')]
        | None
    ) = None
    attenuation: (
        Annotated[float, Quantity("fraction", 0.05, HIGHEST_ATTENUATION, "apparent", '"80 %"')]
        | None
    ) = None
    temperature: Annotated[
        float, Quantity("temperature", *YEAST_TEMPERATURES, "the range of most yeasts")
    ]
    duration: Annotated[float, Quantity("duration", 3600.0, 3.2e7)]
    settling: Annotated[float, Quantity("duration", 0.0, 3.2e7, example='"2 d"')] = 0.0
    lees: VolumeOrNone = 0.0
    reserve: tuple[ReserveTable, ...] = ()
    compounds: CompoundLevels = Field(default_factory=dict)
    profile: Literal["grain", "sugar", "fruit"] = "grain"
    pitched: Annotated[dt.datetime, BeforeValidator(read_date)] | None = None


class DrawTable(StepBase):
    """``kind = "draw"``."""

    kind: Literal["draw"]
    takes: Annotated[Takes, Field(max_length=1)]
    into: Name


class CutTable(Table):
    """One cut of a distil step."""

    into: Name
    until: Annotated[Until, BeforeValidator(read_until)]
    power: PowerSetting | None = None
    coolant_duty: Annotated[float, Quantity("power", 0.0, 2.0e5, example='"600 W"')] | None = None
    reflux_ratio: Annotated[float, Quantity("ratio", 0.0, 1000.0)] | None = None
    jars: Annotated[float, Quantity("volume", 1.0e-5, 0.1, example='"500 mL"')] | None = None


class PowerChangeTable(Table):
    """A change of the power setting on the way."""

    at: Annotated[Until, BeforeValidator(read_until)]
    power: PowerSetting


class DistilTable(StepBase):
    """``kind = "distil"``."""

    kind: Literal["distil"]
    takes: Takes
    still: Name
    purpose: Literal["strip", "spirit", "flavour"]
    cuts: Annotated[tuple[CutTable, ...], Field(min_length=1)]
    residue: Name | None = None
    water: Annotated[float, BeforeValidator(read_water)] = 0.0
    power: PowerSetting = Setting(fraction=1.0)
    heat_up_power: PowerSetting = Setting(fraction=1.0)
    total_reflux: Annotated[float, Quantity("duration", 0.0, 172800.0, example='"30 min"')] = 0.0
    power_changes: tuple[PowerChangeTable, ...] = ()
    charge_temperature: (
        Annotated[float, Quantity("temperature", 273.15, 343.15, example='"20 °C"')] | None
    ) = None


class BlendTable(StepBase):
    """``kind = "blend"``."""

    kind: Literal["blend"]
    takes: Takes
    into: Name


class DiluteTable(StepBase):
    """``kind = "dilute"``."""

    kind: Literal["dilute"]
    takes: Annotated[Takes, Field(max_length=1)]
    strength: Strength
    into: Name
    additions: Annotated[float, Quantity("count", 1.0, 50.0, example="3")] = 1.0
    water_temperature: WaterTemperature = 293.15


class BottleTable(StepBase):
    """``kind = "bottle"``."""

    kind: Literal["bottle"]
    takes: Annotated[Takes, Field(max_length=1)]
    into: Name
    bottle_volume: Annotated[float, Quantity("volume", 1.0e-5, 5.0e-3, example='"500 mL"')]
    strength: Strength
    tolerance: Annotated[float, Quantity("strength", 0.0, 0.02, "", '"0.3 %vol"')] = 0.003
    loss: Annotated[float, Quantity("volume", 0.0, 0.1, example='"50 mL"')] = 0.0


class SteepTable(StepBase):
    """``kind = "steep"``: ingredients left in a lot and strained off."""

    kind: Literal["steep"]
    takes: Annotated[Takes, Field(max_length=1)]
    into: Name
    duration: Annotated[float, Quantity("duration", 60.0, 3.2e7)]
    temperature: Annotated[float, Quantity("temperature", 263.15, 363.15)] = 293.15
    stirred: Annotated[bool, Field(strict=True)] = False


class WoodTable(StepBase):
    """``kind = "wood"``: in a cask, or with pieces of oak in a closed vessel."""

    kind: Literal["wood"]
    takes: Annotated[Takes, Field(max_length=1)]
    into: Name
    duration: Annotated[float, Quantity("duration", 3600.0, LONGEST_CONTACT, example='"90 d"')]
    form: Literal["cask", "staves", "cubes", "chips", "shavings"]
    species: Literal["american oak", "european oak", "sessile oak", "pedunculate oak"]
    treatment: Literal[
        "untoasted", "light toast", "medium toast", "heavy toast", "light char", "heavy char"
    ]
    cask_volume: (
        Annotated[float, Quantity("volume", 1.0e-3, 0.5, "casks of 1 to 500 L", '"20 L"')] | None
    ) = None
    dose: (
        Annotated[float, Quantity("mass_concentration", 0.001, 500.0, example='"4 g/L"')] | None
    ) = None
    area: Annotated[float, Quantity("area", 1.0e-6, 100.0)] | None = None
    piece: (
        Annotated[
            tuple[Annotated[float, Quantity("length", 1.0e-4, 2.0, example='"10 mm"')], ...],
            Field(min_length=3, max_length=3),
        ]
        | None
    ) = None
    temperature: (
        Annotated[
            float,
            Quantity("temperature", *STORAGE_TEMPERATURES, "hotter is forced ageing", '"18 °C"'),
        ]
        | None
    ) = None
    climate: Literal["cool damp", "temperate", "hot dry", "tropical"] | None = None
    yearly_loss: Annotated[float, Quantity("fraction", 0.0, 0.5, example='"3 %"')] | None = None
    earlier_fills: Annotated[float, Quantity("count", 0.0, 20.0, example="1")] = 0.0
    forced: Text = ""


StepTable = (
    FermentTable
    | DrawTable
    | DistilTable
    | BlendTable
    | DiluteTable
    | BottleTable
    | SteepTable
    | WoodTable
)

KINDS: Mapping[str, type[StepBase]] = {
    "ferment": FermentTable,
    "draw": DrawTable,
    "distil": DistilTable,
    "blend": BlendTable,
    "dilute": DiluteTable,
    "bottle": BottleTable,
    "steep": SteepTable,
    "wood": WoodTable,
}
"""The table class of each kind of step."""
