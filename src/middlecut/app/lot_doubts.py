# SPDX-License-Identifier: MIT
"""What is asked about after the run: water, bottles and glasses that do not fit what there is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from middlecut.app.doubts import Doubt
from middlecut.app.known_lot import WORKED_OUT
from middlecut.app.spirit_events import BottlesFilled, DoseTried
from middlecut.app.views.bottling import BottleView, LabelCheck
from middlecut.app.views.dilution import DilutionView
from middlecut.app.views.frame import StepFrame
from middlecut.units import System, format_quantity

__all__ = ["bottle_doubts", "glass_doubts", "water_doubts"]

OVER_WATER = 1.5
"""Times the water still to add from which it is asked about."""
OVER_VOLUME = 1.02
"""Times what there is from which bottles are asked about: a vessel is read to 2 per cent."""
OFF_STRENGTH = 0.01
"""Fraction by volume by which two readings of one spirit may differ; our estimate."""
A_GRAM = 2.0e-3
"""What a kitchen scale may be off. [kg]"""


def water_doubts(view: DilutionView, mass: float, *, system: System) -> tuple[Doubt, ...]:
    """Return the question whether so much water went in.

    Parameters
    ----------
    view : DilutionView
        Before it.
    mass : float
        [kg]
    system : {"metric", "us"}

    Returns
    -------
    doubts : tuple of Doubt
    """
    rest = max(view.water - view.added, 0.0)
    if mass <= OVER_WATER * rest + A_GRAM:
        return ()
    total = view.added + mass

    def shown(value: float) -> str:
        return format_quantity(value, "mass", system=system)

    asked = f"the {shown(rest)} that are still to go in" if rest > A_GRAM else "what was to go in"
    return (
        Doubt(
            "water-much",
            "water",
            f"{shown(mass)} of water is far more than {asked}: with it there would be "
            f"{shown(total)} in it, and the way down takes {shown(view.water)}",
        ),
    )


def bottle_doubts(
    view: BottleView, check: LabelCheck, filled: BottlesFilled, *, system: System
) -> tuple[Doubt, ...]:
    """Return what is odd about bottles: more than there is, or not what the label says.

    Parameters
    ----------
    view : BottleView
        Before them.
    check : LabelCheck
        Of the strength in them.
    filled : BottlesFilled
    system : {"metric", "us"}

    Returns
    -------
    doubts : tuple of Doubt
    """
    found = []
    there = view.lot.lot.volume
    before = sum(one.count * one.bottle_volume for one in view.filled)
    volume = filled.count * filled.bottle_volume

    def shown(value: float) -> str:
        return format_quantity(value, "volume", system=system)

    if before + volume > OVER_VOLUME * there:
        together = f", {shown(before + volume)} with those filled before" if before else ""
        found.append(
            Doubt(
                "bottles-much",
                "count",
                f"{filled.count} bottles of {shown(filled.bottle_volume)} are {shown(volume)}"
                f"{together}; there is {shown(there)} ({view.lot.basis})",
            )
        )
    strength = format_quantity(filled.strength, "strength", digits=2)
    known = view.lot.lot.strength
    off = view.lot.strength_known <= WORKED_OUT and abs(filled.strength - known) > OFF_STRENGTH
    if off or not check.within:
        against = []
        if not check.within:
            against.append(f"the label says {format_quantity(check.label, 'strength')}")
        if off:
            against.append(
                f"what was measured before makes it {format_quantity(known, 'strength')}"
            )
        found.append(
            Doubt(
                "bottles-strength", "strength", f"{strength} at 20 °C, but {' and '.join(against)}"
            )
        )
    return tuple(found)


def glass_doubts(
    frame: StepFrame, tried: DoseTried, *, shown: Callable[[datetime], str]
) -> tuple[Doubt, ...]:
    """Return the question whether a glass is really tasted a second time.

    Parameters
    ----------
    frame : StepFrame
        Of a blend.
    tried : DoseTried
    shown : callable
        Gives a moment as it is shown to people.

    Returns
    -------
    doubts : tuple of Doubt
    """
    before = [
        (event, body)
        for event, body in frame.state.of(DoseTried)
        if (body.step, body.glass.casefold()) == (frame.id, tried.glass.casefold())
    ]
    if not before:
        return ()
    event, body = before[-1]
    dose = format_quantity(body.rate, "fraction", digits=2)
    return (
        Doubt(
            "glass-again",
            "glass",
            f"glass {body.glass} was tasted at {shown(event.utc)} already, with a dose of {dose}; "
            "saved again, both results are kept",
            ((f"The result of {shown(event.utc)}", event.id),),
        ),
    )
