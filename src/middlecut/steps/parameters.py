# SPDX-License-Identifier: MIT
"""Parameters of each kind of step, in SI, after the plan file has been read and checked.

Every class is frozen; the plan layer builds them, the step functions take them. ``Take`` says how
much of which lot a step uses.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from middlecut.steps.lot import Amount

if TYPE_CHECKING:
    from middlecut.liquid.ingredients import Form, Ingredient

__all__ = [
    "Addition",
    "Blend",
    "Bottle",
    "Cut",
    "Dilute",
    "Distil",
    "Draw",
    "Ferment",
    "PowerChange",
    "Steep",
    "StepParameters",
    "Take",
    "Until",
    "Wood",
]


@dataclass(frozen=True, slots=True)
class Take:
    """What a step takes from one lot.

    Parameters
    ----------
    lot : str
        Name of the lot.
    volume : float or None
        Volume at 20 °C to take. [m³] None with ``fraction`` None means all that is left.
    fraction : float or None
        Share of what is left, 0 to 1.
    dose : float or None
        Volume at 20 °C per volume of everything in the blend that has no dose. [m³ m⁻³] Only in a
        blend.
    """

    lot: str
    volume: float | None = None
    fraction: float | None = None
    dose: float | None = None


@dataclass(frozen=True, slots=True)
class Addition:
    """An ingredient and where it meets the liquid.

    Parameters
    ----------
    ingredient : Ingredient
        What it is, as :mod:`middlecut.liquid.ingredients` describes it.
    amount : float
        [kg]
    entry_point : {"wash-early", "wash-late", "charge", "basket", "steep"}
    form : {"whole", "coarse", "fine"} or None
        How far it is broken up; None: as usual.
    time : float or None
        When it goes into the wash, from pitching. [s]
    attenuation : float or None
        Or the share of the fall in gravity that is done by then, 0.5 to 0.999.
    contact : float or None
        How long it stays in wash or steep. [s] None: to the end of the step.
    """

    ingredient: Ingredient
    amount: float
    entry_point: Literal["wash-early", "wash-late", "charge", "basket", "steep"]
    form: Form | None = None
    time: float | None = None
    attenuation: float | None = None
    contact: float | None = None


@dataclass(frozen=True, slots=True)
class Ferment:
    """Make a wash from water and extract and let yeast work on it.

    Parameters
    ----------
    id : str
    into : str
        Name of the cleared wash made.
    volume : float
        Wort in the fermenter. [m³ at 20 °C]
    gravity : float
        Original gravity, SG 20/20.
    final_gravity : float
        Apparent final gravity, SG 20/20.
    temperature : float
        [K]
    duration : float
        From pitching to the final gravity. [s]
    settling : float
        Time to clear after that. [s]
    lees : float
        Volume left behind with the yeast. [m³]
    reserve : tuple of (str, float)
        Further lots split off the cleared wash: name and volume. [m³]
    compounds : mapping of str to Amount
        The user's own levels in the finished wash, over the table's; as mass per volume. [kg m⁻³]
    profile : str
        Row set of the congener table: "grain", "sugar" or "fruit".
    additions : tuple of Addition
        Ingredients put into the wash.
    profile_stated : bool
        Whether the plan names the profile, rather than leaving it to be taken for grain.
    """

    id: str
    into: str
    volume: float
    gravity: float
    final_gravity: float
    temperature: float
    duration: float
    settling: float = 0.0
    lees: float = 0.0
    reserve: tuple[tuple[str, float], ...] = ()
    compounds: Mapping[str, Amount] = field(default_factory=dict)
    profile: str = "grain"
    additions: tuple[Addition, ...] = ()
    profile_stated: bool = True
    kind: Literal["ferment"] = "ferment"


@dataclass(frozen=True, slots=True)
class Draw:
    """Set part of a lot aside under a new name; the rest keeps its name."""

    id: str
    take: Take
    into: str
    kind: Literal["draw"] = "draw"


@dataclass(frozen=True, slots=True)
class Until:
    """When a cut ends. Exactly one field is set.

    Parameters
    ----------
    volume : float or None
        When this cut holds so much, as mixed, at 20 °C. [m³]
    strength : float or None
        When the distillate running off falls to this strength, 0 to 1.
    head_temperature : float or None
        When the still head reaches this temperature. [K]
    time : float or None
        When so much time has passed since the first drop of the run. [s]
    boiler_volume : float or None
        When the boiler holds no more than this. [m³ at 20 °C]
    """

    volume: float | None = None
    strength: float | None = None
    head_temperature: float | None = None
    time: float | None = None
    boiler_volume: float | None = None


@dataclass(frozen=True, slots=True)
class Cut:
    """One part of the distillate, in the order it runs.

    Parameters
    ----------
    into : str
        Name of the lot made.
    until : Until
    power : float or None
        Setting while this cut runs, as a fraction of full power; None keeps the one before.
    coolant_duty : float or None
        Heat taken by the reflux coolant while this cut runs. [W] None keeps the one before.
    reflux_ratio : float or None
        Ratio while this cut runs; None keeps the one before.
    jar_volume : float or None
        Size of the jars the cut is collected in. [m³] None: one vessel.
    """

    into: str
    until: Until
    power: float | None = None
    coolant_duty: float | None = None
    reflux_ratio: float | None = None
    jar_volume: float | None = None


@dataclass(frozen=True, slots=True)
class PowerChange:
    """A change of the power setting on the way, whatever cut is running.

    Parameters
    ----------
    at : Until
        When; a volume counts all that has come over since the first drop.
    power : float
        As a fraction of full power.
    """

    at: Until
    power: float


@dataclass(frozen=True, slots=True)
class Distil:
    """Boil a charge and collect what comes over, in cuts.

    Parameters
    ----------
    id : str
    takes : tuple of Take
        What makes up the charge.
    water : float
        Water added to the charge. [kg]
    still : str
        Name of the still.
    purpose : {"strip", "spirit", "flavour"}
    cuts : tuple of Cut
        At least one, in order; the run stops when the last is full.
    residue : str
        Name of what stays in the boiler.
    power : float
        Setting at the start, as a fraction of full power.
    heat_up_power : float
        Setting while heating up, as a fraction of full power.
    total_reflux : float
        Time at total reflux before the first drop is taken. [s]
    power_changes : tuple of PowerChange
    charge_temperature : float or None
        [K] None: as the lots come.
    additions : tuple of Addition
        Ingredients in the boiler or in the vapour basket.
    """

    id: str
    takes: tuple[Take, ...]
    still: str
    purpose: Literal["strip", "spirit", "flavour"]
    cuts: tuple[Cut, ...]
    residue: str
    water: float = 0.0
    power: float = 1.0
    heat_up_power: float = 1.0
    total_reflux: float = 0.0
    power_changes: tuple[PowerChange, ...] = ()
    charge_temperature: float | None = None
    additions: tuple[Addition, ...] = ()
    kind: Literal["distil"] = "distil"


@dataclass(frozen=True, slots=True)
class Blend:
    """Put lots together."""

    id: str
    takes: tuple[Take, ...]
    into: str
    kind: Literal["blend"] = "blend"


@dataclass(frozen=True, slots=True)
class Dilute:
    """Bring a lot to a lower strength with water.

    Parameters
    ----------
    id : str
    take : Take
    strength : float
        Wanted strength, 0 to 1.
    into : str
    additions : int
        Number of equal steps of strength the water is added in.
    water_temperature : float
        [K]
    """

    id: str
    take: Take
    strength: float
    into: str
    additions: int = 1
    water_temperature: float = 293.15
    kind: Literal["dilute"] = "dilute"


@dataclass(frozen=True, slots=True)
class Bottle:
    """Fill bottles.

    Parameters
    ----------
    id : str
    take : Take
    into : str
    bottle_volume : float
        [m³]
    label_strength : float
        Strength printed, 0 to 1.
    tolerance : float
        Legal tolerance of the printed strength, as a fraction by volume (0.003 is 0.3 % vol).
    loss : float
        Volume lost in filling and filtering. [m³]
    """

    id: str
    take: Take
    into: str
    bottle_volume: float
    label_strength: float
    tolerance: float = 0.003
    loss: float = 0.0
    kind: Literal["bottle"] = "bottle"


@dataclass(frozen=True, slots=True)
class Steep:
    """Leave ingredients in a lot and strain them off.

    Parameters
    ----------
    id : str
    take : Take
    into : str
    additions : tuple of Addition
        At least one.
    duration : float
        [s]
    temperature : float
        [K]
    stirred : bool
        All the time, against an occasional shake.
    """

    id: str
    take: Take
    into: str
    additions: tuple[Addition, ...]
    duration: float
    temperature: float = 293.15
    stirred: bool = False
    kind: Literal["steep"] = "steep"


@dataclass(frozen=True, slots=True)
class Wood:
    """Leave a lot on oak, in a cask or with pieces of oak in a closed vessel.

    Parameters
    ----------
    id : str
    take : Take
    into : str
    duration : float
        Time on the wood. [s]
    form : {"cask", "staves", "cubes", "chips", "shavings"}
    species, treatment : str
        As :mod:`middlecut.liquid.oak` names them.
    cask_volume : float or None
        Of the cask, full. [m³] Only with form "cask".
    dose : float or None
        Dry wood per volume of the lot. [kg m⁻³] Only with pieces; either this or ``area``.
    area : float or None
        Area of all pieces. [m²]
    piece : tuple of float or None
        Length, width and thickness of one piece. [m] None: the usual size of the form.
    temperature : float or None
        [K] None: that of the climate for a cask, 293.15 for pieces.
    climate : str
        Where the cask lies, as :mod:`middlecut.liquid.evaporation` names it; "" for pieces in a
        closed vessel, which loses nothing.
    yearly_loss : float or None
        Your own share of the volume lost in a year. None: the table's.
    earlier_fills : int
        How often the wood was used before.
    forced : str
        What was done to hurry it, in your words; kept, not predicted.
    """

    id: str
    take: Take
    into: str
    duration: float
    form: Literal["cask", "staves", "cubes", "chips", "shavings"]
    species: str
    treatment: str
    cask_volume: float | None = None
    dose: float | None = None
    area: float | None = None
    piece: tuple[float, float, float] | None = None
    temperature: float | None = None
    climate: str = ""
    yearly_loss: float | None = None
    earlier_fills: int = 0
    forced: str = ""
    kind: Literal["wood"] = "wood"


StepParameters = Ferment | Draw | Distil | Steep | Blend | Dilute | Bottle | Wood
