# SPDX-License-Identifier: MIT
"""Forms that come back as they were typed, each error at its field.

A page function takes every field as text (``Annotated[str, Form()] = ""``), puts them into a
:class:`FormState` and asks it for values. Whatever cannot be read becomes an error of the form, not
an exception; if there are errors the page is rendered again with status 422.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from middlecut.app.doubts import Doubt
from middlecut.app.record import KEY_USED
from middlecut.errors import ConflictError, InputError, NotFoundError, OutOfRangeError
from middlecut.units import System, parse_quantity
from middlecut.units.worded import worded

__all__ = ["FieldError", "FormState", "allowed_by", "plain_text"]

Value = TypeVar("Value")
_BETWEEN = " | "


@dataclass(frozen=True, slots=True)
class FieldError:
    """What is wrong with a field.

    Parameters
    ----------
    allowed : str
        What would be accepted, without a full stop.
    remedy : str
        A sentence.
    label : str
        The field in words.
    """

    allowed: str
    remedy: str = ""
    label: str = ""


@dataclass(slots=True)
class FormState:
    """A form: what was typed and what is wrong with it.

    Parameters
    ----------
    values : mapping of str to str
        By field name.
    errors : dict of str to FieldError
    system : {"metric", "us"}
        Units of the ranges in its errors.
    doubts : list of Doubt
        What is asked before it is kept.
    kept : str
        What of it was saved all the same, in words.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    errors: dict[str, FieldError] = field(default_factory=dict)
    system: System = "metric"
    doubts: list[Doubt] = field(default_factory=list)
    kept: str = ""
    labels: dict[str, str] = field(default_factory=dict, init=False, repr=False)

    @property
    def good(self) -> bool:
        """Whether nothing is wrong or asked about so far."""
        return not self.errors and not self.doubts

    def fault(self, name: str, allowed: str, remedy: str = "", label: str = "") -> None:
        """Say what is wrong with a field."""
        self.errors[name] = FieldError(allowed.rstrip("."), remedy, label)

    def ask(self, doubts: Iterable[Doubt]) -> None:
        """Ask about what was typed, where the form does not bring the answer."""
        answered = self.values.get("anyway", "").split(_BETWEEN)
        self.doubts += [
            one for one in doubts if not one.answerable or self._token(one) not in answered
        ]

    @property
    def answer(self) -> str:
        """What "it is so" means: these questions about these values, and no others."""
        return _BETWEEN.join(self._token(one) for one in self.doubts)

    @property
    def answerable(self) -> bool:
        """Whether saying that it is so helps."""
        return all(one.answerable for one in self.doubts)

    def _token(self, doubt: Doubt) -> str:
        return f"{doubt.code}={self.values.get(doubt.field, '').strip()}"

    def text(self, name: str, label: str, *, required: bool = False, longest: int = 200) -> str:
        """Return a text without spaces around it."""
        self.labels[name] = label
        value = self.values.get(name, "").strip()
        if required and not value:
            self.fault(name, f"{label} is missing", "Fill it in.", label)
        elif len(value) > longest:
            self.fault(name, f"at most {longest} characters", "Shorten it.", label)
        return value

    def quantity(
        self, name: str, label: str, dimension: str, *, required: bool = False
    ) -> float | None:
        """Return a quantity in SI, or None if it is empty or cannot be read."""
        typed = self.text(name, label, required=required)
        if not typed or name in self.errors:
            return None
        return self.tried(name, label, lambda: parse_quantity(typed, dimension, field=label))

    def tried(self, name: str, label: str, act: Callable[[], Value]) -> Value | None:
        """Do something that may refuse a field, and put the refusal beside the field.

        Parameters
        ----------
        name : str
            Field the refusal belongs to, unless the error itself names a field of the form.
        label : str
        act : callable
            Without arguments.

        Returns
        -------
        value : what ``act`` returns, or None
        """
        try:
            return act()
        except InputError as error:
            own = error.field.replace(" ", "_")
            place = own if own in self.values else name
            self.labels.setdefault(name, label)
            words = self.labels.get(place, error.field.replace("_", " "))
            self.fault(place, allowed_by(error, self.system), error.remedy, words)
        except (NotFoundError, ConflictError) as error:
            self.fault(name, str(error), "", label)
            if str(error) == KEY_USED:
                # Back in the browser, something else typed, sent: the form gets a new key.
                self.values = {**self.values, "entry_key": ""}
        return None


def allowed_by(error: InputError, system: System) -> str:
    """Return what an error says would be accepted; a range in units a person uses."""
    return worded(error, system=system)[1] if isinstance(error, OutOfRangeError) else error.allowed


def plain_text(typed: str, field: str = "plan_text") -> str:
    """Return a text of several lines with the line ends of a file.

    Parameters
    ----------
    typed : str
        As a form or a file has it.
    field : str
        For the error.

    Returns
    -------
    text : str

    Raises
    ------
    InputError
        If it holds control characters: then it is no text.
    """
    text = typed.replace("\r\n", "\n").replace("\r", "\n")
    if any(mark < " " and mark not in "\n\t" for mark in text):
        raise InputError(
            field, "…", "it holds characters that are no text", "Choose the right file."
        )
    return text
