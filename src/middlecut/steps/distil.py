# SPDX-License-Identifier: MIT
"""The distil step: boil a charge and collect what comes over, in cuts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from middlecut.errors import ConvergenceError, InputError
from middlecut.liquid import heat
from middlecut.steps import kernel
from middlecut.steps.accounts import checked_account
from middlecut.steps.cautions import distil_cautions
from middlecut.steps.columns import StillSource, gather_columns
from middlecut.steps.distil_curve import make_curve
from middlecut.steps.distil_lots import LOSSES, make_lots, source_lots
from middlecut.steps.lot import Lot
from middlecut.steps.medium import assumed, even, medium
from middlecut.steps.mixing import ADDED_WATER, by_name, mixed, water_lot
from middlecut.steps.result import Figure, StepResult
from middlecut.steps.run import run_still
from middlecut.steps.scenario import NOMINAL, Scenario
from middlecut.steps.still_run import Load
from middlecut.units import format_quantity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from middlecut.steps.curve import Curve
    from middlecut.steps.parameters import Distil
    from middlecut.steps.still import Still

    Array = NDArray[np.float64]

__all__ = ["distil"]

CITATIONS = ("hairer1996", "oiml_r22", "perry1997")


def distil(
    parameters: Distil,
    taken: tuple[Lot, ...],
    *,
    still: Still,
    pressure: float,
    sources: tuple[StillSource, ...] = (),
    bed_liquid: float = 0.0,
    scenario: Scenario = NOMINAL,
) -> StepResult:
    """Predict a stripping, spirit or flavour run.

    The still is a boiler, ``still.stages`` equilibrium stages, a head that condenses part of the
    vapour in equilibrium with what passes, and a condenser. On the part of a stage that is left
    over a whole number, and in a head of less than full efficiency, only that share of the vapour
    meets the liquid (Murphree's vapour efficiency). Every level keeps its amount of liquid; the
    flows follow from the energy balance of each level, the dilute compounds from their K at the
    level's composition. Heating up comes first, then the filling of stages and head with
    condensate, then total reflux if asked for; the clock starts at the first drop.

    Parameters
    ----------
    parameters : Distil
        What to do, in SI.
    taken : tuple of Lot
        What goes into the boiler, already measured out.
    still : Still
        The still.
    pressure : float
        Of the room. [Pa] Valid 60 000 to 110 000.
    sources : tuple of StillSource
        Compounds of botanicals in the boiler or the vapour basket.
    bed_liquid : float
        Liquid that the botanical bed in the vapour basket holds; 0 without one. [m³]
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        ``made`` holds one lot per cut and the residue; ``curve`` the dense run.

    Raises
    ------
    InputError
        If the charge is empty, holds no ethanol or does not fit the boiler, or if a cut never
        comes to its end.
    ConvergenceError
        If the integration fails.

    Notes
    -----
    Leaves out: reactions in the boiler (acetal, furfural and ester formation), foam and
    entrainment, subcooled reflux, the effect of dissolved solids on boiling, weeping and
    maldistribution in the column. Heat loss while heating up is taken as half of that at the
    boil. Compounds without a volatility stay in the boiler or, from a basket, in the bed. A bed
    in the vapour path is one more equilibrium level: what the solid gives off at its first-order
    rate joins the film, leaves with the vapour at its K and drips back with the reflux; an
    external reflux runs back through the bed. At the first drop the levels have settled: without a
    hold, at the settings of the first cut for three times their hold-up in vapour; with one, at
    total reflux from the condensate they were filled with.

    References
    ----------
    .. [1] :cite:t:`hairer1996`, table IV.6.5 (integration).
    .. [2] :cite:t:`perry1997`, section 13, simple batch distillation (the check without stages).
    .. [3] :cite:t:`murphree1925` (a level that a part of the vapour passes; recalled).
    """
    _check_coolant(parameters, still)
    charge = _charge(parameters, taken, still)
    columns = gather_columns(charge, sources)
    mixture = assumed(medium(float(round(pressure)), columns.compounds), scenario)
    table = mixture.table
    boiling = float(np.interp(charge.ethanol_mole_fraction, even(len(table)), table[:, 0]))
    heat_up_time = _heat_up(parameters, still, charge, boiling)
    load = Load(
        amounts=(charge.ethanol / kernel.ETHANOL, charge.water / kernel.WATER),
        solids=charge.solids,
        columns=columns,
        bed=bed_liquid,
        soak=0.5 * heat_up_time,
    )
    try:
        outcome = run_still(
            load=load,
            parameters=parameters,
            still=still,
            medium=mixture,
            tolerance=scenario.tolerance,
            strict=not scenario.lean,
        )
    except ConvergenceError as error:
        where = f"The integration of step {parameters.id!r}"
        raise ConvergenceError(where, error.iterations, error.residual) from error
    curve = make_curve(
        parameters=parameters,
        still=still,
        medium=mixture,
        charge=charge,
        columns=columns,
        outcome=outcome,
        heat_up_time=heat_up_time,
    )
    made = make_lots(parameters, still, charge, load, outcome)
    used = by_name(taken)
    came = {**used, **source_lots(sources)}
    if parameters.water > 0.0:
        came[ADDED_WATER] = water_lot(parameters.water)
    account = checked_account(came, made, where=f"step {parameters.id}", scenario=scenario)
    facts = curve.facts
    heat_out = facts.condenser_heat + facts.coolant_heat
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made={name: lot for name, lot in made.items() if name not in LOSSES},
        used=used,
        account=account,
        cautions=()
        if scenario.lean
        else distil_cautions(
            parameters=parameters,
            still=still,
            charge=charge,
            pressure=pressure,
            facts=facts,
            cuts=curve.cuts,
            made=made,
        ),
        figures=_figures(parameters, still, charge, made, curve),
        curve=curve,
        duration=facts.heat_up_time + facts.fill_time + facts.run_time,
        energy=facts.energy,
        cooling_water=heat.cooling_water_mass(energy=heat_out, temperature_rise=still.coolant_rise),
        citations=CITATIONS,
    )


def _check_coolant(parameters: Distil, still: Still) -> None:
    for index, cut in enumerate(parameters.cuts):
        if cut.coolant_duty and still.coolant_duty <= 0.0:
            raise InputError(
                f"cuts[{index}].coolant_duty",
                format_quantity(cut.coolant_duty, "power"),
                f"{still.name} has no reflux coolant",
                "Leave it out, or give the still a coolant_duty.",
            )


def _charge(parameters: Distil, taken: tuple[Lot, ...], still: Still) -> Lot:
    if parameters.water > 0.0:
        taken = (*taken, water_lot(parameters.water))
    charge = mixed(taken, "charge")
    if not charge.volume > 0.0:
        raise InputError("from", "0 L", "the charge is empty", "Name lots that hold liquid.")
    if not charge.ethanol > 0.0:
        raise InputError("from", "0 %vol", "the charge holds no ethanol", "Name a lot that does.")
    if charge.volume > still.boiler_volume:
        raise InputError(
            "from",
            f"{charge.volume * 1e3:.1f} L",
            f"the boiler of {still.name} holds {still.boiler_volume * 1e3:.1f} L to the brim and "
            f"should not be filled above {still.safe_fill * still.boiler_volume * 1e3:.1f} L",
            "Take less, or split the charge over several runs.",
        )
    return charge


def _heat_up(parameters: Distil, still: Still, charge: Lot, boiling: float) -> float:
    start = parameters.charge_temperature or charge.temperature
    needed = heat.heat_up_energy(
        water=charge.water,
        ethanol=charge.ethanol,
        solids=charge.solids,
        from_temperature=min(start, boiling),
        to_temperature=boiling,
    ) + still.still_heat_capacity * max(boiling - start, 0.0)
    power = still.heater_power * still.heater_efficiency * parameters.heat_up_power
    net = power - 0.5 * still.boiler_loss
    if net <= 0.0:
        raise InputError(
            "heat_up_power",
            f"{parameters.heat_up_power:.0%}",
            "the boiler loses more heat than is put in and never boils",
            "Raise the power while heating up.",
        )
    return needed / net


def _figures(
    parameters: Distil, still: Still, charge: Lot, made: Mapping[str, Lot], curve: Curve
) -> tuple[Figure, ...]:
    facts = curve.facts
    start = parameters.charge_temperature or charge.temperature
    rows = [
        Figure("charge_volume", "charge", charge.volume, "volume"),
        Figure("charge_strength", "strength of the charge", charge.strength, "strength"),
        Figure("fill", "fill of the boiler", charge.volume / still.boiler_volume, "fraction"),
        Figure("charge_temperature", "charge at", start, "temperature"),
        Figure("boiling_temperature", "boils at", facts.boiling_temperature_start, "temperature"),
        Figure("heat_up_time", "heating up takes", facts.heat_up_time, "duration"),
        Figure("fill_time", "then to the first drop", facts.fill_time, "duration"),
        Figure("first_strength", "first drops at", facts.first_strength, "strength"),
        Figure(
            "first_head_temperature",
            "still head at the first drops",
            facts.first_head_temperature,
            "temperature",
        ),
        Figure("run_time", "distillate runs for", facts.run_time, "duration"),
        Figure("take_off_peak", "fastest take-off", facts.take_off_peak, "volume_flow"),
        Figure("boiler_volume_end", "left in the boiler", facts.boiler_volume_end, "volume"),
        Figure("boiler_strength_end", "at", facts.boiler_strength_end, "strength"),
        Figure(
            "boiling_temperature_end",
            "boiler at the end",
            facts.boiling_temperature_end,
            "temperature",
        ),
        Figure("condenser_peak", "most heat in the condenser", facts.condenser_peak, "power"),
        Figure("energy", "electricity", facts.energy, "energy"),
        Figure(
            "recovered",
            "pure alcohol that came over",
            1.0 - made[parameters.residue].ethanol / charge.ethanol,
            "fraction",
        ),
    ]
    if still.stages > 0.0:
        rows.append(Figure("stages", "equilibrium stages", still.stages, "count"))
    if still.column_diameter > 0.0:
        rows.append(
            Figure("flood_fraction", "vapour load of flooding", facts.flood_fraction, "fraction")
        )
    return tuple(rows)
