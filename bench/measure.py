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

GOALS = (
    ("one spirit run, 40 compounds, 10 stages, warm", "one spirit run", 10.0, "ms"),
    ("whole demo plan, warm", "demo plan: predict", 250.0, "ms"),
    ("live forecast after one more reading", "forecast after one more reading", 300.0, "ms"),
    (
        "one ingredient through all entry points of the demo plan, with bands, warm",
        "demo plan: coffee through",
        1.0,
        "s",
    ),
    ("a full diagnosis with remedies, warm", "demo plan: diagnosis", 3.0, "s"),
    (
        "`middlecut predict` in a fresh process, after the first ever start",
        "middlecut predict (demo plan), fresh process",
        2.5,
        "s",
    ),
    ("`middlecut --help` in a fresh process", "middlecut --help, fresh process", 0.4, "s"),
    ("`middlecut strength` in a fresh process", "middlecut strength, fresh process", 1.0, "s"),
    (
        "largest memory of `middlecut predict`",
        "middlecut predict (demo plan), largest memory",
        300.0,
        "MB",
    ),
    ("demo plan with 500 draws, 2 cores", "demo plan with 500 draws, all cores", 5.0, "s"),
    ("largest memory of 500 draws", "largest memory of 500 draws", 1000.0, "MB"),
    ("what-if of one still step and what follows", "what-if of the spirit run", 100.0, "ms"),
)
"""What is asked, the row that measures it by how its name begins, and the most it may be."""

_IN_BASE = {"ms": 1e-3, "s": 1.0, "MB": 1.0}


def judged(rows: dict[str, str]) -> list[str]:
    """Return the table of the goals as Markdown, each with what was measured and the verdict.

    Raises
    ------
    LookupError
        If nothing measured a goal.
    """
    lines = ["| what | goal | measured | |", "|---|---|---|---|"]
    for what, row, most, unit in GOALS:
        measured = next((value for name, value in rows.items() if name.startswith(row)), None)
        if measured is None:
            raise LookupError(f"no row measures {what!r}: {row!r}")
        number, _, its_unit = measured.partition(" ")
        met = float(number) * _IN_BASE[its_unit] <= most * _IN_BASE[unit]
        verdict = "met" if met else "**missed**"
        lines.append(f"| {what} | at most {most:g} {unit} | {measured} | {verdict} |")
    return lines


def page(rows: dict[str, str]) -> str:
    """Return the page as Markdown."""
    machine = (
        f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"numba {numba.__version__}, {os.cpu_count()} cores, {platform.machine()}."
    )
    load = f"Load of the machine at the end, as processes waiting: {os.getloadavg()[1]:.1f}."
    lines = [
        "# Speed and memory",
        "",
        "Written by `make bench`. Medians of repeated runs on one machine at one time; compare",
        "ratios, not milliseconds, between machines. The first start after an installation also",
        "compiles the run (once; kept on disk) and is not in these numbers.",
        "",
        machine,
        load,
        "",
        "| what | measured |",
        "|---|---|",
        *(f"| {name} | {value} |" for name, value in rows.items()),
        "",
        "## Goals",
        "",
        *judged(rows),
    ]
    return "\n".join(lines) + "\n"


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
