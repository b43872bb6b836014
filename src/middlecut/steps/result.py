# SPDX-License-Identifier: MIT
"""What every step returns: lots, figures, cautions and an account that closes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from middlecut.errors import BalanceError

if TYPE_CHECKING:
    from middlecut.steps.curve import Curve
    from middlecut.steps.lot import Lot

__all__ = ["CLOSURE", "Account", "Caution", "Entry", "Figure", "StepResult"]

CLOSURE = 1e-9
"""Largest relative gap an account may show."""


@dataclass(frozen=True, slots=True)
class Caution:
    """Something a person beside the still has to know, with the number that caused it.

    Parameters
    ----------
    code : str
        Stable name, e.g. ``fill-high``.
    severity : {"danger", "watch", "note"}
        Danger: can hurt or kill. Watch: can spoil the batch. Note: worth knowing.
    text : str
        A sentence that contains the number and says what to do.
    value, limit : float or None
        The number that caused it and the limit it met, in SI.
    unit : str
        SI unit of both.
    source : str
        Where the limit comes from; "common practice" where nothing better exists.
    """

    code: str
    severity: Literal["danger", "watch", "note"]
    text: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = "common practice"


@dataclass(frozen=True, slots=True)
class Figure:
    """One predicted number of a step.

    Parameters
    ----------
    key : str
        Stable name, e.g. ``heat_up_time``.
    label : str
        Plain words for the sheet.
    value : float
        In SI.
    dimension : str
        Kind of quantity as :mod:`middlecut.units` names it.
    low, high : float or None
        Range where one is known; None means unknown.
    basis : str
        "read", "read-abstract", "computed", "memory" or "estimate".
    """

    key: str
    label: str
    value: float
    dimension: str
    low: float | None = None
    high: float | None = None
    basis: str = "computed"


@dataclass(frozen=True, slots=True)
class Entry:
    """Where one substance came from and where it went. [kg].

    Parameters
    ----------
    came : mapping of str to float
        By lot or source ("grain bill", "made by yeast").
    went : mapping of str to float
        By lot or named loss ("lees", "CO2", "held in the still").
    """

    came: Mapping[str, float]
    went: Mapping[str, float]

    @property
    def gap(self) -> float:
        """Came minus went, over the larger of the two; 0 when both are nothing."""
        came, went = sum(self.came.values()), sum(self.went.values())
        scale = max(abs(came), abs(went))
        return (came - went) / scale if scale > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Account:
    """The account of one step: water, ethanol, solids and each compound by name.

    Parameters
    ----------
    entries : mapping of str to Entry
        By substance: "water", "ethanol", "solids", "CO2" where it arises, and compound names.
    """

    entries: Mapping[str, Entry]

    def check(self, where: str) -> Account:
        """Return the account itself, or raise BalanceError if any substance does not close."""
        for name, entry in self.entries.items():
            if not abs(entry.gap) <= CLOSURE:
                raise BalanceError(
                    f"{where}: the account of {name} is open by {entry.gap:.3g} of its amount; "
                    "this is a fault of middlecut, not of the plan."
                )
        return self

    def to_dict(self) -> dict[str, dict[str, dict[str, float]]]:
        """Return the account as plain JSON types: substance, "came" or "went", name, kg."""
        return {
            substance: {"came": dict(entry.came), "went": dict(entry.went)}
            for substance, entry in self.entries.items()
        }


@dataclass(frozen=True, slots=True)
class StepResult:
    """What one step does.

    Parameters
    ----------
    step_id, kind : str
        The user's id and the kind of step.
    made : mapping of str to Lot
        New lots by name, in the order a person meets them.
    used : mapping of str to Lot
        What was taken, by lot name.
    account : Account
    cautions : tuple of Caution
    figures : tuple of Figure
        In the order of the sheet.
    curve : Curve or None
        The dense run of a distil step.
    duration : float
        Hours at work, as seconds. [s]
    energy : float
        Electrical energy. [J]
    cooling_water : float
        [kg]
    citations : tuple of str
        Keys of CITATIONS.bib for the models used.
    """

    step_id: str
    kind: str
    made: Mapping[str, Lot]
    used: Mapping[str, Lot]
    account: Account
    cautions: tuple[Caution, ...] = ()
    figures: tuple[Figure, ...] = ()
    curve: Curve | None = None
    duration: float = 0.0
    energy: float = 0.0
    cooling_water: float = 0.0
    citations: tuple[str, ...] = field(default=())
