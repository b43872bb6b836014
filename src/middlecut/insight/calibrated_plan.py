# SPDX-License-Identifier: MIT
"""Use a calibrated still in a plan: put it in, or write it as the section of a plan file."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

from middlecut.errors import NotFoundError

if TYPE_CHECKING:
    from middlecut.insight.calibrated import CalibratedStill
    from middlecut.plan.model import Plan

__all__ = ["still_section", "with_calibrated"]

# Key of the plan format, unit written, and what one SI unit is in it.
_KEYS = (
    ("boiler_volume", "L", 1e3),
    ("heater_power", "W", 1.0),
    ("safe_fill", "%", 1e2),
    ("heater_efficiency", "%", 1e2),
    ("boiler_loss", "W", 1.0),
    ("still_heat_capacity", "kJ/K", 1e-3),
    ("column_diameter", "mm", 1e3),
    ("stage_holdup", "mL", 1e6),
    ("column_loss", "W", 1.0),
    ("head_loss", "W", 1.0),
    ("head_holdup", "mL", 1e6),
    ("coolant_duty", "W", 1.0),
    ("condenser_duty", "W", 1.0),
    ("coolant_rise", "K", 1.0),
    ("basket_volume", "L", 1e3),
    ("element_covered_above", "L", 1e3),
)
_DIGITS = 5


def with_calibrated(plan: Plan, calibrated: CalibratedStill, name: str | None = None) -> Plan:
    """Return a plan that runs a calibrated still in place of the one described.

    Parameters
    ----------
    plan : Plan
        What is intended.
    calibrated : CalibratedStill
        From a fit or a file.
    name : str or None
        Of the still in the plan; None: the name it was calibrated under.

    Returns
    -------
    Plan
        The same plan with that still, its stages whole.

    Raises
    ------
    NotFoundError
        If the plan has no still of that name.
    """
    key = calibrated.name if name is None else name
    if key not in plan.stills:
        raise NotFoundError("still", key, tuple(plan.stills)[:3])
    still = replace(calibrated.whole_still, name=key)
    return replace(plan, stills={**plan.stills, key: still})


def still_section(calibrated: CalibratedStill, name: str | None = None) -> str:
    """Return the section of a plan file that describes a calibrated still.

    A plan stays one file from which a batch can be rebuilt: paste this over the old section.

    Parameters
    ----------
    calibrated : CalibratedStill
        From a fit or a file.
    name : str or None
        Of the still in the plan; None: the name it was calibrated under.

    Returns
    -------
    str
        TOML with units, the fitted values rounded to five digits, and where they come from.
    """
    still = calibrated.whole_still
    if still.heater_efficiency > 1.0:
        # The mains gave more than the rated power; the format takes no share above the whole.
        power = still.heater_power * still.heater_efficiency
        still = replace(still, heater_power=power, heater_efficiency=1.0)
    told = calibrated.provenance
    key = calibrated.name if name is None else name
    source = (
        f"# Calibrated on {told.get('readings', '?')} readings of {told.get('runs', '?')} "
        f"(middlecut {told.get('middlecut', '?')})."
    )
    lines = [" ".join(source.split()), f"[still.{json.dumps(key, ensure_ascii=False)}]"]
    for field, unit, factor in _KEYS:
        lines.append(f'{field} = "{_number(factor * float(getattr(still, field)))} {unit}"')
    if still.stages > 0.0:
        lines.append(f"stages = {still.stages:.0f}")
    if still.reflux_ratio is not None:
        lines.append(f"reflux_ratio = {_number(still.reflux_ratio)}")
    lines.append(f"drains_back = {'true' if still.drains_back else 'false'}")
    fitted = {one.name for one in calibrated.parameters} | {"stages"}
    lines = [
        f"{line}  # fitted" if line.partition(" = ")[0] in fitted and " = " in line else line
        for line in lines
    ]
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    """Return a number of five digits without a power of ten."""
    rounded = float(f"{value:.{_DIGITS}g}")
    text = f"{rounded:.12f}".rstrip("0").rstrip(".")
    return text or "0"
