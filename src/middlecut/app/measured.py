# SPDX-License-Identifier: MIT
"""What was measured of each lot: volume and strength, from jars, readings and bottles."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from middlecut.app.alcohol import true_strength_of
from middlecut.app.batch import Batch, Reading
from middlecut.app.spirit_events import BottlesFilled, JarFilled

__all__ = ["Measured", "measured_lots"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of one lot.

    Parameters
    ----------
    volume : float or None
        As it stood in the vessel; the small correction to 20 °C is left out. [m³]
    strength : float or None
        At 20 °C, 0 to 1.
    complete : bool
        False while jars of it are still being filled.
    """

    volume: float | None = None
    strength: float | None = None
    complete: bool = True

    @property
    def pure_alcohol(self) -> float | None:
        """Volume times strength. [m³ at 20 °C]; None when either is unknown."""
        if self.volume is None or self.strength is None:
            return None
        return self.volume * self.strength


def measured_lots(state: Batch) -> dict[str, Measured]:
    """Return what was measured, by lot.

    A reading of the whole lot counts before the sum of its jars; the last reading counts.

    Parameters
    ----------
    state : Batch

    Returns
    -------
    lots : dict of str to Measured
    """
    steps = {one.outline.step: one for one in state.steps()}
    found: dict[str, Measured] = {}
    by_lot: dict[str, list[JarFilled]] = {}
    for jar in state.jars():
        if jar.lot:
            by_lot.setdefault(jar.lot, []).append(jar)
    for lot, jars in by_lot.items():
        finished = steps[jars[0].step].finished if jars[0].step in steps else None
        found[lot] = _of_jars(jars, complete=finished is not None)
    for lot in dict.fromkeys(one.taken.lot for one in state.readings() if one.taken.lot):
        readings = [one for one in state.readings() if one.taken.lot == lot]
        found[lot] = _of_readings(readings, found.get(lot, Measured()))
    for _, body in state.of(BottlesFilled):
        outline = steps[body.step].outline if body.step in steps else None
        if outline is not None and outline.makes:
            found[outline.makes[0]] = Measured(body.count * body.bottle_volume, body.strength)
    return found


def _of_jars(jars: Iterable[JarFilled], *, complete: bool) -> Measured:
    pairs = [
        (jar.volume, true_strength_of(jar.strength, jar.temperature, jar.reference)) for jar in jars
    ]
    volume = sum(pair[0] for pair in pairs)
    known = [pair[0] * pair[1] for pair in pairs if pair[1] is not None]
    strength = sum(known) / volume if len(known) == len(pairs) and volume > 0.0 else None
    return Measured(volume, strength, complete)


def _of_readings(readings: Iterable[Reading], before: Measured) -> Measured:
    volume, strength = before.volume, before.strength
    complete = before.complete
    for one in readings:
        taken = one.taken
        if taken.quantity == "volume":
            volume, complete = taken.value, True
        elif taken.quantity == "true_strength":
            strength = taken.value
        elif taken.quantity == "strength":
            strength = true_strength_of(taken.value, taken.temperature, taken.reference)
    return Measured(volume, strength, complete)
