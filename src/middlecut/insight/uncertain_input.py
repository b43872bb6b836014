# SPDX-License-Identifier: MIT
"""One uncertain input of a plan and its distribution."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from middlecut.steps.scenario import AIR

if TYPE_CHECKING:
    from middlecut.steps.lot import Amount

__all__ = ["GIVEN", "NINETY", "Form", "UncertainInput", "content_input", "process_input", "tied"]

NINETY = 1.6448536269514722
"""Standard deviations from the middle of a normal distribution to its 95 % point."""
_FLOOR = 1e-3
"""A lowest content of nothing is taken as this share of the typical one: logarithms have no 0."""

GIVEN = "range given with it"

Form = Literal["factor", "offset", "remainder"]


@dataclass(frozen=True, slots=True)
class UncertainInput:
    """One uncertain input and its distribution.

    With z standard normal, a *factor* multiplies the value by ``up^(z/1.645)`` for z > 0 and
    divides it by ``down^(|z|/1.645)`` for z < 0: the typical value is the median, and value/down
    and value·up are the 5 and 95 % points (a log-normal split at the typical value). A *remainder*
    does the same to one minus the value. An *offset* adds ``up·z/1.645``.

    Parameters
    ----------
    key : str
        Stable name, such as ``still.column.head_loss`` or ``volatility.methanol``.
    label : str
        Words for the sheet.
    form : {"factor", "offset", "remainder"}
        What is done with the value.
    up, down : float
        For a factor the ratios of the 95 % point to the median and of the median to the 5 % point;
        for an offset the half-width of the band, in SI.
    basis : str
        "read", "computed", "memory" or "estimate"; for volatilities "measured", "anchored" or
        "estimated".
    source : str
        Where the spread comes from.
    advice : str
        What to measure to know it better; "" when nothing can be done about it at home.
    target : tuple of str
        Of a content its origin and compound, of a volatility its compound, of what happens in a
        step "process", the id of the step and what it is.
    centre : float
        Of a factor its median, where measurements have moved it.
    mix : tuple of (str, float)
        Where measurements tie inputs to each other: keys and weights whose sum of deviates takes
        the place of this input's own. Empty: it varies by itself.
    """

    key: str
    label: str
    form: Form
    up: float
    down: float
    basis: str
    source: str
    advice: str = ""
    target: tuple[str, ...] = ()
    centre: float = 1.0
    mix: tuple[tuple[str, float], ...] = ()

    def factor(self, z: float) -> float:
        """Return the factor that belongs to a standard normal deviate."""
        width = self.up if z > 0.0 else self.down
        return float(self.centre * width ** (z / NINETY))

    def apply(self, value: float, z: float) -> float:
        """Return the value that belongs to a standard normal deviate.

        Parameters
        ----------
        value : float
            The nominal value, in SI.
        z : float
            Standard normal.

        Returns
        -------
        float
            In SI.
        """
        if self.form == "offset":
            return value + self.up * z / NINETY
        if self.form == "remainder":
            return 1.0 - (1.0 - value) * self.factor(z)
        return value * self.factor(z)


def tied(inputs: Sequence[UncertainInput], row: Sequence[float]) -> list[float]:
    """Return deviates of inputs of which some are tied to each other.

    Parameters
    ----------
    inputs : sequence of UncertainInput
    row : sequence of float
        Independent standard normal deviates, one an input.

    Returns
    -------
    list of float
        Standard normal each; those of inputs with a mix as it says.
    """
    if not any(one.mix for one in inputs):
        return list(row)
    known = {one.key: z for one, z in zip(inputs, row, strict=True)}
    return [
        sum(weight * known.get(key, 0.0) for key, weight in one.mix) if one.mix else z
        for one, z in zip(inputs, row, strict=True)
    ]


def content_input(
    key: str,
    target: tuple[str, ...],
    amount: Amount,
    label: str,
    source: str = GIVEN,
) -> Iterator[UncertainInput]:
    """Give the content of a compound, if a range of it is known.

    Parameters
    ----------
    key : str
        Of the input.
    target : tuple of str
        Origin and compound.
    amount : Amount
        With its range.
    label, source : str
        As of the input.

    Yields
    ------
    UncertainInput
        One or none.
    """
    typical, low, high = amount.typical, amount.low, amount.high
    if not typical > 0.0 or not low <= typical <= high or low == high:
        return
    yield UncertainInput(
        key=key,
        label=label,
        form="factor",
        up=high / typical,
        down=typical / max(low, _FLOOR * typical),
        basis=amount.basis,
        source=source,
        advice=f"have {label} measured by a laboratory",
        target=target,
    )


def process_input(
    step: str,
    quantity: str,
    label: str,
    *,
    found: tuple[float, float, float],
    basis: str,
    advice: str,
) -> UncertainInput:
    """Give a factor on what happens in a step.

    Parameters
    ----------
    step, quantity, label : str
        Id of the step, what is uncertain, and words for the sheet.
    found : tuple of float
        Typical, low and high, in any one unit.
    basis, advice : str
        As of the input.

    Returns
    -------
    UncertainInput
    """
    typical, low, high = found
    return UncertainInput(
        key=f"{AIR}{quantity}" if step == AIR else f"step.{step}.{quantity}",
        label=label,
        form="factor",
        up=high / typical,
        down=typical / low,
        basis=basis,
        source=GIVEN,
        advice=advice,
        target=("process", step, quantity),
    )
