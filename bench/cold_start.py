# SPDX-License-Identifier: MIT
"""Commands in a fresh process: time from start to end, and the largest memory.

Run it as a script of its own: a process passes its own largest memory on to those it starts.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

BIN = Path(sys.executable).with_name("middlecut")
COMMANDS = {
    "middlecut --help": ("--help",),
    "middlecut strength": ("strength", "62.4 %vol", "--reading-at", "27 °C"),
    "middlecut check (demo plan)": ("check", "PLAN"),
    "middlecut predict (demo plan)": ("predict", "PLAN"),
}


def once(words: tuple[str, ...]) -> tuple[float, float]:
    """Return time [s] and largest resident memory [MB] of one run."""
    start = time.perf_counter()
    process = subprocess.Popen(  # noqa: S603 - our own command
        [BIN, *words], stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)
    taken = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"{' '.join(words)} ended with {process.returncode}")
    return taken, used.ru_maxrss / 1024.0


def measure(rounds: int = 5) -> dict[str, str]:
    """Return what was measured, by name; the first run of each fills caches and is left out."""
    from middlecut.plan.examples import example_path  # noqa: PLC0415 - the path only

    rows = {}
    for name, words in COMMANDS.items():
        given = tuple(str(example_path()) if word == "PLAN" else word for word in words)
        once(given)
        runs = [once(given) for _ in range(rounds)]
        rows[f"{name}, fresh process"] = f"{statistics.median(taken for taken, _ in runs):.2f} s"
        rows[f"{name}, largest memory"] = f"{max(size for _, size in runs):.0f} MB"
    return rows


if __name__ == "__main__":
    print(json.dumps(measure(), indent=2))
