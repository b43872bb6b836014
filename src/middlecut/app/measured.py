# SPDX-License-Identifier: MIT
"""What was measured of each lot: volume and strength, from jars, readings and bottles.

What follows from it for lots that nobody measured is worked out in
:mod:`middlecut.app.lots_now`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

from middlecut.app.alcohol import true_strength_of, volume_at_20
from middlecut.app.batch import Batch, Reading
from middlecut.app.spirit_events import BottlesFilled, HeartsChosen, JarFilled
from middlecut.errors import OutOfRangeError

__all__ = ["Measured", "measured_lots", "measured_part"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of one lot.

    Parameters
    ----------
    volume : float or None
        At 20 °C where its temperature was given; else as it stood in the vessel. [m³]
    strength : float or None
        At 20 °C, 0 to 1.
    complete : bool
        False while jars of it are still being filled.
    origin : str
        Where it comes from when the lot itself was not measured: "from its jars", "from the jars
        chosen", "from the bottles", "worked out from what was measured" and the like; else "".
    bottlings : tuple of BottlesFilled
        Fillings that make it up.
    """

    volume: float | None = None
    strength: float | None = None
    complete: bool = True
    origin: str = ""
    bottlings: tuple[BottlesFilled, ...] = ()

    @property
    def pure_alcohol(self) -> float | None:
        """Volume times strength. [m³ at 20 °C]; None when either is unknown."""
        if self.volume is None or self.strength is None:
            return None
        return self.volume * self.strength

    @property
    def remark(self) -> str:
        """What to say after a value of it; "" for a plain measurement of the whole."""
        words = ("" if self.complete else " so far", f", {self.origin}" if self.origin else "")
        return "".join(words)


def measured_lots(state: Batch) -> dict[str, Measured]:
    """Return what was measured, by lot.

    The jars chosen count before all jars of a cut, and a reading of the whole lot before both,
    unless the jars were chosen after it; the last reading counts. Every filling of bottles counts.

    Parameters
    ----------
    state : Batch

    Returns
    -------
    lots : dict of str to Measured
    """
    found = {**_by_jars(state), **_by_choice(state)}
    since = {body.lot: event.utc for event, body in state.of(HeartsChosen)}
    makers = _makers(state)
    by_lot: dict[str, list[Reading]] = {}
    for one in state.readings():
        lot = one.taken.lot
        # What another step than its maker measured is the part that it takes.
        if lot and makers.get(lot, one.taken.step) == one.taken.step and _after(one, since):
            by_lot.setdefault(lot, []).append(one)
    for lot, readings in by_lot.items():
        found[lot] = _of_readings(readings, found.get(lot, Measured()))
    steps = {one.outline.step: one.outline for one in state.steps()}
    fillings: dict[str, list[BottlesFilled]] = {}
    for _, body in state.of(BottlesFilled):
        outline = steps.get(body.step)
        if outline is not None and outline.makes:
            fillings.setdefault(outline.makes[0], []).append(body)
    found.update((lot, _of_bottles(bodies)) for lot, bodies in fillings.items())
    return found


def measured_part(state: Batch, step: str, lot: str) -> Measured:
    """Return what a step measured of a lot that it takes: the part it takes, not the whole.

    Parameters
    ----------
    state : Batch
    step, lot : str

    Returns
    -------
    measured : Measured
    """
    readings = [one for one in state.readings(step) if one.taken.lot == lot]
    return _of_readings(readings, Measured())


def _makers(state: Batch) -> dict[str, str]:
    """Return the step that makes each lot; what a draw leaves keeps its maker."""
    found: dict[str, str] = {}
    for one in state.steps():
        made = one.outline.makes[1:] if one.outline.kind == "draw" else one.outline.makes
        found.update((lot, one.outline.step) for lot in made)
    return found


def _after(one: Reading, since: Mapping[str, datetime]) -> bool:
    chosen = since.get(one.taken.lot or "")
    return chosen is None or one.utc >= chosen


def _choices(state: Batch) -> dict[str, HeartsChosen]:
    """Return the choice of jars that holds of each run."""
    return {body.step: body for _, body in state.of(HeartsChosen)}


def _by_jars(state: Batch) -> dict[str, Measured]:
    steps = {one.outline.step: one for one in state.steps()}
    elsewhere = {
        (step, jar): body.lot for step, body in _choices(state).items() for jar in body.jars
    }
    by_lot: dict[str, list[JarFilled]] = {}
    for jar in state.jars():
        # A jar that was chosen for another lot is no longer part of the cut it ran off in.
        if jar.lot and elsewhere.get((jar.step, jar.jar), jar.lot) == jar.lot:
            by_lot.setdefault(jar.lot, []).append(jar)
    found = {}
    for lot, jars in by_lot.items():
        finished = steps[jars[0].step].finished if jars[0].step in steps else None
        found[lot] = _of_jars(jars, complete=finished is not None)
    return found


def _by_choice(state: Batch) -> dict[str, Measured]:
    found = {}
    for step, body in _choices(state).items():
        jars = [one for one in state.jars(step) if one.jar in body.jars]
        if jars:
            made = _of_jars(jars, complete=True)
            found[body.lot] = replace(made, origin="from the jars chosen")
    return found


def _of_jars(jars: Iterable[JarFilled], *, complete: bool) -> Measured:
    pairs = [
        (jar.volume, true_strength_of(jar.strength, jar.temperature, jar.reference)) for jar in jars
    ]
    volume = sum(pair[0] for pair in pairs)
    known = [pair[0] * pair[1] for pair in pairs if pair[1] is not None]
    strength = sum(known) / volume if len(known) == len(pairs) and volume > 0.0 else None
    return Measured(volume, strength, complete, "from its jars")


def _of_readings(readings: Iterable[Reading], before: Measured) -> Measured:
    volume, strength = before.volume, before.strength
    origin = {"volume": before.origin, "strength": before.origin}
    complete, warmth = before.complete, None
    for one in readings:
        taken = one.taken
        if taken.quantity == "volume":
            volume, complete, warmth = taken.value, True, taken.temperature
            origin["volume"] = ""
        elif taken.quantity == "true_strength":
            strength = taken.value
            origin["strength"] = ""
        elif taken.quantity == "strength":
            strength = true_strength_of(taken.value, taken.temperature, taken.reference)
            origin["strength"] = ""
    if volume is not None and strength is not None and warmth is not None:
        with suppress(OutOfRangeError):  # measured so hot that the formula does not reach
            volume = volume_at_20(volume, strength, warmth)
    origins = [word for word in origin.values() if word]
    said = origins[0] if len(origins) == 1 else origin["volume"]
    if len(origins) == 1 and before.origin:
        said = f"partly {said}"
    return Measured(volume, strength, complete, said)


def _of_bottles(bodies: list[BottlesFilled]) -> Measured:
    volume = sum(body.count * body.bottle_volume for body in bodies)
    pure = sum(body.count * body.bottle_volume * body.strength for body in bodies)
    return Measured(volume, pure / volume, origin="from the bottles", bottlings=tuple(bodies))
