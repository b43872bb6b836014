# SPDX-License-Identifier: MIT
"""How a lot meets wood: area, what comes out, what leaves to the air, what soaks in."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from middlecut.errors import InputError
from middlecut.liquid import oak
from middlecut.liquid.evaporation import climate_of, evaporation_rates
from middlecut.liquid.oak_pieces import active_mass, cask_area, piece_area, wood_form
from middlecut.steps.lot import Amount, Lot
from middlecut.steps.parameters import Wood
from middlecut.steps.scenario import NOMINAL, Scenario

__all__ = [
    "ABSORBED",
    "CASK_UPTAKE",
    "EVAPORATED",
    "FROM_WOOD",
    "PIECE_UPTAKE",
    "Contact",
    "absorbed_share",
    "contact_of",
    "gained_from",
    "vapour_of",
    "without",
    "wood_origin",
]

FROM_WOOD = "from the wood"
EVAPORATED = "evaporated to the air"
ABSORBED = "absorbed by the wood"

PIECE_UPTAKE = (0.4e-3, 0.6e-3, 0.9e-3)
"""Spirit that dry wood soaks up: low, typical, high. [m³ kg⁻¹] Estimate; oak of 650 kg m⁻³ has
pores of 0.87 mL/g."""

CASK_UPTAKE = (1.5e-3, 2.5e-3, 4.0e-3)
"""Spirit that the wall of a dry cask soaks up: low, typical, high. [m³ m⁻²] Estimate."""

_MOST_ABSORBED = 0.5


@dataclass(frozen=True, slots=True)
class Contact:
    """How much wood a lot meets.

    Parameters
    ----------
    area : float
        Wetted area. [m²]
    area_per_volume : float
        Over the volume of the lot. [m² m⁻³] 10 cm²/L is 1 m² m⁻³.
    active : float
        Wood that takes part. [kg]
    wood_mass : float or None
        All the wood. [kg] None for a cask.
    temperature : float
        [K]
    """

    area: float
    area_per_volume: float
    active: float
    wood_mass: float | None
    temperature: float


def contact_of(parameters: Wood, volume: float) -> Contact:
    """Return how much wood a lot of a volume meets.

    Parameters
    ----------
    parameters : Wood
        The step, as checked.
    volume : float
        Of the lot. [m³ at 20 °C]

    Returns
    -------
    Contact
        Areas and masses.

    Raises
    ------
    InputError
        If what the form needs is missing or does not go with it, or the cask is too small.

    Notes
    -----
    A cask that is not full is taken to wet as much wood for each litre as a full one.

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> step = Wood("w", Take("a"), "b", 86400.0, "chips", "american oak", "medium toast", dose=4.6)
    >>> round(contact_of(step, 1e-3).area_per_volume, 1)
    9.0
    """
    if parameters.form == "cask":
        return _cask_contact(parameters, volume)
    if parameters.climate or parameters.yearly_loss is not None:
        raise InputError(
            "climate",
            parameters.climate or parameters.yearly_loss,
            "pieces lie in a closed vessel, which loses nothing",
            'Leave climate and yearly_loss out, or write form = "cask".',
        )
    if parameters.cask_volume is not None:
        raise InputError("cask_volume", parameters.cask_volume, "it goes with a cask only")
    if (parameters.dose is None) == (parameters.area is None):
        raise InputError(
            "dose",
            "both" if parameters.dose is not None else "nothing",
            "exactly one of dose and area is wanted for pieces of wood",
            'Write dose = "4 g/L" or area = "120 cm2".',
        )
    size = parameters.piece or wood_form(parameters.form).size or (0.01, 0.01, 0.01)
    per_mass = piece_area(size)
    area = parameters.area
    if area is None:
        area = (parameters.dose or 0.0) * volume * per_mass
    return Contact(
        area=area,
        area_per_volume=area / volume,
        active=active_mass(area, size),
        wood_mass=area / per_mass,
        temperature=parameters.temperature or 293.15,
    )


def _cask_contact(parameters: Wood, volume: float) -> Contact:
    for key in ("dose", "area", "piece"):
        if getattr(parameters, key) is not None:
            raise InputError(
                key, getattr(parameters, key), "a cask has the area of its size", "Leave it out."
            )
    size = parameters.cask_volume
    if size is None:
        raise InputError(
            "cask_volume", "nothing", "a cask needs its volume", 'Write cask_volume = "20 L".'
        )
    if volume > size * (1.0 + 1e-6):
        raise InputError(
            "cask_volume",
            f"{size * 1e3:.4g} L",
            f"the lot holds {volume * 1e3:.4g} L at 20 °C and does not go in",
            "Take less of the lot, or a larger cask.",
        )
    climate = climate_of(parameters.climate)
    area = cask_area(size) * volume / size
    return Contact(
        area=area,
        area_per_volume=area / volume,
        active=active_mass(area, None),
        wood_mass=None,
        temperature=parameters.temperature or climate.temperature,
    )


def gained_from(
    parameters: Wood, contact: Contact, strength: float, scenario: Scenario = NOMINAL
) -> Lot:
    """Return what the wood gives off, as a lot without water or ethanol.

    Parameters
    ----------
    parameters : Wood
        The step.
    contact : Contact
        How much wood.
    strength : float
        Of the spirit, 0 to 1.
    scenario : Scenario
        Its content factors have "wood:" and the id of the step as their origin.

    Returns
    -------
    Lot
        Solids and compounds only.
    """
    rows = oak.oak_yields(
        parameters.species,
        parameters.treatment,
        form=parameters.form,
        duration=parameters.duration,
        temperature=contact.temperature,
        strength=strength,
        earlier_fills=parameters.earlier_fills,
    )
    mass = contact.active
    origin = wood_origin(parameters.id)
    solids = next(
        row.typical * scenario.content_factor(origin, row.compound)
        for row in rows
        if row.compound == oak.OTHER_EXTRACT
    )
    amounts = {
        row.compound: Amount(
            row.typical * mass * scenario.content_factor(origin, row.compound),
            row.low * mass,
            row.high * mass,
            row.basis,
        )
        for row in rows
        if row.compound != oak.OTHER_EXTRACT
    }
    return Lot(FROM_WOOD, 0.0, 0.0, solids * mass, amounts, contact.temperature)


def wood_origin(step: str) -> str:
    """Return the name under which a scenario holds what oak gives in a step."""
    return f"wood:{step}"


def vapour_of(
    parameters: Wood, contact: Contact, taken: Lot, end: str, scenario: Scenario = NOMINAL
) -> Lot:
    """Return what goes to the air, as a lot of water and ethanol.

    Parameters
    ----------
    parameters : Wood
        The step.
    contact : Contact
        How much wood.
    taken : Lot
        What went on the wood.
    end : str
        As for :func:`middlecut.liquid.evaporation.evaporation_rates`.
    scenario : Scenario
        With its factor on the loss, "evaporation", and its change of the "drift" of strength.

    Returns
    -------
    Lot
        Empty for pieces in a closed vessel.
    """
    if parameters.form != "cask":
        return Lot(EVAPORATED, 0.0, 0.0, temperature=contact.temperature)
    rates = evaporation_rates(
        parameters.climate,
        area_per_volume=contact.area_per_volume,
        temperature=parameters.temperature,
        yearly_loss=parameters.yearly_loss,
        end=end,
        drift_change=scenario.process_change(parameters.id, "drift"),
    )
    time = parameters.duration * scenario.process_factor(parameters.id, "evaporation")
    return Lot(
        EVAPORATED,
        water=-taken.water * math.expm1(-rates.water * time),
        ethanol=-taken.ethanol * math.expm1(-rates.ethanol * time),
        temperature=contact.temperature,
    )


def without(lot: Lot, gone: Lot) -> Lot:
    """Return a lot less the water and ethanol of another.

    Parameters
    ----------
    lot, gone : Lot
        What there was and what left.

    Returns
    -------
    Lot
        Under the name of the first.
    """
    return replace(lot, water=lot.water - gone.water, ethanol=lot.ethanol - gone.ethanol)


def absorbed_share(
    parameters: Wood, contact: Contact, volume: float, scenario: Scenario = NOMINAL
) -> float:
    """Return the share of the liquid that the wood soaks up by then.

    It soaks in as fast as the fast pool comes out.

    Parameters
    ----------
    parameters : Wood
        The step.
    contact : Contact
        How much wood.
    volume : float
        Of the liquid. [m³ at 20 °C]
    scenario : Scenario
        With its factor on what the wood soaks up, "absorption".

    Returns
    -------
    float
        0 to 0.5.

    Raises
    ------
    InputError
        If the wood would soak up more than half.
    """
    if contact.wood_mass is None:
        full = CASK_UPTAKE[1] * contact.area
    else:
        full = PIECE_UPTAKE[1] * contact.wood_mass
    full *= scenario.process_factor(parameters.id, "absorption")
    rate = wood_form(parameters.form).fast[1]
    share = full * -math.expm1(-rate * parameters.duration) / volume
    if share > _MOST_ABSORBED and contact.wood_mass is None:
        raise InputError(
            "duration",
            f"{parameters.duration / 86400.0:.4g} d",
            f"the air leaves {volume * 1e3:.4g} L by then and the wood holds most of it",
            "Empty the cask sooner, use a larger one, or a cooler place.",
        )
    if share > _MOST_ABSORBED:
        raise InputError(
            "dose" if parameters.area is None else "area",
            f"{(contact.wood_mass or 0.0) * 1e3:.4g} g of wood",
            f"it would soak up {share * 100:.0f} % of {volume * 1e3:.4g} L",
            "Use less wood, or more spirit.",
        )
    return share
