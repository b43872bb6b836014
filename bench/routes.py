# SPDX-License-Identifier: MIT
"""One ingredient through every entry point of the demo plan, warm; and drawing it."""

from __future__ import annotations

import middlecut as mc
from middlecut.insight.figures import draw_fate, draw_routes
from timing import milliseconds

COMPOUND = "2-isobutyl-3-methoxypyrazine"


def measure() -> dict[str, str]:
    """Return what was measured, by name."""
    plan = mc.load_plan(mc.example_path())
    found = mc.routes(plan, "coffee", amount=0.06)
    way = mc.fate(found.route("wash-late").plan, COMPOUND)
    works = {
        "demo plan: coffee through six entry points, with bands, warm": lambda: mc.routes(
            plan, "coffee", amount=0.06
        ),
        "demo plan: vanilla through six entry points, with bands, warm": lambda: mc.routes(
            plan, "vanilla", amount=0.02
        ),
        "demo plan: fate of one compound, warm": lambda: mc.fate(plan, "ethyl acetate"),
        "heat map and flow as SVG, warm": lambda: (
            draw_routes(found).to_svg(),
            draw_fate(way).to_svg(),
        ),
    }
    return {name: f"{milliseconds(work, rounds=7):.0f} ms" for name, work in works.items()}


if __name__ == "__main__":
    for name, value in measure().items():
        print(f"{name}: {value}")
