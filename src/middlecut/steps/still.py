# SPDX-License-Identifier: MIT
"""The description of a still, as the distil step needs it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Still"]


@dataclass(frozen=True, slots=True)
class Still:
    """A still: boiler, column, head, condenser. SI units throughout.

    Parameters
    ----------
    name : str
    boiler_volume : float
        Brim volume. [m³]
    heater_power : float
        Electrical power at full setting. [W]
    safe_fill : float
        Highest fill as a fraction of the boiler volume; a conservative default, no published
        figure exists.
    heater_efficiency : float
        Share of the electrical power that reaches the liquid, 0 to 1.
    boiler_loss : float
        Heat the boiler loses to the room at boiling temperature. [W]
    still_heat_capacity : float
        Metal of boiler, column and head, heated from the charge temperature. [J K⁻¹]
    stages : float
        Equilibrium stages of the column above the boiler (0 for a plain pot), as given or from
        packing height over HETP, or plates times efficiency. What is left over a whole number is a
        last stage on which only that share of the vapour comes to equilibrium.
    column_diameter : float
        Inner diameter. [m] 0 when there is no column.
    stage_holdup : float
        Liquid on one stage. [m³]
    column_loss : float
        Heat the whole column loses to the room, spread evenly. [W]
    head_loss : float
        Heat the still head loses to the room: passive reflux. [W]
    head_holdup : float
        Liquid held in head and condenser. [m³]
    head_efficiency : float
        Share of the vapour that comes to equilibrium with what the head condenses, 0 to 1: 1 counts
        the head as an equilibrium stage, 0 as a wall that condenses without separating, as a cold
        coil in fast vapour nearly does.
    head_known : bool
        Whether ``head_efficiency`` was stated; an unknown one of a cooled head earns a caution.
    coolant_duty : float
        Heat taken by a coolant-fed reflux condenser in the head. [W]
    reflux_ratio : float or None
        Liquid returned over distillate taken, where the still divides its condensate; None for
        a still without such a divider.
    condenser_duty : float
        Largest heat the product condenser can take. [W]
    coolant_rise : float
        Temperature rise allowed in the cooling water. [K]
    basket_volume : float
        [m³] 0 when there is no vapour basket.
    element_covered_above : float
        Least liquid that covers the heating element. [m³] 0 when nothing can be uncovered
        (outside heating).
    element_known : bool
        Whether ``element_covered_above`` was stated; an unknown one earns a caution.
    drains_back : bool
        Whether liquid on stages and in the head runs back into the boiler at the end.
    flood_capacity : float
        Capacity factor C_s at flooding on vapour density. [m s⁻¹]
    """

    name: str
    boiler_volume: float
    heater_power: float
    safe_fill: float = 2.0 / 3.0
    heater_efficiency: float = 0.97
    boiler_loss: float = 0.0
    still_heat_capacity: float = 0.0
    stages: float = 0.0
    column_diameter: float = 0.0
    stage_holdup: float = 0.0
    column_loss: float = 0.0
    head_loss: float = 0.0
    head_holdup: float = 2.0e-6
    head_efficiency: float = 1.0
    head_known: bool = True
    coolant_duty: float = 0.0
    reflux_ratio: float | None = None
    condenser_duty: float = 0.0
    coolant_rise: float = 30.0
    basket_volume: float = 0.0
    element_covered_above: float = 0.0
    element_known: bool = True
    drains_back: bool = True
    flood_capacity: float = 0.08
