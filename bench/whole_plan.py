# SPDX-License-Identifier: MIT
"""The whole demo plan, warm: reading, predicting, the sheet."""

from __future__ import annotations

import middlecut as mc
from timing import milliseconds


def measure() -> dict[str, str]:
    """Return what was measured, by name."""
    path = mc.example_path()
    plan = mc.load_plan(path)
    prediction = mc.predict(plan)
    sheet = mc.make_sheet(prediction)
    works = {
        "demo plan: read and check the file, warm": lambda: mc.load_plan(path),
        "demo plan: predict, warm": lambda: mc.predict(plan),
        "demo plan: make the sheet, warm": lambda: mc.make_sheet(prediction),
        "demo plan: set it as text, warm": lambda: mc.render_text(sheet),
    }
    return {name: f"{milliseconds(work):.1f} ms" for name, work in works.items()}


if __name__ == "__main__":
    for name, value in measure().items():
        print(f"{name}: {value}")
