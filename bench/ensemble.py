# SPDX-License-Identifier: MIT
"""The demo plan with 500 draws, against 500 single predictions; and a what-if for a slider."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time

import middlecut as mc
from timing import milliseconds

DRAWS = 500
SAMPLE = 25
"""Single predictions timed; 500 of them would only take longer."""


def measure() -> dict[str, str]:
    """Return what was measured, by name, in a process of its own: its memory counts."""
    done = subprocess.run(  # noqa: S603 - our own script
        [sys.executable, __file__, "--json"], capture_output=True, text=True, check=True
    )
    rows: dict[str, str] = json.loads(done.stdout)
    return rows


def measure_here() -> dict[str, str]:
    """Return what was measured, in this process."""
    plan = mc.load_plan(mc.example_path())
    mc.predict(plan)
    mc.predict_bands(plan, 10, 0)
    single = milliseconds(lambda: mc.predict(plan), rounds=SAMPLE)
    times = {}
    for workers in (1, None):
        start = time.perf_counter()
        mc.predict_bands(plan, DRAWS, 0, workers=workers)
        times[workers] = time.perf_counter() - start
    explorer = mc.Explorer(plan)
    slider = milliseconds(lambda: explorer.what_if({"spirit.cuts[0].power": "55 %"}))
    last = milliseconds(lambda: explorer.what_if({"flavour.power": "45 %"}))
    ratio = single * 1e-3 * DRAWS / times[None]
    return {
        f"demo plan with {DRAWS} draws, all cores": f"{times[None]:.2f} s",
        f"demo plan with {DRAWS} draws, one core": f"{times[1]:.2f} s",
        f"{DRAWS} single predictions over {DRAWS} draws on all cores": f"{ratio:.1f}",
        f"largest memory of {DRAWS} draws, all processes together": f"{_memory():.0f} MB",
        "what-if of the spirit run and all that follows, warm": f"{slider:.1f} ms",
        "what-if of the flavour run and all that follows, warm": f"{last:.1f} ms",
    }


def _memory() -> float:
    """Return an upper bound in MB: each worker counts whole, though it shares with its parent."""
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return (own + (os.cpu_count() or 1) * child) / 1024.0


if __name__ == "__main__":
    found = measure_here()
    if "--json" in sys.argv:
        print(json.dumps(found))
    else:
        for name, value in found.items():
            print(f"{name}: {value}")
