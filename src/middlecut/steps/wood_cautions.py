# SPDX-License-Identifier: MIT
"""What to watch when spirit lies on wood."""

from __future__ import annotations

from collections.abc import Iterator

from middlecut.liquid.evaporation import YEAR
from middlecut.liquid.oak_pieces import CASK_AREA_PER_VOLUME
from middlecut.steps.parameters import Wood
from middlecut.steps.result import Caution

__all__ = ["USUAL_STRENGTH", "wood_cautions"]

USUAL_STRENGTH = (0.55, 0.63)
"""Strength at which spirit usually goes to wood. Common practice."""

_SMALL_CASK = 2.0 * CASK_AREA_PER_VOLUME
_MUCH_LOST = 0.10
_SMALL_BARRELS = "Jeffery and Berglund 2016, abstract"


def wood_cautions(
    parameters: Wood,
    *,
    strength: float,
    area_per_volume: float,
    evaporated_ethanol: float,
    lost_share: float,
) -> tuple[Caution, ...]:
    """Return what to watch while a lot lies on wood.

    Parameters
    ----------
    parameters : Wood
        The step.
    strength : float
        Of what goes on the wood, 0 to 1.
    area_per_volume : float
        Of wood. [m² m⁻³]
    evaporated_ethanol : float
        [kg]
    lost_share : float
        Share of the volume that is gone at the end, 0 to 1.

    Returns
    -------
    tuple of Caution
        Those that apply.

    Examples
    --------
    >>> from middlecut.steps.parameters import Take
    >>> step = Wood("w", Take("a"), "b", 1e6, "chips", "american oak", "medium toast", dose=4.0,
    ...             forced="ultrasonic bath, 2 h")
    >>> [c.code for c in wood_cautions(step, strength=0.6, area_per_volume=9.0,
    ...                                evaporated_ethanol=0.0, lost_share=0.0)]
    ['wood-forced', 'wood-clean']
    """
    found = [
        *_strength(strength),
        *_area(area_per_volume),
        *_forced(parameters),
        *_cask(parameters, evaporated_ethanol),
        *_ageing(parameters),
    ]
    if lost_share > _MUCH_LOST:
        found.append(
            Caution(
                "wood-loss",
                "watch",
                f"{lost_share * 100:.0f} % of the volume will be gone: to the air and into the "
                "wood. Weigh or dip the vessel now and then, and stop sooner if it falls faster.",
                lost_share,
                _MUCH_LOST,
                "1",
                "our limit",
            )
        )
    found.append(
        Caution(
            "wood-clean",
            "note",
            "Use only oak sold for drinks: painted, glued, treated or mouldy wood can poison or "
            "taint. No chlorine cleaner near it, which with mould gives a musty taint at a few "
            "nanograms in a litre.",
            source="common practice; level of the taint from memory",
        )
    )
    return tuple(found)


def _strength(strength: float) -> Iterator[Caution]:
    low, high = USUAL_STRENGTH
    if low <= strength <= high:
        return
    side = "above" if strength > high else "below"
    effect = "wood tastes drier and harder" if strength > high else "less of the aroma comes out"
    yield Caution(
        "wood-strength",
        "note",
        f"The spirit goes on wood at {strength * 100:.1f} %vol, {side} the usual 55 to 63 %vol; "
        f"{effect}.",
        strength,
        high if strength > high else low,
        "1",
        "common practice",
    )


def _area(area_per_volume: float) -> Iterator[Caution]:
    ratio = area_per_volume / CASK_AREA_PER_VOLUME
    if area_per_volume <= _SMALL_CASK:
        return
    yield Caution(
        "wood-much-area",
        "watch",
        f"There are {area_per_volume * 10:.0f} cm² of wood for each litre, {ratio:.1f} times as "
        "much as in a 200 L cask: tannin comes faster than flavour matures. Taste early and often, "
        "and take it off the wood when it is right, whatever the date.",
        area_per_volume,
        _SMALL_CASK,
        "m²/m³",
        _SMALL_BARRELS,
    )


def _forced(parameters: Wood) -> Iterator[Caution]:
    if not parameters.forced:
        return
    yield Caution(
        "wood-forced",
        "note",
        f'Forced ageing ("{parameters.forced}") is kept in the record but not predicted: the '
        "numbers here are those of quiet storage. Never heat spirit in a closed vessel, and keep "
        "its vapour from sparks: an ultrasonic bath or a heater is one more source of them.",
        source="middlecut has no model of it",
    )


def _cask(parameters: Wood, evaporated_ethanol: float) -> Iterator[Caution]:
    if parameters.form != "cask":
        return
    yield Caution(
        "cask-leaks",
        "watch",
        "A dry cask leaks: fill it with water first until it is tight, look at the joints after a "
        "day and a week, and stand it in something that would hold all of it.",
        source="common practice",
    )
    daily = evaporated_ethanol / max(parameters.duration, 86400.0) * 86400.0
    yield Caution(
        "cask-vapour",
        "watch",
        f"About {daily * 1e3:.2g} g of ethanol goes into the air of the store each day, "
        f"{evaporated_ethanol:.2g} kg in all. Air it low down, where the vapour lies, and keep "
        "flames, sparks and smoking out.",
        daily / 86400.0,
        None,
        "kg/s",
        "predicted loss; NIOSH Pocket Guide for the vapour",
    )


def _ageing(parameters: Wood) -> Iterator[Caution]:
    if parameters.form != "cask" or parameters.duration < YEAR / 2.0:
        return
    yield Caution(
        "wood-ageing",
        "note",
        "What air and time do is not predicted: in American whisky followed for 12 years esters "
        "lay between 8 and 18 and aldehydes between 0.7 and 7.6 g in 100 L.",
        source="encyclopedia of chemical technology, chapter on whisky",
    )
