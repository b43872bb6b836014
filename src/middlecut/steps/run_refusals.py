# SPDX-License-Identifier: MIT
"""What a run refuses, in words: too little power, a hold that cannot hold, a cut without an end."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import InputError
from middlecut.liquid import alcoholometry
from middlecut.steps.kernel import ETHANOL, WATER
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from middlecut.steps.kernel import Array
    from middlecut.steps.parameters import Cut, PowerChange, Until
    from middlecut.steps.still_run import StillRun

__all__ = ["check_drive", "check_hold", "never_ends", "never_reached", "words_of"]


def check_hold(run: StillRun, *, strict: bool = True) -> float:
    """Return the heat that cooling takes at total reflux; refuse what cannot all come back.

    Parameters
    ----------
    run : StillRun
    strict : bool
        Whether to refuse.

    Returns
    -------
    float
        [W]

    Raises
    ------
    InputError
        If head, column and coolant cannot return all vapour and the head has no divider.
    """
    still, watts = run.still, float(run.drive(held=True)[0])
    passive = still.head_loss + still.column_loss
    able = passive + run.coolant
    if strict and still.reflux_ratio is None and able < watts:
        share = max(able + still.boiler_loss, 0.0) / (still.heater_power * still.heater_efficiency)
        raise InputError(
            "total_reflux",
            format_quantity(run.parameters.total_reflux, "duration"),
            f"at a power of {run.power:.0%} the vapour carries {watts:.0f} W, and head, column and "
            f"coolant of {still.name} return only {able:.0f} W of it, so something comes over",
            f"Hold at a power of at most {np.floor(100.0 * share):.0f} % and give the first cut a "
            "power of its own, give the still more coolant_duty, or, where the head divides its "
            "condensate, a reflux_ratio.",
        )
    return max(watts - passive, 0.0)


def check_drive(run: StillRun) -> None:
    """Refuse a power at which no vapour leaves boiler or column.

    Parameters
    ----------
    run : StillRun

    Raises
    ------
    InputError
        If boiler or column lose as much heat as is put in.
    """
    still, watts = run.still, float(run.drive(held=False)[0])
    power = f"{run.power:.0%} of {still.heater_power:.0f} W"
    if watts <= 0.0:
        raise InputError(
            "power",
            power,
            f"the boiler loses {still.boiler_loss:.0f} W to the room, more than is put in",
            "Raise the power or insulate the boiler.",
        )
    if run.stages and still.column_loss >= watts:
        raise InputError(
            "power",
            power,
            f"the column loses {still.column_loss:.0f} W to the room, and only {watts:.0f} W "
            "leaves the boiler as vapour",
            "Raise the power or insulate the column.",
        )


def never_reached(run: StillRun, index: int, change: PowerChange) -> InputError:
    """Return the error for a change of power that the run never comes to.

    Parameters
    ----------
    run : StillRun
        At its end.
    index : int
        Place of the change in the plan.
    change : PowerChange

    Returns
    -------
    InputError
    """
    minutes = format_quantity(run.clock, "duration")
    litres = format_quantity(_volume(run.state[-2:]), "volume")
    return InputError(
        f"power_changes[{index}].at",
        words_of(change.at),
        f"this moment never comes: the run ends {minutes} after the first drop with "
        f"{litres} collected",
        "Give a moment within the run; a volume counts all that has come over.",
    )


def never_ends(run: StillRun, index: int, cut: Cut, first: int, *, stalled: bool) -> InputError:
    """Return the error for a cut that never comes to its end.

    Parameters
    ----------
    run : StillRun
        At its end.
    index : int
        Place of the cut in the plan.
    cut : Cut
    first : int
        Row at which the cut starts.
    stalled : bool
        Whether nothing comes over, rather than the end lying outside the run.

    Returns
    -------
    InputError
    """
    place, asked = f"cuts[{index}].until", words_of(cut.until)
    if stalled:
        return InputError(
            place,
            asked,
            "nothing comes over: head and coolant send all vapour back to the boiler",
            "Raise the power, or lower the coolant duty or the head loss.",
        )
    if cut.until.time is not None or cut.until.volume is not None:
        return _too_long(run, place, cut, first)
    rows, table = run.rows, run.medium.table
    ends = np.maximum(
        rows.vapour[[first, rows.count - 1], 0], 0.0
    )  # 1e-5 below it is the integrator
    dew = np.interp(ends, table[:, 1], table[:, 0])
    heads = [format_quantity(float(t), "temperature") for t in dew]
    strengths = [format_quantity(_strength(float(y)), "strength") for y in ends]
    return InputError(
        place,
        asked,
        f"the point where {cut.into!r} should end never comes: the cut starts at {strengths[0]} "
        f"with the head at {heads[0]}, and the boiler is almost empty at {strengths[1]}, "
        f"{heads[1]}",
        "Give this cut an end that lies between those two, or change the cut before it.",
    )


def _too_long(run: StillRun, place: str, cut: Cut, first: int) -> InputError:
    """Return the error for a time or a volume of a cut that the run does not have."""
    lasted = format_quantity(run.clock, "duration")
    start = run.rows.state[first]
    before = format_quantity(float(run.rows.time[first]), "duration")
    whole, held = (
        format_quantity(_volume(run.state[-2:] - reference), "volume")
        for reference in (np.zeros(2), start[-2:])
    )
    if cut.until.time is not None:
        end = (
            f"the boiler is almost empty {lasted} after the first drop, when {whole} have come over"
        )
        after = f"after {before} and " if run.rows.time[first] > 0.0 else ""
        remedy = f"Give a time {after}before {lasted}; it counts from the first drop."
    else:
        end = (
            f"this cut holds {held} when the boiler is almost empty, {lasted} after the "
            f"first drop, and {whole} have come over in all"
        )
        remedy = f"Give less than {held}, or change the cut before it."
    return InputError(
        place, words_of(cut.until), f"the point where {cut.into!r} should end never comes: {end}",
        remedy,
    )  # fmt: skip


def words_of(until: Until) -> str:
    """Say the end of a cut as a person would.

    Parameters
    ----------
    until : Until

    Returns
    -------
    str
    """
    kinds = (
        ("strength", until.strength),
        ("temperature", until.head_temperature),
        ("duration", until.time),
        ("volume", until.volume),
        ("volume", until.boiler_volume),
    )
    found = [format_quantity(value, kind) for kind, value in kinds if value is not None]
    return found[0] if found else "nothing"


def _volume(amounts: Array) -> float:
    """Return the volume at 20 °C of moles of ethanol, and of ethanol and water together."""
    ethanol, total = (max(float(amount), 0.0) for amount in amounts)
    if total <= 0.0:
        return 0.0
    mole_fraction = min(ethanol / total, 1.0)
    fraction = alcoholometry.mass_fraction_from_mole_fraction(mole_fraction)
    mass = ethanol * ETHANOL + (total - ethanol) * WATER
    return mass / float(alcoholometry.density_20(fraction))


def _strength(mole_fraction: float) -> float:
    return alcoholometry.strength_from_mass_fraction(
        alcoholometry.mass_fraction_from_mole_fraction(mole_fraction)
    )
