# SPDX-License-Identifier: MIT
"""The figures of a wood step, with their ranges."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from middlecut.liquid import alcoholometry
from middlecut.liquid.evaporation import climate_of
from middlecut.liquid.oak_colour import COLOURS, colour_index, colour_name
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, state_figures, weakest
from middlecut.steps.parameters import Wood
from middlecut.steps.result import Figure
from middlecut.steps.wood_contact import CASK_UPTAKE, PIECE_UPTAKE, Contact, vapour_of, without

__all__ = ["wood_figures"]

_NON_VOLATILE = ("vescalagin", "gallic acid", "ellagic acid")


def wood_figures(
    parameters: Wood,
    contact: Contact,
    *,
    taken: Lot,
    made: Lot,
    gained: Lot,
    vapour: Lot,
    absorbed: Lot,
) -> tuple[Figure, ...]:
    """Return the figures of a wood step.

    Parameters
    ----------
    parameters : Wood
        The step.
    contact : Contact
        How much wood.
    taken, made : Lot
        Before and after.
    gained, vapour, absorbed : Lot
        From the wood, to the air, into the wood.

    Returns
    -------
    tuple of Figure
        In the order of the sheet.
    """
    volume = made.volume + absorbed.volume
    return (
        *_state(parameters, contact, taken, made, gained),
        *_wood(contact),
        *_losses(parameters, contact, taken, vapour, absorbed),
        *_extract(parameters, made, gained.part(1.0 / volume)),
        *_levels(made, gained),
    )


def _state(
    parameters: Wood, contact: Contact, taken: Lot, made: Lot, gained: Lot
) -> tuple[Figure, ...]:
    """Return volume, strength and pure alcohol, with a range where the cask evaporates."""
    figures = state_figures(made)
    if parameters.form != "cask":
        return figures
    kept = made.pure_alcohol / (taken.pure_alcohol or 1.0)
    ends = {
        end: mixed([without(taken, vapour_of(parameters, contact, taken, end)), gained], "end")
        for end in ("low", "typical", "high", "weaker", "stronger")
    }
    middle = ends["typical"]
    share = made.volume / middle.volume
    strengths = [lot.strength for lot in ends.values()]
    alcohols = [lot.pure_alcohol / (middle.pure_alcohol or 1.0) for lot in ends.values()]
    volumes = [lot.volume * share for lot in ends.values()]
    bounds = (volumes, strengths, [taken.pure_alcohol * kept * ratio for ratio in alcohols])
    return tuple(
        replace(figure, low=min(values), high=max(values), basis="estimate")
        for figure, values in zip(figures, bounds, strict=True)
    )


def _wood(contact: Contact) -> Iterable[Figure]:
    yield Figure("wood_area", "area of wood on the spirit", contact.area, "area")
    yield Figure(
        "wood_area_per_litre",
        "area of wood for each litre",
        contact.area_per_volume * 1e-3,
        "area",
    )
    if contact.wood_mass is not None:
        yield Figure("wood_mass", "wood, dry", contact.wood_mass, "mass")
    yield Figure("temperature", "temperature", contact.temperature, "temperature")


def _losses(
    parameters: Wood, contact: Contact, taken: Lot, vapour: Lot, absorbed: Lot
) -> Iterable[Figure]:
    if parameters.form == "cask":
        low, high = (
            _lost(taken, vapour_of(parameters, contact, taken, end)) for end in ("low", "high")
        )
        basis = weakest(climate_of(parameters.climate).loss_basis, "computed")
        yield Figure(
            "evaporated",
            "volume lost to the air",
            _lost(taken, vapour),
            "volume",
            low,
            high,
            basis,
        )
        yield Figure(
            "evaporated_ethanol",
            "ethanol lost to the air",
            vapour.ethanol,
            "mass",
            basis="estimate",
        )
    scale = absorbed.volume
    table = CASK_UPTAKE if contact.wood_mass is None else PIECE_UPTAKE
    yield Figure(
        "absorbed",
        "volume soaked up by the wood",
        scale,
        "volume",
        scale * table[0] / table[1],
        scale * table[2] / table[1],
        "estimate",
    )


def _lost(taken: Lot, vapour: Lot) -> float:
    return taken.volume - without(taken, vapour).volume


def _extract(parameters: Wood, made: Lot, per_volume: Lot) -> Iterable[Figure]:
    """Return dissolved wood, what an alcoholometer would show, and the colour."""
    own = sum(per_volume.amounts[name].typical for name in _NON_VOLATILE)
    extract = per_volume.solids + own
    yield Figure(
        key="extract_gained",
        label="dissolved from the wood",
        value=extract,
        dimension="mass_concentration",
        low=extract / 2.0,
        high=extract * 2.0,
        basis="estimate",
    )
    tannin = sum(made.amounts[name].typical for name in _NON_VOLATILE)
    dissolved = replace(made, solids=made.solids + tannin)
    density = dissolved.mass / dissolved.volume
    if density < alcoholometry.WATER_DENSITY_20:  # else an alcoholometer shows nothing
        shown = alcoholometry.strength_from_density(density, 293.15)
        yield Figure(
            key="apparent_strength",
            label="strength an alcoholometer shows",
            value=shown,
            dimension="strength",
            basis="estimate",
        )
        yield Figure(
            key="obscuration",
            label="strength hidden by what is dissolved",
            value=made.strength - shown,
            dimension="strength",
            basis="estimate",
        )
    index = colour_index(extract, parameters.treatment)
    low, typical, high = (
        float(COLOURS.index(colour_name(index * factor))) for factor in (0.4, 1.0, 2.5)
    )
    yield Figure(
        key="colour",
        label="colour, 0 water-white to 6 dark amber",
        value=typical,
        dimension="count",
        low=low,
        high=high,
        basis="estimate",
    )


def _levels(made: Lot, gained: Lot) -> Iterable[Figure]:
    """Return the level in the lot of each compound that oak gives."""
    volume = made.volume
    for name in gained.amounts:
        level = made.amounts[name].scaled(1.0 / volume)
        yield Figure(
            f"level {name}", f"{name} then", level.typical, "mass_concentration",
            level.low, level.high, level.basis,
        )  # fmt: skip
