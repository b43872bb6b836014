# SPDX-License-Identifier: MIT
"""The scripts of the pages are checked like the rest: strict types, and the check can fail."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
WRONG = """
/** @param {number} count */
export function twice(count) { return 2 * count; }
export const four = twice("two");
/** @type {HTMLElement | null} */
const place = document.getElementById("place");
place.hidden = true;
"""


@pytest.fixture(scope="module")
def checking() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "check_scripts", ROOT / "tools" / "check_scripts.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def checked(checking: ModuleType, project: Path) -> list[str]:
    try:
        found: list[str] = checking.check(project)
    except LookupError as reason:
        pytest.skip(f"{checking.NOT_CHECKED}: {reason}")
    return found


def test_our_scripts_have_no_wrong_types(checking: ModuleType) -> None:
    assert checked(checking, ROOT) == []
    included = json.loads((ROOT / "tsconfig.json").read_text())["include"]
    scripts = list((ROOT / "src").rglob("*.js"))
    own = [one for one in scripts if one.parent.name != "vendor"]
    assert len(own) >= 14
    assert {one for pattern in included for one in ROOT.glob(pattern)} == set(own)


def test_a_wrong_type_is_found(checking: ModuleType, tmp_path: Path) -> None:
    (tmp_path / "wrong.js").write_text(WRONG)
    settings = {"extends": str(ROOT / "tsconfig.json"), "include": ["*.js"]}
    (tmp_path / "tsconfig.json").write_text(json.dumps(settings))
    found = checked(checking, tmp_path)
    assert len(found) == 2
    assert "error TS2345" in found[0]  # a text for a number
    assert "error TS18047" in found[1]  # what may be null


def test_without_node_it_says_so_and_lets_pass(
    checking: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(checking, "node_command", list)
    assert checking.main() == 0
    assert "THE SCRIPTS OF THE PAGES WERE NOT CHECKED: there is no node" in capsys.readouterr().err


def test_without_a_registry_it_says_so_and_lets_pass(
    checking: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(checking, "node_command", lambda: ["node"])
    monkeypatch.setattr(checking, "CHECKER", "not/there")
    monkeypatch.setattr(checking, "fetch", lambda *, checker: ["npm ci failed: no network"])
    assert checking.main() == 0
    assert "NOT CHECKED: npm ci failed: no network" in capsys.readouterr().err
