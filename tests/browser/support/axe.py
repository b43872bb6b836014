# SPDX-License-Identifier: MIT
"""What axe finds on a page against WCAG 2.2 AA and its own best practice."""

from __future__ import annotations

from importlib import resources
from typing import Any

from playwright.sync_api import Page

_AXE = resources.files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
_RUN = """async () => {
  const found = await axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    resultTypes: ["violations"],
  });
  return found.violations.map((one) => ({
    rule: one.id, nodes: one.nodes.map((node) => `${node.target} ${node.failureSummary}`)
  }));
}"""


def violations(page: Page) -> list[dict[str, Any]]:
    """Return what is wrong with a page, rule by rule, with the places."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(_AXE)
    found: list[dict[str, Any]] = page.evaluate(_RUN)
    return found
