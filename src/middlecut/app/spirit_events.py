# SPDX-License-Identifier: MIT
"""What is done with the spirit: power, cuts, jars, doses, water, wood, bottles, tasting.

The rules for a body stand in :mod:`middlecut.app.batch_events`. Quantities are in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "AdditionMade",
    "BottlesFilled",
    "CutCalled",
    "DoseChosen",
    "DoseTried",
    "HeartsChosen",
    "JarFilled",
    "JarNoted",
    "Phase",
    "PowerSet",
    "TastingMade",
    "WaterAdded",
    "WoodSampled",
]


@dataclass(frozen=True, slots=True)
class PowerSet:
    """The heating was set; exactly one of the two is given.

    Parameters
    ----------
    step : str
    share : float or None
        Of full power, 0 to 1.
    power : float or None
        [W]
    """

    step: str
    share: float | None = None
    power: float | None = None
    NAME: ClassVar[str] = "power.set"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class CutCalled:
    """From now on what runs off goes into another lot.

    Parameters
    ----------
    step : str
    into : str
        Name of the lot that begins.
    reason : str
        What decided it, in words.
    """

    step: str
    into: str
    reason: str = ""
    NAME: ClassVar[str] = "cut.called"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class JarFilled:
    """A jar is full and was set aside.

    Parameters
    ----------
    step, jar : str
        The jar's own name or number, once a step.
    volume : float
        As it stood in the jar. [m³]
    strength : float or None
        As the instrument showed it, 0 to 1.
    temperature : float or None
        Of the liquid. [K] None when the strength is already that at 20 °C.
    reference : str
        "20C" or "60F", as in :class:`ReadingTaken`.
    lot : str or None
        Name of the cut it belongs to.
    as_entered : str
    """

    step: str
    jar: str
    volume: float
    strength: float | None = None
    temperature: float | None = None
    reference: str = ""
    lot: str | None = None
    as_entered: str = ""
    NAME: ClassVar[str] = "jar.filled"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class JarNoted:
    """What a jar smells or tastes of.

    Parameters
    ----------
    step, jar : str
    descriptors : tuple of str
    text : str
    keep : str
        "yes", "no", "perhaps" or "" for no opinion yet.
    """

    step: str
    jar: str
    descriptors: tuple[str, ...] = ()
    text: str = ""
    keep: str = ""
    NAME: ClassVar[str] = "jar.noted"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class HeartsChosen:
    """These jars go together.

    Parameters
    ----------
    step : str
    jars : tuple of str
    lot : str
        Name of the lot they make.
    reason : str
    """

    step: str
    jars: tuple[str, ...]
    lot: str
    reason: str = ""
    NAME: ClassVar[str] = "hearts.chosen"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class AdditionMade:
    """An ingredient went in.

    Parameters
    ----------
    step, ingredient : str
    amount : float
        [kg]
    entry_point : str
        wash-early, wash-late, charge, basket, steep or dose.
    form : str
        Whole, coarse, fine or the person's own word.
    supply : str
        Which purchase or harvest it was.
    as_entered : str
    """

    step: str
    ingredient: str
    amount: float
    entry_point: str
    form: str = ""
    supply: str = ""
    as_entered: str = ""
    NAME: ClassVar[str] = "addition.made"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class DoseTried:
    """One glass of a dose ladder.

    Parameters
    ----------
    step, glass : str
    rate : float
        Flavour spirit per volume of the base. [m³/m³]
    rank : int or None
        1 for the best.
    descriptors : tuple of str
    text : str
    """

    step: str
    glass: str
    rate: float
    rank: int | None = None
    descriptors: tuple[str, ...] = ()
    text: str = ""
    NAME: ClassVar[str] = "dose.tried"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class DoseChosen:
    """The rate the whole batch gets.

    Parameters
    ----------
    step : str
    rate : float
        [m³/m³]
    reason : str
    """

    step: str
    rate: float
    reason: str = ""
    NAME: ClassVar[str] = "dose.chosen"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class WaterAdded:
    """Water went in.

    Parameters
    ----------
    step : str
    mass : float
        [kg]
    temperature : float or None
        [K]
    lot : str or None
    as_entered : str
    """

    step: str
    mass: float
    temperature: float | None = None
    lot: str | None = None
    as_entered: str = ""
    NAME: ClassVar[str] = "water.added"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class WoodSampled:
    """A sample on wood, or of a cask, was looked at.

    Parameters
    ----------
    step, sample : str
    volume : float or None
        Of the sample. [m³]
    wood_mass : float or None
        [kg]
    wood_area : float or None
        [m²]
    age : float or None
        Time on wood so far. [s]
    descriptors : tuple of str
    colour, text : str
    strength : float or None
        Of the sample at 20 °C, 0 to 1.
    """

    step: str
    sample: str
    volume: float | None = None
    wood_mass: float | None = None
    wood_area: float | None = None
    age: float | None = None
    descriptors: tuple[str, ...] = ()
    colour: str = ""
    text: str = ""
    strength: float | None = None
    NAME: ClassVar[str] = "wood.sampled"
    SCHEMA: ClassVar[int] = 2


@dataclass(frozen=True, slots=True)
class BottlesFilled:
    """Bottles were filled.

    Parameters
    ----------
    step : str
    count : int
    bottle_volume : float
        [m³ at 20 °C]
    strength : float
        True strength in the bottle at 20 °C, 0 to 1.
    lot_number : str
        As it stands on the bottle.
    """

    step: str
    count: int
    bottle_volume: float
    strength: float
    lot_number: str = ""
    NAME: ClassVar[str] = "bottles.filled"
    SCHEMA: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase of a tasting.

    Parameters
    ----------
    phase : str
        Such as nose, middle, finish.
    descriptors : tuple of str
    strength : int or None
        How strong the whole impression was, 1 to 5.
    intensities : tuple of float
        Of each descriptor, 0 to 10, in the same order; empty when none was given.
    text : str
    """

    phase: str
    descriptors: tuple[str, ...] = ()
    strength: int | None = None
    intensities: tuple[float, ...] = ()
    text: str = ""


@dataclass(frozen=True, slots=True)
class TastingMade:
    """Somebody smelled and tasted.

    Parameters
    ----------
    subject : str
        Name of the lot, jar or bottle.
    phases : tuple of Phase
    text : str
    code : str
        Code of a blind sample; "" when it was not blind.
    score : float or None
        0 to 100.
    step : str or None
    taster : str
        Who; initials will do.
    """

    subject: str
    phases: tuple[Phase, ...] = ()
    text: str = ""
    code: str = ""
    score: float | None = None
    step: str | None = None
    taster: str = ""
    NAME: ClassVar[str] = "tasting.made"
    SCHEMA: ClassVar[int] = 2
