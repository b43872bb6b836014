# SPDX-License-Identifier: MIT
"""The reference pages say what the program does today, and the index leads everywhere."""

from __future__ import annotations

import re
import runpy
from pathlib import Path
from typing import Any

import pytest

from middlecut.errors import PlanError
from middlecut.plan.examples import example_path
from middlecut.plan.read import read_plan_text

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"


@pytest.fixture(scope="module")
def tool() -> dict[str, Any]:
    """Load the script that writes the pages."""
    return runpy.run_path(str(ROOT / "tools" / "write_reference.py"))


@pytest.mark.parametrize("page", ["plan-keys.md", "commands.md"])
def test_a_reference_page_is_what_the_tool_writes(tool: dict[str, Any], page: str) -> None:
    fresh = tool["PAGES"][page]()
    kept = (DOCS / "reference" / page).read_text(encoding="utf-8")
    assert kept == fresh, "make docs writes it again"


def test_a_key_without_words_is_refused(tool: dict[str, Any]) -> None:
    with pytest.raises(SystemExit, match="humidity"):
        tool["_meanings"]("reserve", {"into", "volume", "humidity"})


def test_the_range_of_a_key_is_the_one_that_is_read() -> None:
    # What the page says of a key, and what reading a plan says of a value just outside it.

    page = (DOCS / "reference" / "plan-keys.md").read_text(encoding="utf-8")
    row = next(line for line in page.splitlines() if line.startswith("| `heater_power`"))
    assert "50 W to 200 kW" in row
    text = example_path().read_text(encoding="utf-8")
    found = re.search(r'heater_power = "[^"]+"', text)
    assert found is not None
    with pytest.raises(PlanError, match="50 W to 200 kW"):
        read_plan_text(text.replace(found.group(), 'heater_power = "49 W"'))


def test_when_an_ingredient_goes_into_a_wash_is_never_left_out() -> None:
    text = example_path("demo").read_text(encoding="utf-8")
    for entry in ("wash-early", "wash-late"):
        bare = text.replace('entry = "wash-late", attenuation = "90 %"', f'entry = "{entry}"')
        assert bare != text
        with pytest.raises(PlanError, match="it needs a time: after, on, or attenuation"):
            read_plan_text(bare, "bare")
    page = (DOCS / "reference" / "plan-keys.md").read_text(encoding="utf-8")
    for key in ("after", "on", "attenuation"):
        (row,) = (line for line in page.splitlines() if line.startswith(f"| `{key}` | In a wash"))
        assert "a wash needs this, `" in row


def test_every_page_can_be_reached_from_the_index() -> None:
    def links(page: Path) -> set[Path]:
        targets = re.findall(r"\]\(([^)#:]+\.md)", page.read_text(encoding="utf-8"))
        return {(page.parent / target).resolve() for target in targets}

    seen: set[Path] = set()
    todo = {DOCS / "README.md"}
    while todo:
        page = todo.pop()
        seen.add(page)
        assert page.is_file(), page
        todo |= {one for one in links(page) if one.is_relative_to(DOCS)} - seen
    pages = {one for one in DOCS.rglob("*.md") if "nomenclature.d" not in one.parts}
    assert pages - seen == set()
    assert (DOCS / "README.md") in links(ROOT / "README.md")
