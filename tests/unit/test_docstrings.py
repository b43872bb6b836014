# SPDX-License-Identifier: MIT
"""Every public function and class is described as STYLE section 4 asks."""

from __future__ import annotations

import ast
import dataclasses
import doctest
import importlib
import inspect
import pkgutil
import textwrap
from collections.abc import Callable
from typing import Any

import pytest
from numpydoc.docscrape import ClassDoc, FunctionDoc

import middlecut

STEPS = ("ferment", "draw", "distil", "steep", "blend", "dilute", "bottle", "wood")
MODULES = sorted(
    found.name
    for found in pkgutil.walk_packages(middlecut.__path__, "middlecut.")
    if found.name.startswith(
        (
            "middlecut.units",
            "middlecut.liquid",
            "middlecut.steps",
            "middlecut.plan",
            "middlecut.insight",
        )
    )
)
UNIT_WORDS = (
    "[",
    "coefficient",
    "0 to 1",
    "fraction",
    "share",
    "ratio",
    "number",
    "SG 20/20",
    " SI",
)


def public() -> dict[str, Any]:
    """Return all that a user of the Python interface meets, and the step functions."""
    found: dict[str, Any] = {}
    for name in middlecut.__all__:
        value = getattr(middlecut, name)
        if inspect.ismodule(value):
            found |= {f"{name}.{inner}": getattr(value, inner) for inner in value.__all__}
        else:
            found[name] = value
    for name in STEPS:
        found[f"steps.{name}"] = getattr(importlib.import_module(f"middlecut.steps.{name}"), name)
    return {
        name: value
        for name, value in found.items()
        if inspect.isclass(value) or inspect.isfunction(inspect.unwrap(value))
    }


def names_of(section: list[Any]) -> list[str]:
    """Return the names a section describes; one line may name several."""
    return [part.strip().lstrip("*") for entry in section for part in entry.name.split(",") if part]


def told(section: list[Any], name: str) -> str:
    """Return type and words given for one name."""
    for entry in section:
        if name in [part.strip().lstrip("*") for part in entry.name.split(",")]:
            return f"{entry.type} {' '.join(entry.desc)}"
    return ""


def lacks(name: str, function: Callable[..., Any], *, units: bool) -> list[str]:
    """Return what the docstring of a function lacks."""
    bare = inspect.unwrap(function)
    doc = FunctionDoc(bare)
    signature = inspect.signature(bare)
    wanted = [key for key in signature.parameters if key not in {"self", "cls"}]
    found = []
    if not " ".join(doc["Summary"]).endswith("."):
        found.append("a summary that ends with a full stop")
    described = names_of(doc["Parameters"])
    if described != wanted:
        found.append(f"parameters {wanted}, it has {described}")
    returned = signature.return_annotation not in (None, "None")
    if returned and not (doc["Returns"] or doc["Yields"]):
        found.append("a Returns section")
    tree = ast.parse(textwrap.dedent(inspect.getsource(bare)))
    if any(isinstance(node, ast.Raise) for node in ast.walk(tree)) and not doc["Raises"]:
        found.append("a Raises section")
    if units:
        for key, parameter in signature.parameters.items():
            words = told(doc["Parameters"], key)
            if "float" in str(parameter.annotation) and not any(w in words for w in UNIT_WORDS):
                found.append(f"a unit for {key}")
    return [f"{name}: {lack}" for lack in found]


def lacks_of_class(name: str, kind: type) -> list[str]:
    """Return what the docstring of a class lacks."""
    doc = ClassDoc(kind)
    found = []
    if not " ".join(doc["Summary"]).endswith("."):
        found.append("a summary that ends with a full stop")
    if dataclasses.is_dataclass(kind) and doc["Parameters"]:
        fields = [field.name for field in dataclasses.fields(kind) if field.name != "kind"]
        described = [one for one in names_of(doc["Parameters"]) if one != "kind"]
        if sorted(described) != sorted(fields):
            found.append(f"fields {fields}, it has {described}")
    return [f"{name}: {lack}" for lack in found]


@pytest.mark.parametrize("name", sorted(public()))
def test_public_names_are_described(name: str) -> None:
    value = public()[name]
    physics = name.partition(".")[0] not in {"units", "steps"} and "." in name
    missing = (
        lacks_of_class(name, value) if inspect.isclass(value) else lacks(name, value, units=physics)
    )
    assert missing == []


def test_the_walk_finds_the_interface() -> None:
    assert {"alcoholometry.density", "predict", "steps.distil", "units.parse_quantity"} <= set(
        public()
    )


def test_a_bare_docstring_would_be_noticed() -> None:
    def density(mass_fraction: float) -> float:
        """Return it"""
        if mass_fraction < 0.0:
            raise ValueError
        return mass_fraction

    assert len(lacks("density", density, units=True)) == 5


@pytest.mark.parametrize("module_name", ["middlecut", *MODULES])
def test_examples_in_docstrings_hold(module_name: str) -> None:
    module = importlib.import_module(module_name)
    result = doctest.testmod(module, optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    assert result.failed == 0


def test_the_physics_has_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    physics = [name for name in MODULES if name.startswith("middlecut.liquid.")]
    count = sum(
        bool(test.examples)
        for name in physics
        for test in finder.find(importlib.import_module(name))
    )
    assert count >= 30
