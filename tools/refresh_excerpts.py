# SPDX-License-Identifier: MIT
"""Put what the program prints today into the pages that show an excerpt of it.

An excerpt stands in a fenced block below ``<!-- excerpt of: middlecut demo -->``; its first line
says where it starts, and it keeps its number of lines.
"""

from __future__ import annotations

import re
from pathlib import Path

import middlecut as mc

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"(<!-- excerpt of: middlecut demo -->\n```\n)(.*?)(```)", re.DOTALL)
STEP = "spirit run in"


def excerpt(old: str) -> str:
    """Return the lines of the spirit run's sheet that stand in place of the old ones."""
    prediction = mc.predict(mc.load_plan(mc.example_path("demo")))
    sheet = mc.render_text(mc.make_sheet(prediction)).splitlines()
    wanted = old.splitlines()
    step = next(number for number, line in enumerate(sheet) if STEP in line)
    start = sheet.index(wanted[0], step)
    return "\n".join(sheet[start : start + len(wanted)]) + "\n"


def main() -> None:
    """Refresh the README."""
    page = ROOT / "README.md"
    text = page.read_text(encoding="utf-8")
    fresh = BLOCK.sub(lambda match: match[1] + excerpt(match[2]) + match[3], text)
    if fresh != text:
        page.write_text(fresh, encoding="utf-8")
        print("written: README.md")


if __name__ == "__main__":
    main()
