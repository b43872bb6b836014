# SPDX-License-Identifier: MIT
"""What the power of heating up does at the first boil, until somebody turns it down."""

from __future__ import annotations

from middlecut.steps.curve import RunFacts
from middlecut.steps.parameters import Distil
from middlecut.steps.result import Caution
from middlecut.steps.still import Still

__all__ = ["first_vapour"]


def first_vapour(parameters: Distil, still: Still, facts: RunFacts) -> list[Caution]:
    """Return what the vapour of the first boil does to condenser and column.

    A plan heats up at one power and runs at another; between them stands a person at a knob.

    Parameters
    ----------
    parameters : Distil
    still : Still
    facts : RunFacts
        Extremes of the run; what the run's own power does is told elsewhere.

    Returns
    -------
    list of Caution
        Watches; none where the run itself is hotter.

    Notes
    -----
    Heat balance of the condenser. The power to turn down to is in proportion, which is on the safe
    side: heat that the head loses counts for more at less power.
    """
    heat = facts.heat_up_peak
    if heat <= facts.boiler_heat_peak:
        return []
    found = []
    heating = f"Heating up at {parameters.heat_up_power * 100:.0f} % of the power"
    at = facts.boiling_temperature_start - 273.15
    able, duty = still.condenser_duty, facts.heat_up_duty
    if 0.0 < able < duty:
        text = (
            f"{heating} brings vapour as soon as it boils that takes {duty / 1e3:.2f} kW to "
            f"condense and cool; the condenser can take {able / 1e3:.2f} kW, and the rest leaves "
            "it uncondensed. " + _turn_down(still, heat * able / duty, at)
        )
        found.append(
            Caution("heat-up-condenser", "watch", text, duty, able, "W", "the still's own figure")
        )
    flood = facts.flood_fraction
    load = flood * heat / facts.boiler_heat_peak if facts.boiler_heat_peak > 0.0 else 0.0
    if load > 1.0 >= flood:
        text = (
            f"{heating} brings the vapour in the column to {load * 100:.0f} % of the load at which "
            "it floods as soon as it boils: liquid can be thrown into the head. "
            + _turn_down(still, heat / load, at)
        )
        found.append(
            Caution("heat-up-flooding", "watch", text, load, 1.0, "1",
                    "computed; estimate of the flooding load")
        )  # fmt: skip
    return found


def _turn_down(still: Still, heat: float, boiling: float) -> str:
    share = (heat + still.boiler_loss) / (still.heater_power * still.heater_efficiency)
    return (
        f"Turn the power down to {100.0 * share:.0f} % or less before the boiler reaches "
        f"{boiling:.0f} °C, and stay beside it from then on."
    )
