# SPDX-License-Identifier: MIT
"""The one tree of errors that middlecut raises on purpose.

::

    MiddlecutError
    ├── InputError (ValueError)      something a person or a file gave is not usable
    │   ├── OutOfRangeError          a number lies outside the range its source covers
    │   ├── UnitError                a quantity has no unit, or an unknown or unfit one
    │   ├── NotYetError              the plan names a part that this release cannot do yet
    │   └── PlanError                one or more problems of a plan file, all at once
    ├── NotFoundError (LookupError)  a compound, lot, step or file of that name does not exist
    ├── ConvergenceError             a numerical method did not reach its tolerance
    ├── CancelledError               long work was stopped on request; nothing of it is kept
    ├── BalanceError                 an account of matter does not close
    ├── ConflictError                somebody else changed the record first
    └── StoreError                   the record cannot be read or written

Every message is a sentence for the person who has to mend it: which field, which value, what is
allowed, and how to put it right.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BalanceError",
    "CancelledError",
    "ConflictError",
    "ConvergenceError",
    "InputError",
    "MiddlecutError",
    "NotFoundError",
    "NotYetError",
    "OutOfRangeError",
    "PlanError",
    "Problem",
    "StoreError",
    "UnitError",
]


class MiddlecutError(Exception):
    """Base of every error that middlecut raises on purpose."""


class InputError(MiddlecutError, ValueError):
    """Something that was given cannot be used.

    Parameters
    ----------
    field : str
        Name of the field, key or argument.
    value : object
        What was given.
    allowed : str
        What would be accepted, in words.
    remedy : str
        What to do about it, as a sentence.
    """

    def __init__(self, field: str, value: object, allowed: str, remedy: str = "") -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        self.remedy = remedy
        super().__init__(field, value, allowed, remedy)

    def __str__(self) -> str:
        text = f"{self.field}: {_show(self.value)} is not usable; {self.allowed}."
        return f"{text} {self.remedy}" if self.remedy else text


class OutOfRangeError(InputError):
    """A number lies outside the range its source covers; nothing is extrapolated or clipped.

    Parameters
    ----------
    quantity : str
        Name of the quantity.
    value : float
        What was given.
    low, high : float
        The range covered, in the same unit.
    unit : str
        Unit of all three numbers ("" for a pure number).
    source : str
        Where the range comes from.
    remedy : str
        What to do about it, as a sentence.
    """

    def __init__(
        self,
        quantity: str,
        value: float,
        low: float,
        high: float,
        *,
        unit: str = "",
        source: str = "",
        remedy: str = "",
    ) -> None:
        self.quantity = quantity
        self.low = low
        self.high = high
        self.unit = unit
        self.source = source
        tail = f" {unit}" if unit else ""
        reason = f" ({source})" if source else ""
        super().__init__(quantity, value, f"the range is {low:g} to {high:g}{tail}{reason}", remedy)


class UnitError(InputError):
    """A quantity has no unit, an unknown unit, or a unit of the wrong kind."""


class NotYetError(InputError):
    """The plan names a part that has its place in the format but that this release cannot do."""


class NotFoundError(MiddlecutError, LookupError):
    """Nothing of that name exists.

    Parameters
    ----------
    kind : str
        What was looked for ("compound", "lot", "step", "file").
    name : str
        The name that was not found.
    near : tuple of str
        The nearest names that do exist.
    """

    def __init__(self, kind: str, name: str, near: tuple[str, ...] = ()) -> None:
        self.kind = kind
        self.name = name
        self.near = near
        super().__init__(kind, name, near)

    def __str__(self) -> str:
        text = f"There is no {self.kind} called {self.name!r}."
        return f"{text} Did you mean {' or '.join(map(repr, self.near))}?" if self.near else text


class ConvergenceError(MiddlecutError):
    """A numerical method did not reach its tolerance.

    Parameters
    ----------
    method : str
        The method, in words.
    iterations : int
        How many iterations or steps were made.
    residual : float
        What was left, relative to the tolerance's quantity.
    """

    def __init__(self, method: str, iterations: int, residual: float) -> None:
        self.method = method
        self.iterations = iterations
        self.residual = residual
        super().__init__(method, iterations, residual)

    def __str__(self) -> str:
        return (
            f"{self.method} did not converge after {self.iterations} iterations "
            f"(residual {self.residual:.3g})."
        )


class CancelledError(MiddlecutError):
    """Long work was stopped on request before it was done; nothing of it is kept."""


class BalanceError(MiddlecutError):
    """An account of matter does not close; the result must not be used."""


class ConflictError(MiddlecutError):
    """The record was changed by somebody else first."""


class StoreError(MiddlecutError):
    """The record cannot be read or written."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a plan file.

    Parameters
    ----------
    key : str
        Dotted place of the value, e.g. ``step.spirit.cuts[1].until``.
    value : str
        What stands there, shortened for display ("" when the key is missing).
    message : str
        What is wrong and what is allowed.
    remedy : str
        What to do about it.
    line : int or None
        Line in the file, counted from 1, when known.
    """

    key: str
    value: str
    message: str
    remedy: str
    line: int | None = None


class PlanError(InputError):
    """One or more problems of a plan, reported all at once.

    Parameters
    ----------
    path : str
        The plan file, as the person named it.
    problems : tuple of Problem
        At least one.
    """

    def __init__(self, path: str, problems: tuple[Problem, ...]) -> None:
        self.path = path
        self.problems = problems
        first = problems[0]
        super().__init__(first.key, first.value, first.message, first.remedy)

    def __str__(self) -> str:
        lines = []
        for problem in self.problems:
            place = f"{self.path}:{problem.line}" if problem.line else self.path
            value = f" = {problem.value}" if problem.value else ""
            text = f"{place}: {problem.key}{value}: {problem.message} {problem.remedy}"
            lines.append(text.rstrip())
        return "\n".join(lines)


def _show(value: object, limit: int = 60) -> str:
    text = f"{value:.6g}" if isinstance(value, float) else repr(value)
    return text if len(text) <= limit else f"{text[: limit - 1]}…"
