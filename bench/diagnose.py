# SPDX-License-Identifier: MIT
"""A full diagnosis of the demo plan with all its remedies, warm."""

from __future__ import annotations

import middlecut as mc
from timing import milliseconds

FOUND = "cheesy:4, green bell pepper:3, nail varnish:5, soapy:3, bitter:2"


def measure() -> dict[str, str]:
    """Return what was measured, by name."""
    plan = mc.load_plan(mc.example_path())
    count = len(mc.diagnose(plan, FOUND).remedies)
    name = f"demo plan: diagnosis of 5 words with {count} remedies, warm"
    return {name: f"{milliseconds(lambda: mc.diagnose(plan, FOUND), rounds=5):.0f} ms"}


if __name__ == "__main__":
    for name, value in measure().items():
        print(f"{name}: {value}")
