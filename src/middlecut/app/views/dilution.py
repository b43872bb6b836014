# SPDX-License-Identifier: MIT
"""Water to a strength: how much by mass and by volume at its own temperature, in stages."""

from __future__ import annotations

from dataclasses import dataclass

from middlecut.app.spirit_events import WaterAdded
from middlecut.app.views.frame import StepFrame
from middlecut.app.views.lots import KnownLot, lot_like, taken_lots
from middlecut.errors import NotFoundError
from middlecut.insight.clouding import Louche, louche
from middlecut.liquid import alcoholometry
from middlecut.steps.dilute import dilute
from middlecut.steps.lot import Lot
from middlecut.steps.mixing import mixed, water_lot
from middlecut.steps.parameters import Dilute, Take
from middlecut.steps.result import StepResult

__all__ = ["DilutionView", "Stage", "dilution_view", "spirit_in_hand"]


@dataclass(frozen=True, slots=True)
class Stage:
    """One addition of water.

    Parameters
    ----------
    number : int
    mass : float
        [kg]
    volume : float
        At the temperature of the water. [m³]
    total : float
        Water so far. [kg]
    strength : float
        Afterwards, 0 to 1.
    done : bool
        Whether as much water was already added.
    clouding : str
        "clear", "may cloud" or "will cloud" afterwards.
    """

    number: int
    mass: float
    volume: float
    total: float
    strength: float
    done: bool
    clouding: str


@dataclass(frozen=True, slots=True)
class DilutionView:
    """A dilution.

    Parameters
    ----------
    spirit : Lot
        What is diluted.
    target : float
        Wanted strength, 0 to 1.
    result : StepResult
        Of the whole way down.
    stages : tuple of Stage
    water : float
        In all. [kg]
    water_volume : float
        At its temperature. [m³]
    added : float
        Already added, by the record. [kg]
    now : Lot
        What it is now, by the water added so far.
    louche : Louche
        Of the spirit as it is before any water.
    clouds : str
        What to expect at the target: "clear", "may cloud" or "will cloud".
    """

    spirit: Lot
    target: float
    result: StepResult
    stages: tuple[Stage, ...]
    water: float
    water_volume: float
    added: float
    now: Lot
    louche: Louche
    clouds: str


def spirit_in_hand(frame: StepFrame) -> KnownLot:
    """Return what a dilution starts from, measured as far as it was."""
    if not isinstance(frame.parameters, Dilute):
        raise NotFoundError("dilute step", frame.id)
    return taken_lots(frame)[0]


def dilution_view(
    frame: StepFrame,
    *,
    volume: float,
    strength: float,
    temperature: float,
    target: float,
    water_temperature: float,
    additions: int,
) -> DilutionView:
    """Return the water for a dilution.

    Parameters
    ----------
    frame : StepFrame
        Of a dilute step.
    volume : float
        Of the spirit, as it stands. [m³ at its temperature]
    strength : float
        Of the spirit at 20 °C, 0 to 1.
    temperature : float
        Of the spirit. [K]
    target : float
        Wanted strength, 0 to 1.
    water_temperature : float
        [K]
    additions : int
        Stages, 1 to 20.

    Returns
    -------
    view : DilutionView

    Raises
    ------
    InputError
        If water cannot bring it there.
    OutOfRangeError
        If a temperature or strength is out of the tables.
    """
    like = spirit_in_hand(frame).lot
    fraction = alcoholometry.mass_fraction_from_strength(strength)
    cold = float(
        alcoholometry.volume_20_from_volume(volume, mass_fraction=fraction, temperature=temperature)
    )
    spirit = lot_like(like, volume=cold, strength=strength)
    result = dilute(
        Dilute(frame.id, Take(spirit.name), target, "diluted", additions, water_temperature), spirit
    )
    figures = {figure.key: figure.value for figure in result.figures}
    added = sum(body.mass for _, body in frame.state.of(WaterAdded) if body.step == frame.id)
    now = mixed([spirit, water_lot(added, water_temperature)], spirit.name) if added else spirit
    stages = _stages(spirit, figures, additions, added)
    return DilutionView(
        spirit=spirit,
        target=target,
        result=result,
        stages=stages,
        water=figures["water"],
        water_volume=figures["water_volume"],
        added=added,
        now=now,
        louche=louche(spirit),
        clouds=louche(result.made["diluted"]).risk,
    )


def _stages(
    spirit: Lot, figures: dict[str, float], additions: int, added: float
) -> tuple[Stage, ...]:
    found: list[Stage] = []
    total = 0.0
    for number in range(1, additions + 1):
        single = additions == 1
        mass = figures["water" if single else f"addition_{number}_water"]
        volume = figures["water_volume" if single else f"addition_{number}_volume"]
        total += mass
        lot = mixed([spirit, water_lot(total)], spirit.name)
        # A scale of a kitchen is good to a gram or so.
        done = added >= total - 2e-3
        found.append(Stage(number, mass, volume, total, lot.strength, done, louche(lot).risk))
    return tuple(found)
