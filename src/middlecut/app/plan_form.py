# SPDX-License-Identifier: MIT
"""The common things of a plan as a list of values, and a plan's text with some of them changed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from middlecut.plan.write import set_value

__all__ = ["PlanValue", "common_values", "with_values"]

_BATCH = (
    ("name", "name of the batch"),
    ("altitude", "height above the sea"),
    ("currency", "currency"),
    ("energy_price", "price of electricity"),
    ("water_price", "price of water"),
)
_BY_KIND: Mapping[str, tuple[tuple[str, str], ...]] = {
    "ferment": (
        ("volume", "volume of wort"),
        ("gravity", "gravity at the start"),
        ("final_gravity", "gravity at the end"),
        ("temperature", "temperature"),
        ("duration", "time to ferment"),
        ("settling", "time to clear"),
    ),
    "distil": (
        ("heat_up_power", "power while heating up"),
        ("power", "power"),
        ("total_reflux", "hold before the first drop"),
    ),
    "steep": (("duration", "time"), ("temperature", "temperature")),
    "wood": (("duration", "time"), ("temperature", "temperature")),
    "dilute": (("strength", "strength aimed at"), ("additions", "additions of water")),
    "bottle": (("bottle_volume", "size of a bottle"), ("strength", "strength on the label")),
}
_OF_CUT = (("until", "{} until"), ("jars", "jars of {}"), ("power", "power for {}"))


@dataclass(frozen=True, slots=True)
class PlanValue:
    """One value of a plan.

    Parameters
    ----------
    key : str
        Dotted place, as :func:`middlecut.plan.write.set_value` takes it.
    label : str
        In words.
    value : str
        As it stands in the file.
    group : str
        "the batch", or the step's id.
    """

    key: str
    label: str
    value: str
    group: str


def common_values(text: str) -> tuple[PlanValue, ...]:
    """Return the common values that stand in a plan, in its order.

    Parameters
    ----------
    text : str
        A plan file.

    Returns
    -------
    values : tuple of PlanValue
        Empty for a text that is no TOML.
    """
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError):
        return ()
    return (*_of_batch(document), *_of_steps(document))


def with_values(text: str, changes: Mapping[str, str]) -> str:
    """Return a plan's text with some of its common values changed.

    Parameters
    ----------
    text : str
        A plan file.
    changes : mapping of str to str
        New value by key; keys that are no common value of this plan are left out.

    Returns
    -------
    text : str
        Comments and blanks as before. Whether the plan still holds is for its reader to say.

    Raises
    ------
    InputError
        If a value cannot be put there without touching more.
    """
    document = tomllib.loads(text)
    for one in common_values(text):
        new = changes.get(one.key, one.value).strip()
        if new == one.value:
            continue
        whole = isinstance(_found(document, one), int) and new.isascii() and new.isdigit()
        text = set_value(text, one.key, int(new) if whole else new)
    return text


def _of_batch(document: Mapping[str, object]) -> Iterator[PlanValue]:
    batch = document.get("batch")
    if isinstance(batch, Mapping):
        for name, label in _BATCH:
            if isinstance(batch.get(name), str):
                yield PlanValue(f"batch.{name}", label, batch[name], "the batch")


def _of_steps(document: Mapping[str, object]) -> Iterator[PlanValue]:
    steps = document.get("step")
    for step in steps if isinstance(steps, list) else ():
        if not isinstance(step, Mapping) or not isinstance(step.get("id"), str):
            continue
        place = f'step."{step["id"]}"' if "." in step["id"] else f"step.{step['id']}"
        for name, label in _BY_KIND.get(str(step.get("kind")), ()):
            if isinstance(step.get(name), str | int):
                yield PlanValue(f"{place}.{name}", label, str(step[name]), step["id"])
        yield from _of_cuts(step, place)


def _of_cuts(step: Mapping[str, object], place: str) -> Iterator[PlanValue]:
    cuts = step.get("cuts")
    for index, cut in enumerate(cuts if isinstance(cuts, list) else ()):
        if not isinstance(cut, Mapping):
            continue
        for name, label in _OF_CUT:
            value = cut.get(name)
            if isinstance(value, str):
                words = label.format(cut.get("into", f"cut {index + 1}"))
                yield PlanValue(f"{place}.cuts[{index}].{name}", words, value, str(step["id"]))


def _found(document: Mapping[str, object], one: PlanValue) -> object:
    """Return what stands at a value of a step, to keep whole numbers whole."""
    steps = document.get("step")
    for step in steps if isinstance(steps, list) else ():
        if isinstance(step, Mapping) and step.get("id") == one.group:
            return step.get(one.key.rpartition(".")[2])
    return None
