# SPDX-License-Identifier: MIT
"""Make a wash: extract and ethanol by Balling, congeners from the table, time from a prior."""

from __future__ import annotations

from collections.abc import Mapping

from middlecut.errors import InputError
from middlecut.liquid import congeners, extract
from middlecut.steps import hazards
from middlecut.steps.accounts import add_entries, checked_account
from middlecut.steps.gravity_course import FINISHED_FRACTION, GravityCourse, gravity_course
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.mixing import state_figures
from middlecut.steps.parameters import Ferment
from middlecut.steps.result import Caution, Entry, Figure, StepResult
from middlecut.steps.scenario import NOMINAL, Scenario
from middlecut.steps.wash_additions import add_to_wash

__all__ = ["LEES", "MADE_BY_YEAST", "WORT", "ferment"]

WORT = "wort"
MADE_BY_YEAST = "made by yeast"
LEES = "lees"
_CARBON_DIOXIDE = "CO2"
_YEAST = "yeast"

_HEAT = (560e3, 580e3, 600e3)
# [J kg⁻¹ of sugar] released by yeast; order of magnitude from the general literature (memory).

_STRONG = 0.14
_HOT = 273.15 + 34.0
_TOO_HOT = 273.15 + 36.0
_LATE_ADDITION = 0.90


def ferment(parameters: Ferment, *, scenario: Scenario = NOMINAL) -> StepResult:
    """Turn a wort into a cleared wash.

    Extract, ethanol, carbon dioxide and yeast follow Balling: 2.0665 kg of extract give 1 kg of
    ethanol, 0.9565 kg of CO2 and 0.11 kg of yeast. Congeners come per litre of pure alcohol from
    the table, with their range; levels of the user's own replace them. The liquid left behind
    with the lees is like the wash.

    Parameters
    ----------
    parameters : Ferment
        The step, as checked.
    scenario : Scenario
        What is assumed beyond the plan; the tables as they are when left out.

    Returns
    -------
    StepResult
        The wash and the lots split off it; lees, CO2 and yeast are losses of the account.

    Raises
    ------
    InputError
        If lees and reserve leave no wash, the gravities make no balance, or an ingredient does not
        fit in time or amount.
    OutOfRangeError
        If gravity or temperature lies outside its table.

    Notes
    -----
    After :cite:t:`balling1865` as quoted in the brewing literature. Left out: water and volatile
    compounds of the yeast's own carried off with the CO2, the effect of temperature or yeast on
    each congener, and sugar that an ingredient brings. What ingredients give, and what becomes of
    it, follows :func:`middlecut.steps.wash_additions.release_in_wash`.
    """
    balance = extract.ferment_balance(
        volume=parameters.volume,
        gravity=parameters.gravity,
        final_gravity=parameters.final_gravity,
    )
    whole = Lot(
        parameters.into,
        water=balance.water,
        ethanol=balance.ethanol,
        solids=balance.solids,
        temperature=parameters.temperature,
    )
    levels = _levels(parameters, whole, scenario)
    whole = Lot(
        whole.name, whole.water, whole.ethanol, whole.solids, levels, parameters.temperature
    )
    added = add_to_wash(parameters, whole, carbon_dioxide=balance.carbon_dioxide, scenario=scenario)
    whole = added.wash
    made, lees = _split(parameters, whole)
    went = {**made, LEES: lees} if lees is not None else dict(made)
    start = balance.solids + balance.ethanol + balance.carbon_dioxide + balance.yeast
    came = {WORT: Lot(WORT, water=balance.water, ethanol=0.0, solids=start)}
    course = gravity_course(parameters.temperature)
    gas = hazards.carbon_dioxide_volume(balance.carbon_dioxide)
    attenuation = float(extract.apparent_attenuation(parameters.gravity, parameters.final_gravity))
    return StepResult(
        step_id=parameters.id,
        kind=parameters.kind,
        made=made,
        used={},
        account=checked_account(
            {**came, **added.came},
            {**went, **added.went},
            {}
            if scenario.lean
            else add_entries(_made_entries(balance, levels), added.extra),
            where=f"step {parameters.id}",
            scenario=scenario,
        ),
        cautions=()
        if scenario.lean
        else (
            *_cautions(parameters, whole, gas=gas, attenuation=attenuation, course=course),
            *added.cautions,
        ),
        figures=(
            *state_figures(made[parameters.into]),
            Figure("gravity", "original gravity", parameters.gravity, "gravity"),
            Figure("final_gravity", "final gravity", parameters.final_gravity, "gravity"),
            Figure("gravity_by_parts", "final gravity by water, alcohol and extract",
                   balance.gravity, "gravity"),
            Figure("attenuation", "apparent attenuation", attenuation, "fraction"),
            Figure("temperature", "temperature", parameters.temperature, "temperature"),
            *_course_figures(course),
            Figure("ready", "ready to use after", parameters.duration + parameters.settling,
                   "duration"),
            Figure("gas", "carbon dioxide given off, at 20 °C", gas, "gas_volume"),
            *_heat_figures(start - balance.solids),
            Figure("yeast", "yeast grown, dry", balance.yeast, "mass"),
            *added.figures,
        ),
        duration=parameters.duration + parameters.settling,
        citations=("balling1865", "oiml_r22", *added.citations),
    )  # fmt: skip


def _levels(parameters: Ferment, whole: Lot, scenario: Scenario) -> dict[str, Amount]:
    pure, volume = whole.pure_alcohol, whole.volume
    levels = {
        row.compound: Amount(
            row.typical * pure * scenario.content_factor(parameters.profile, row.compound),
            row.low * pure,
            row.high * pure,
            row.basis,
        )
        for row in congeners.congener_levels(parameters.profile)
    }
    for compound, amount in parameters.compounds.items():
        factor = scenario.content_factor(f"step:{parameters.id}", compound)
        levels[compound] = Amount(
            amount.typical * volume * factor, amount.low * volume, amount.high * volume,
            amount.basis,
        )  # fmt: skip
    return levels


def _split(parameters: Ferment, whole: Lot) -> tuple[dict[str, Lot], Lot | None]:
    volume = whole.volume
    aside = parameters.lees + sum(part for _, part in parameters.reserve)
    if not aside < volume:
        raise InputError(
            "lees and reserve",
            f"{aside * 1e3:.4g} L",
            f"the wash is only {volume * 1e3:.4g} L",
            "Leave less behind or set less aside.",
        )
    made = {parameters.into: whole.part((volume - aside) / volume)}
    for name, part in parameters.reserve:
        made[name] = whole.part(part / volume, name)
    lees = whole.part(parameters.lees / volume, LEES) if parameters.lees > 0.0 else None
    return made, lees


def _made_entries(balance: extract.Fermented, levels: Mapping[str, Amount]) -> dict[str, Entry]:
    spent = {
        "turned into ethanol": balance.ethanol,
        _CARBON_DIOXIDE: balance.carbon_dioxide,
        _YEAST: balance.yeast,
    }
    entries = {
        "solids": Entry({}, spent),
        "ethanol": Entry({MADE_BY_YEAST: balance.ethanol}, {}),
        _CARBON_DIOXIDE: Entry(
            {MADE_BY_YEAST: balance.carbon_dioxide}, {"given off": balance.carbon_dioxide}
        ),
    }
    for compound, amount in levels.items():
        entries[compound] = Entry({MADE_BY_YEAST: amount.typical}, {})
    return entries


def _course_figures(course: GravityCourse) -> tuple[Figure, ...]:
    late = course.time_at_attenuation(_LATE_ADDITION)
    done = course.time_at_attenuation(FINISHED_FRACTION)
    return (
        Figure("late_addition", "nine tenths fermented after, as a guess", late.typical, "duration",
               late.low, late.high, course.basis),
        Figure("finished", "all but finished after, as a guess", done.typical, "duration",
               done.low, done.high, course.basis),
    )  # fmt: skip


def _heat_figures(fermented: float) -> tuple[Figure, ...]:
    low, typical, high = (heat * fermented for heat in _HEAT)
    return (Figure("heat", "heat released by the yeast", typical, "energy", low, high, "memory"),)


def _cautions(
    parameters: Ferment, whole: Lot, *, gas: float, attenuation: float, course: GravityCourse
) -> tuple[Caution, ...]:
    return (
        *_gas_caution(gas),
        *_yeast_cautions(parameters, whole, attenuation),
        *_time_caution(parameters, course),
        _PRIOR,
    )


_PRIOR = Caution(
    "ferment-time-prior",
    "note",
    "How long it ferments is no more than a first guess, that of a wash of a whisky type, well "
    "pitched (memory, estimate): the plan knows neither yeast, pitch nor nutrients. A weak pitch "
    "or a wash poor in nutrients takes far longer. Readings of gravity replace the guess.",
    source="gravity course, Armstrong et al. 2021 for its form",
)


def _gas_caution(gas: float) -> tuple[Caution, ...]:
    text = (
        f"The wash gives off about {gas:.2f} m³ of carbon dioxide, heavier than air and "
        f"suffocating: enough to bring {gas / 0.005:.0f} m³ of still air to the usual workplace "
        "limit of 0.5 %. Air the room low down and never seal the fermenter."
    )
    return (
        Caution("co2", "note", text, gas, None, "m³",
                "Balling, 0.9565 kg per kg of ethanol; workplace limit from memory"),
    )  # fmt: skip


def _yeast_cautions(parameters: Ferment, whole: Lot, attenuation: float) -> tuple[Caution, ...]:
    found = []
    if whole.strength > _STRONG:
        text = (
            f"The wash would reach {whole.strength * 100:.1f} %vol; most yeasts stop at 13 to "
            "15 %vol. Start from a lower gravity or use a yeast known to go so far."
        )
        found.append(Caution("yeast-strength", "watch", text, whole.strength, _STRONG, "1",
                             "ethanol inhibition, general literature (memory)"))  # fmt: skip
    temperature = parameters.temperature
    if temperature > _HOT:
        text = (
            f"Fermenting at {temperature - 273.15:.1f} °C: most yeasts suffer above 34 to 36 °C "
            "and make more higher alcohols and esters above 30 °C. Cool it."
        )
        limit = _TOO_HOT if temperature > _TOO_HOT else _HOT
        found.append(Caution("ferment-hot", "watch", text, temperature, limit, "K"))
    if attenuation < 0.60:
        text = (
            f"Apparent attenuation is only {attenuation * 100:.0f} %: much sugar stays behind and "
            "can scorch in the boiler. Check that the final gravity is meant so."
        )
        found.append(Caution("attenuation-low", "watch", text, attenuation, 0.60, "1"))
    elif parameters.profile == "grain" and attenuation > 1.05:
        text = (
            f"Apparent attenuation of {attenuation * 100:.0f} % is more than a grain wash gives; "
            "check the two gravities."
        )
        found.append(Caution("attenuation-high", "watch", text, attenuation, 1.05, "1"))
    return tuple(found)


def _time_caution(parameters: Ferment, course: GravityCourse) -> tuple[Caution, ...]:
    done = course.time_at_attenuation(FINISHED_FRACTION)
    if parameters.duration >= done.typical:
        return ()
    text = (
        f"{parameters.duration / 3600.0:.0f} h may be too short: at "
        f"{parameters.temperature - 273.15:.0f} °C a wash is usually {FINISHED_FRACTION:.0%} "
        f"through after {done.typical / 3600.0:.0f} h ({done.low / 3600.0:.0f} to "
        f"{done.high / 3600.0:.0f} h, {course.basis}). Trust the hydrometer: two equal readings a "
        "day apart."
    )
    return (
        Caution("ferment-short", "watch", text, parameters.duration, done.typical, "s",
                "prior of the fermentation table (memory and estimate)"),
    )  # fmt: skip
