# SPDX-License-Identifier: MIT
"""Make the batch, the stills and the lots of earlier batches out of their tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from middlecut.errors import OutOfRangeError
from middlecut.liquid import alcoholometry
from middlecut.plan.model import Batch
from middlecut.plan.positions import Path
from middlecut.plan.problems import Problems
from middlecut.plan.quantities import Level
from middlecut.steps.lot import SOLIDS_VOLUME, Amount, Lot
from middlecut.steps.still import Still

if TYPE_CHECKING:
    from middlecut.plan import schema

__all__ = ["build_batch", "build_lot", "build_still", "own_amount"]

_BASIS = "estimate"
"""Basis of the user's own levels: nobody has said how they were measured."""


def build_batch(table: schema.BatchTable, problems: Problems) -> Batch:
    """Return the batch, its pressure given or from the altitude."""
    pressure = 101325.0
    if table.pressure is not None:
        pressure = table.pressure
    elif table.altitude is not None:
        from middlecut.liquid import atmosphere  # noqa: PLC0415 - NumPy only where it is needed

        pressure = float(atmosphere.pressure_from_altitude(table.altitude))
    currency = table.currency or ""
    for key in ("energy_price", "water_price"):
        price = getattr(table, key)
        if price is None or not price.currency:
            continue
        currency = currency or price.currency
        if price.currency != currency:
            message = f'this price is in "{price.currency}", others are in "{currency}"'
            problems.add(("batch", key), message, "Use one currency in a plan.")
    return Batch(
        name=table.name,
        pressure=pressure,
        altitude=table.altitude,
        currency=currency,
        energy_price=table.energy_price.amount if table.energy_price else None,
        water_price=table.water_price.amount if table.water_price else None,
        notes=table.notes,
    )


def build_still(name: str, table: schema.StillTable, problems: Problems) -> Still:
    """Return the still of one section, its stages from whichever way the column is given."""
    path: Path = ("still", name)
    stages = _stages(table)
    holdup = table.stage_holdup or 0.0
    if table.column_holdup is not None:
        if stages <= 0.0:
            problems.add(
                (*path, "column_holdup"),
                "this still has no column to hold liquid",
                "Give the column as plates, packing_height with hetp, or stages.",
            )
        holdup = table.column_holdup / (stages or 1.0)
    if (table.element_covered_above or 0.0) >= table.boiler_volume:
        problems.add(
            (*path, "element_covered_above"),
            "the boiler is never full enough to cover the element",
            "Give the least liquid that covers the heating element.",
        )
    plain = {
        key: getattr(table, key)
        for key in (
            "safe_fill", "heater_efficiency", "boiler_loss", "still_heat_capacity",
            "column_diameter", "column_loss", "head_loss", "head_holdup", "head_efficiency",
            "coolant_duty", "reflux_ratio", "condenser_duty", "coolant_rise", "basket_volume",
            "element_covered_above",
        )
        if getattr(table, key) is not None
    }  # fmt: skip
    return Still(
        name=name,
        boiler_volume=table.boiler_volume,
        heater_power=table.heater_power,
        stages=stages,
        stage_holdup=holdup,
        drains_back=table.drains_back,
        element_known=table.element_covered_above is not None,
        head_known=table.head_efficiency is not None,
        **plain,
    )


def _stages(table: schema.StillTable) -> float:
    """Return the equilibrium stages; that the column is given in one way is checked before."""
    if table.plates is not None:
        return table.plates * (table.plate_efficiency or 1.0)
    if table.packing_height is not None:
        return table.packing_height / (table.hetp or table.packing_height)
    return table.stages or 0.0


def own_amount(level: Level, scale: float = 1.0) -> Amount:
    """Return the user's own level of a compound as an amount, times a factor."""
    return Amount(level.typical, level.low, level.high, _BASIS).scaled(scale)


def build_lot(name: str, table: schema.LotTable, problems: Problems) -> Lot | None:
    """Return a lot of an earlier batch from its volume, strength and extract."""
    solids = (table.extract or 0.0) * table.volume
    liquid = table.volume - solids * SOLIDS_VOLUME
    strength = table.strength * table.volume / liquid
    try:
        mass_fraction = float(alcoholometry.mass_fraction_from_strength(strength))
    except OutOfRangeError:
        problems.add(
            ("lot", name, "extract"), "so much extract leaves no room for the alcohol", "Lower it."
        )
        return None
    mass = liquid * float(alcoholometry.density_20(mass_fraction))
    return Lot(
        name=name,
        water=mass * (1.0 - mass_fraction),
        ethanol=mass * mass_fraction,
        solids=solids,
        amounts={key: own_amount(level, table.volume) for key, level in table.compounds.items()},
        temperature=table.temperature if table.temperature is not None else 293.15,
    )
