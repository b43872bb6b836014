# SPDX-License-Identifier: MIT
"""Every public parameter has its row in the nomenclature, and the merged files are fresh."""

from __future__ import annotations

import importlib
import importlib.util
import inspect
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import middlecut

ROOT = Path(__file__).resolve().parents[2]
STEPS = ("ferment", "draw", "distil", "steep", "blend", "dilute", "bottle", "wood")


@pytest.fixture(scope="module")
def merge_docs() -> ModuleType:
    spec = importlib.util.spec_from_file_location("merge_docs", ROOT / "tools" / "merge_docs.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def public_parameters() -> dict[str, str]:
    """Return the parameters of the public functions, and one function that has each."""
    functions: dict[str, Any] = {}
    for name in middlecut.__all__:
        value = getattr(middlecut, name)
        if inspect.ismodule(value):
            functions |= {f"{name}.{inner}": getattr(value, inner) for inner in value.__all__}
        else:
            functions[name] = value
    for name in STEPS:
        functions[f"steps.{name}"] = getattr(
            importlib.import_module(f"middlecut.steps.{name}"), name
        )
    found: dict[str, str] = {}
    for name, value in functions.items():
        bare = inspect.unwrap(value) if callable(value) else None
        if inspect.isfunction(bare):
            for parameter in inspect.signature(bare).parameters:
                found.setdefault(parameter, name)
    return found


def test_every_parameter_is_listed(merge_docs: ModuleType) -> None:
    text = (ROOT / "docs" / "nomenclature.md").read_text(encoding="utf-8")
    terms = {row[0] for row in merge_docs.term_rows(text)}
    found = public_parameters()
    assert {"mass_fraction", "temperature", "pressure", "plan"} <= set(found)
    assert {key: at for key, at in found.items() if key not in terms} == {}


def test_every_row_is_complete(merge_docs: ModuleType) -> None:
    text = (ROOT / "docs" / "nomenclature.md").read_text(encoding="utf-8")
    rows = merge_docs.term_rows(text)
    assert len(rows) > 50
    assert [row[0] for row in rows if not (row[2] and row[3] and row[4])] == []


def test_merged_files_are_fresh(merge_docs: ModuleType) -> None:
    stale = [
        path.name
        for path, text in merge_docs.merged_files(ROOT).items()
        if path.read_text(encoding="utf-8") != text
    ]
    assert stale == [], "run: make docs"


def test_a_row_with_a_missing_cell_is_refused(merge_docs: ModuleType) -> None:
    with pytest.raises(SystemExit, match="Not five cells"):
        merge_docs.term_rows("| term | a | b |\n| `x` | y | z |")


def test_two_meanings_of_a_term_stand_in_one_row(merge_docs: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "a.md").write_text("| `x` | x | K | one | s |\n", encoding="utf-8")
    (tmp_path / "b.md").write_text("| `x` | x | K | two | s |\n", encoding="utf-8")
    merged = merge_docs.merge_terms([tmp_path / "a.md", tmp_path / "b.md"])
    assert "| `x` | x | K | one / two | s |" in merged
