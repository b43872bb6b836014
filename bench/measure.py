# SPDX-License-Identifier: MIT
"""Measure everything in bench/ and write it to docs/validation/speed.md."""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
from pathlib import Path

import numba
import numpy as np
import scipy

import diagnose
import ensemble
import forecast
import routes
import run_spirit
import whole_plan

GOALS = """\
| what | goal |
|---|---|
| one spirit run, 40 compounds, 10 stages, warm | at most 10 ms |
| whole demo plan, warm | at most 250 ms |
| live forecast after one more reading | at most 300 ms |
| one ingredient through all entry points of the demo plan, with bands, warm | at most 1 s |
| a full diagnosis with remedies, warm | at most 3 s |
| `middlecut predict` in a fresh process, after the first ever start | at most 2.5 s |
| `middlecut --help` in a fresh process | at most 0.4 s |
| `middlecut strength` in a fresh process | at most 1 s |
| largest memory of `middlecut predict` | at most 300 MB |
| demo plan with 500 draws, 2 cores | at most 5 s |
| largest memory of 500 draws | at most 1000 MB |
| what-if of one still step and what follows | at most 100 ms |
"""


def page(rows: dict[str, str]) -> str:
    """Return the page as Markdown."""
    machine = (
        f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"numba {numba.__version__}, {os.cpu_count()} cores, {platform.machine()}."
    )
    lines = [
        "# Speed and memory",
        "",
        "Written by `make bench`. Medians of repeated runs on one machine at one time; compare",
        "ratios, not milliseconds, between machines. The first start after an installation also",
        "compiles the run (once; kept on disk) and is not in these numbers.",
        "",
        machine,
        "",
        "| what | measured |",
        "|---|---|",
        *(f"| {name} | {value} |" for name, value in rows.items()),
        "",
        "## Goals",
        "",
        GOALS,
    ]
    return "\n".join(lines)


def fresh_processes() -> dict[str, str]:
    """Return what cold_start.py measures, from a small process of its own."""
    script = Path(__file__).with_name("cold_start.py")
    done = subprocess.run(  # noqa: S603 - our own script
        [sys.executable, script], capture_output=True, text=True, check=True
    )
    rows: dict[str, str] = json.loads(done.stdout)
    return rows


def main() -> None:
    """Measure, print, and write when asked to."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", type=Path, metavar="FILE", help="write the page to FILE")
    target = parser.parse_args().write
    rows = {
        **run_spirit.measure(),
        **whole_plan.measure(),
        **routes.measure(),
        **ensemble.measure(),
    }
    rows |= {**diagnose.measure(), **forecast.measure(), **fresh_processes()}
    for name, value in rows.items():
        print(f"{name}: {value}")
    if target is not None:
        target.write_text(page(rows), encoding="utf-8")


if __name__ == "__main__":
    main()
