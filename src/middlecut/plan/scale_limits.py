# SPDX-License-Identifier: MIT
"""How far a plan can be made smaller or larger, found where a fit runs into it and told."""

from __future__ import annotations

import math
from dataclasses import dataclass

from middlecut.errors import InputError, PlanError
from middlecut.units import format_quantity

__all__ = ["LARGEST", "SMALLEST", "Search", "Wanted"]

SMALLEST, LARGEST = 1e-4, 1e4
"""Factors on every amount of a plan that are tried; our choice."""

_NEAR = 1.05  # a limit is told within this ratio
_NEAREST = 1.0001  # and looked for more closely where what is wanted lies so near it:
_CLOSE_CALL = 0.05

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a plan is fitted to.

    Parameters
    ----------
    lot : str
        Which lot.
    volume : float
        [m³ at 20 °C]
    reserve : float
        How much more than that is aimed at. [m³ at 20 °C]
    bottle : float
        Volume of a bottle where bottles were asked for, else 0. [m³]
    """

    lot: str
    volume: float
    reserve: float
    bottle: float

    def words(self, volume: float, rounded: int = 0) -> str:
        """Return a volume in litres or whole bottles, rounded down (-1) or up (1)."""
        if not self.bottle:
            litres = format_quantity(volume, "volume")
            return f"{litres} of {self.lot}"
        count = volume / self.bottle
        whole = math.floor(count + 1e-9) if rounded < 0 else math.ceil(count - 1e-9)
        return f"{whole} bottles" if whole != 1 else "1 bottle"


class Search:
    """Remembers what was tried: too little, enough, and where the plan could not be carried out.

    Parameters
    ----------
    wanted : Wanted
        For the messages.
    """

    def __init__(self, wanted: Wanted) -> None:
        self.wanted = wanted
        self.low: Point | None = None
        self.high: Point | None = None
        self._good: dict[float, float] = {}
        self._under = SMALLEST / 2.0
        self._over = LARGEST * 2.0

    def reached(self, factor: float, miss: float, volume: float) -> None:
        """Note what a factor gives."""
        self._good[factor] = volume
        if miss >= 0.0:
            self.high = (factor, miss)
        else:
            self.low = (factor, miss)

    def refused(self, factor: float, error: PlanError) -> float:
        """Note a factor at which the plan cannot be carried out, and return the next to try.

        Raises
        ------
        PlanError
            If the plan cannot be carried out as it is.
        InputError
            If what is wanted lies beyond the limit, with the limit.
        """
        if not self._good:
            raise error
        near = min(self._good, key=lambda good: abs(math.log(good / factor)))
        if factor < near:
            self._under = factor
        else:
            self._over = factor
        close = abs(self.wanted.volume / self._good[near] - 1.0) < _CLOSE_CALL
        if max(near / factor, factor / near) < (_NEAREST if close else _NEAR):
            raise self._limit(near, least=factor < near, why=_why(error)) from error
        return math.sqrt(near * factor)

    def kept(self, factor: float, following: float) -> float:
        """Return the next factor, kept from where the plan cannot be carried out.

        Raises
        ------
        InputError
            If the factor has come to the end of its range.
        """
        if self.high is None:
            inside = min(following, LARGEST, math.sqrt(factor * self._over))
        elif self.low is None:
            inside = max(following, SMALLEST, math.sqrt(factor * self._under))
        else:
            return following
        if inside == factor:
            end = f"it would take more than {LARGEST:,.0f} times every amount of this plan"
            if factor < 1.0:
                end = (
                    f"it would take less than 1/{1.0 / SMALLEST:,.0f} of every amount of this plan"
                )
            raise self._limit(factor, least=factor < 1.0, why=end)
        return inside

    def _limit(self, factor: float, *, least: bool, why: str) -> InputError:
        wanted = self.wanted
        volume = self._good[factor] / (1.0 + wanted.reserve / wanted.volume)
        shown = wanted.words(volume, 1 if least else -1)
        if wanted.bottle:
            field, given = "bottles", shown.partition(" ")[0]
        else:
            field, given = "volume", f'"{format_quantity(volume, "volume")}"'
        end, remedy = "least", f"Ask for at least about that (--{field} {given})."
        if not least:
            end = "most"
            remedy = f"Ask for at most about that (--{field} {given}), or use a larger still."
        return InputError(
            field,
            wanted.words(wanted.volume),
            f"the {end} this plan gives is about {shown}; beyond that {why}",
            remedy,
        )


def _why(error: PlanError) -> str:
    problem = error.problems[0]
    return f"{problem.key} cannot be done: {problem.message.rstrip('.')}"
