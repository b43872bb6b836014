# SPDX-License-Identifier: MIT
"""Our numbers for the published rows on flavour.

Used by ``tools/validate_flavour.py`` and by the tests, so that both compare the same.
"""

from __future__ import annotations

import csv
import math
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from middlecut.insight.odour import odour_profile
from middlecut.liquid import alcoholometry, aroma, compounds, extraction, ingredients
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Addition
from middlecut.steps.wash_release import release_in_wash

if TYPE_CHECKING:
    from middlecut.insight.odour import OdourProfile
    from middlecut.liquid.ingredients import Form

DATA = Path(__file__).resolve().parent.parent / "tests" / "reference" / "data"
HOUR = 3600.0
GAS_CONSTANT = 8.314462618
COLD = {"cold 6.5 h": (6.5, 296.15), "cold 10 h": (10.0, 293.15)}
WASH = Lot("wash", water=15.0, ethanol=1.2)
CARBON_DIOXIDE = 0.47  # g per g of fermentable sugar


@lru_cache
def read(name: str) -> list[dict[str, str]]:
    """Return the rows of a table of the references."""
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def rows(kind: str) -> list[dict[str, str]]:
    """Return the published rows of one kind."""
    return [row for row in read("flavour_checks") if row["kind"] == kind]


def gas_volume(sugar: float, kelvin: float) -> float:
    """Litres of CO2 a litre of wash gives off; `sugar` in g/L."""
    return sugar * CARBON_DIOXIDE / 44.01 * GAS_CONSTANT * kelvin / 101.325


def ethanol_loss(row: dict[str, str]) -> float:
    """Per cent of the ethanol that goes with the gas; Henry constant 1.9 mol/(m³ Pa), 6400 K."""
    kelvin = float(row["temperature"]) + 273.15
    constant = 1.9 * math.exp(6400.0 * (1.0 / kelvin - 1.0 / 298.15))
    partition = 1.0 / (constant * GAS_CONSTANT * kelvin)
    gas = gas_volume(float(row["sugar"]), kelvin)
    return 100.0 * extraction.stripped_fraction_produced(partition, gas)


def stripping_losses(row: dict[str, str]) -> tuple[float, float]:
    """Per cent of a compound that goes with the gas: if there from the start, if made meanwhile."""
    kelvin = float(row["temperature_c"]) + 273.15
    gas = gas_volume(float(row["sugar"]), kelvin)
    carried = aroma.air_water_partition(row["cas"], kelvin) * gas
    return -100.0 * math.expm1(-carried), 100.0 * (1.0 + math.expm1(-carried) / carried)


def cold_share(hours: float, kelvin: float) -> float:
    """Share of the way that caffeine has gone from ground coffee into cold water."""
    coffee = ingredients.find("coffee")
    cold = extraction.extraction("caffeine", coffee, temperature=kelvin, strength=0.0)
    return 1.0 - math.exp(-cold.rate.typical * hours * HOUR)


def transfer(compound: str, *, strength: float = 0.0) -> float:
    """Return the share that goes from 54 g of ground coffee into a litre, given time."""
    coffee = ingredients.find("coffee")
    release = extraction.extraction(compound, coffee, temperature=365.15, strength=strength)
    return release.released_share(math.inf, solid=0.054, liquid=1e-3)


def in_the_wash(name: str, compound: str, *, time: float, form: Form = "fine") -> tuple[float, ...]:
    """Shares in the liquid, blown off and converted, added at a time since pitching."""
    shares = release_in_wash(
        Addition(ingredients.find(name), 0.05, "wash-early", form=form, time=time),
        wash=WASH,
        carbon_dioxide=1.15,
        temperature=293.15,
        duration=6 * 86400.0,
        settling=2 * 86400.0,
    )[compound]
    return shares.liquid.typical, shares.blown, shares.converted


def converted(name: str, compound: str) -> float:
    """Share of what was released that yeast converts, added at pitching."""
    found = in_the_wash(name, compound, time=0.0)
    return found[2] / sum(found)


def oil(name: str) -> float:
    """Markers per mass of ingredient."""
    return sum(marker.typical for marker in ingredients.find(name).tracked)


def whisky(spirit: str) -> Lot:
    """One litre of a whisky at 40 % with its published odorants."""
    fraction = alcoholometry.mass_fraction_from_strength(0.4)
    mass = alcoholometry.density_20(fraction) * 1e-3
    found = {
        compounds.find(row["compound"]).name: float(row["level"]) * 1e-6
        for row in read("whisky_odorants")
        if row["spirit"] == spirit
    }
    return Lot(
        spirit,
        water=mass * (1.0 - fraction),
        ethanol=mass * fraction,
        amounts={name: Amount(kg, kg, kg, "read") for name, kg in found.items()},
    )


def profile(spirit: str) -> OdourProfile:
    """Odour activity values of that litre."""
    return odour_profile(whisky(spirit))


def published_oav(row: dict[str, str]) -> float:
    """Level of the table over the recalled threshold in 40 %, by hand."""
    level = next(
        float(one["level"])
        for one in read("whisky_odorants")
        if (one["spirit"], one["compound"]) == (row["ingredient"], row["compound"])
    )
    return level * 1e3 / float(row["low"])


def ours(row: dict[str, str]) -> float:
    """Return our number beside a published row of flavour_checks."""
    kind, name, compound = row["kind"], row["ingredient"], row["compound"]
    if kind in COLD:
        return cold_share(*COLD[kind])
    if kind == "hot brew":
        return transfer(compound)
    if kind == "yeast":
        return converted(name, compound)
    if kind == "oil":
        return oil(name)
    return next(one.oav for one in profile(name).rows if one.compound == compound)
