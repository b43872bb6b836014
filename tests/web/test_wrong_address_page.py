# SPDX-License-Identifier: MIT
"""An address that leads nowhere, and a plan that is too large, are told of plainly."""

from __future__ import annotations

from pathlib import Path

import pytest
from visitor import Visitor, check_page

WEB = Path(__file__).resolve().parents[2] / "src" / "middlecut" / "web"


@pytest.mark.parametrize("path", ["/no/such/page", "/batches", "/" + "x" * 300])
def test_a_page_that_does_not_exist_is_named(visitor: Visitor, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 404
    check_page(answer)
    assert "There is no such page" in answer.text
    assert f"no page at {path[:70]}" in answer.text
    assert "x" * 100 not in answer.text
    assert "Not Found" not in answer.text
    assert "Not done" not in answer.text


def test_a_batch_that_does_not_exist_is_called_a_batch(visitor: Visitor) -> None:
    answer = visitor.get("/batch/nowhere")
    assert answer.status_code == 404
    assert "There is no such batch here" in answer.text
    assert "nowhere" in answer.text


def test_the_address_is_not_taken_for_markup(visitor: Visitor) -> None:
    answer = visitor.get("/%3Cscript%3Ealert(1)%3C/script%3E")
    assert "<script>alert" not in answer.text


def test_strength_has_one_spelling_and_plans_one_limit() -> None:
    pages = {path: path.read_text(encoding="utf-8") for path in WEB.rglob("*.html")}
    assert [str(path.name) for path, text in pages.items() if "% vol" in text] == []
    assert [str(path.name) for path, text in pages.items() if "2 MB" in text] == []
