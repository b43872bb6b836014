# SPDX-License-Identifier: MIT
"""What a diagnosis says: causes with their evidence and remedies with their effect."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from middlecut.plan.reshape import PlanEdit

__all__ = ["NEAR", "Cause", "Diagnosis", "Edit", "Effect", "Evidence", "Remedy", "Score"]

NEAR = 2.0
"""Odour activity value up to which a fault is near its threshold; our choice."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing that speaks for or against a cause.

    Parameters
    ----------
    test : str
        What was looked at.
    weight : float
        −1 to 1: above 0 it speaks for the cause, below against it, 0: not known. Our estimate.
    text : str
        A sentence with its numbers.
    """

    test: str
    weight: float
    text: str


@dataclass(frozen=True, slots=True)
class Score:
    """How a cause is ranked, part by part.

    Parameters
    ----------
    table : float
        How well the table's words fit what was found, 0 to 1.
    prediction : float
        Whether the responsible compounds reach their threshold here, −1 to 1; 0 when not known.
    evidence : float
        What plan and readings say, −1 to 1.
    total : float
        The first times a half, to which the others add or take up to 0.2 and 0.3.
    """

    table: float
    prediction: float
    evidence: float
    total: float


@dataclass(frozen=True, slots=True)
class Edit:
    """One change of the plan file.

    Parameters
    ----------
    key : str
        Dotted place of the value or item.
    value : str
        What shall stand there; of an item, its table; "" where something is taken away.
    before : str
        What stands there now, "" where nothing does.
    action : {"set", "unset", "insert", "remove"}
        As :class:`middlecut.plan.reshape.PlanEdit` has it.
    """

    key: str
    value: str
    before: str
    action: Literal["set", "unset", "insert", "remove"] = "set"

    @property
    def of_plan(self) -> PlanEdit:
        """The same as an edit of the text of a plan."""
        return PlanEdit(self.action, self.key, self.value)

    @property
    def place(self) -> str:
        """Where it is, in words where a whole item or step comes or goes."""
        owner, _, name = self.key.rpartition(".")
        if self.action == "insert" and owner == "step":
            return f"new step before {name}"
        if self.action == "insert":
            return f"new in {self.key.rpartition('[')[0]}"
        if self.action == "remove":
            return f"out of {owner}" if owner != "step" else f"step {name} goes"
        return self.key


@dataclass(frozen=True, slots=True)
class Effect:
    """What a remedy does to one compound of the tasted lot.

    Parameters
    ----------
    compound : str
        Its name.
    role : {"responsible", "wanted"}
    before, after : float
        [mg L⁻¹]
    oav_before, oav_after : float or None
        Odour activity value; None where no threshold is known.
    """

    compound: str
    role: str
    before: float
    after: float
    oav_before: float | None
    oav_after: float | None


@dataclass(frozen=True, slots=True)
class Remedy:
    """A concrete change of the plan, predicted anew.

    Parameters
    ----------
    number : int
        For ``--remedy``; counted through the whole diagnosis.
    title : str
        What to do, in words.
    edits : tuple of Edit
        What to write where in the plan.
    effects : tuple of Effect
        Responsible compounds first.
    change : float or None
        Of the responsible compounds together, relative: −0.6 is 60 % less; of a haze, what is
        dissolved over what can be; of a lost flavour, what is missed. None: not predicted.
    verdict : {"helps", "hardly helps", "makes it worse", "not predicted", "cannot be done"}
    volume_before, volume_after : float
        Of the tasted lot. [m³ at 20 °C]
    strength_before, strength_after : float
        Of the tasted lot, 0 to 1.
    duration_before, duration_after : float
        Of the whole plan. [s]
    dangers : tuple of str
        Dangers the change brings: such as were not there before, at that step or at all, and
        such as get clearly worse.
    problem : str
        Why it cannot be done in this plan, or "".
    text : str
        The edited plan file.
    missed : bool
        Whether the change is of what is missed, so that more is better.
    """

    number: int
    title: str
    edits: tuple[Edit, ...]
    effects: tuple[Effect, ...]
    change: float | None
    verdict: str
    volume_before: float
    volume_after: float
    strength_before: float
    strength_after: float
    duration_before: float
    duration_after: float
    dangers: tuple[str, ...]
    problem: str
    text: str
    missed: bool = False

    @property
    def left(self) -> float | None:
        """How many times their threshold the responsible compounds reach together afterwards.

        None where none of them has a threshold, or the change does nothing to them.
        """
        known = [
            one.oav_after
            for one in self.effects
            if one.role == "responsible" and one.oav_after is not None
        ]
        return sum(known) if known and self.change is not None and not self.missed else None


@dataclass(frozen=True, slots=True)
class Cause:
    """One likely cause.

    Parameters
    ----------
    fault : str
        Its short name.
    words : str
        How the table describes the fault.
    cause : str
        What brings it about.
    stage : str
        Where.
    compounds : tuple of str
        What is responsible.
    matched : tuple of str
        The descriptors found that fit it.
    score : Score
    evidence : tuple of Evidence
        For, then against, then what is not known.
    prediction : str
        What is predicted of the responsible compounds, in words.
    disagreement : str
        Where table and prediction contradict each other, or "".
    remedies : tuple of Remedy
        The best first.
    advice : str
        What else to change, in words and without numbers.
    sign : str
        What the table says tells.
    source, basis : str
        Of the row of the table.
    danger : str
        What a person has to know before drinking it, or "".
    wanted : bool
        Whether what is blamed is wanted in its place, so that less of it is enough.
    """

    fault: str
    words: str
    cause: str
    stage: str
    compounds: tuple[str, ...]
    matched: tuple[str, ...]
    score: Score
    evidence: tuple[Evidence, ...]
    prediction: str
    disagreement: str
    remedies: tuple[Remedy, ...]
    advice: str
    sign: str
    source: str
    basis: str
    danger: str = ""
    wanted: bool = False


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Likely causes of what was tasted, the most likely first.

    Parameters
    ----------
    lot : str
        What was tasted.
    found : mapping of str to float
        Descriptor to intensity, 0 to 10.
    causes : tuple of Cause
        The most likely first.
    disagreements : tuple of str
        What the prediction and the table do not explain together.
    notes : tuple of str
        What to keep in mind.
    read : tuple of str
        Which words were read as another, and where an intensity was assumed.
    """

    lot: str
    found: Mapping[str, float]
    causes: tuple[Cause, ...]
    disagreements: tuple[str, ...]
    notes: tuple[str, ...]
    read: tuple[str, ...] = ()

    @property
    def remedies(self) -> tuple[Remedy, ...]:
        """Every remedy that can be written into the plan, by number."""
        return tuple(
            one
            for cause in self.causes
            for one in cause.remedies
            if one.verdict != "cannot be done"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the diagnosis as plain JSON types, without the text of the edited plans."""
        return {
            "lot": self.lot,
            "found": dict(self.found),
            "causes": [_cause(cause) for cause in self.causes],
            "disagreements": list(self.disagreements),
            "notes": list(self.notes),
            "read": list(self.read),
        }


def _cause(cause: Cause) -> dict[str, Any]:
    found = asdict(cause)
    for key in ("compounds", "matched", "evidence", "remedies"):
        found[key] = list(found[key])
    for remedy in found["remedies"]:
        del remedy["text"]
        for key in ("edits", "effects", "dangers"):
            remedy[key] = list(remedy[key])
    return found
