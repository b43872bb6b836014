# SPDX-License-Identifier: MIT
"""Write readings in a child, kill it with SIGKILL at a random moment, look at what is there.

Run as ``python kill_rounds.py FOLDER ROUNDS SEED``. Everything is imported once; each round forks a
child that opens the record and writes as fast as it can, saying each reading's number only after
the store acknowledged it. Prints one line of JSON at the end, or the first thing that was wrong.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from middlecut.adapters.shelf import LocalShelf
from middlecut.adapters.store_sql import SqlStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.batch_events import BatchOpened, PlanAdopted, ReadingTaken, StepOutline
from middlecut.app.record import Entry, Record
from middlecut.app.states import batch_stream
from middlecut.app.verifying import verify

FRESH_EVERY = 10
"""Rounds after which a new record is begun, so that kills hit its making too."""

LINES = 8
"""Acknowledgements a child is given time for, measured first: slow machines need longer."""


def reading(number: int) -> ReadingTaken:
    """Return a reading whose every part follows from its number."""
    return ReadingTaken("run", "volume", number * 1e-6, instrument="x" * (number % 50))


def write(path: Path, first: int, out: int) -> None:
    """Open the record and write readings until killed."""
    record = Record(SqlStore(path), SystemClock(), RandomIds())
    opening = (BatchOpened("kill"), PlanAdopted("plan", (StepOutline("run", "distil"),)))
    record.keep(batch_stream("b"), opening, entry=Entry(key="open"))
    number = first
    while True:
        record.keep(batch_stream("b"), (reading(number),), entry=Entry(key=f"reading-{number}"))
        os.write(out, f"{number}\n".encode())
        number += 1


def start(path: Path, first: int) -> tuple[int, int]:
    """Fork a child that writes; return its process id and the end of the pipe to read from."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(inlet)
            write(path, first, outlet)
        finally:
            os._exit(1)
    os.close(outlet)
    return child, inlet


def kill(child: int) -> None:
    """Kill the child with SIGKILL; it must not have ended by itself."""
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        raise SystemExit(f"the child ended by itself, status {status}")


def measure(path: Path) -> float:
    """Return how long a child takes to open a record and to have some readings acknowledged."""
    SqlStore(path).close()
    began = time.monotonic()
    child, inlet = start(path, 0)
    with os.fdopen(inlet) as said:
        lines = [said.readline() for _ in range(LINES)]
        taken = time.monotonic() - began
        kill(child)
    if not lines[-1].endswith("\n"):
        raise SystemExit(f"the child said only {lines}")
    return taken


def one_round(path: Path, first: int, life: float) -> int:
    """Let a child write for a while, kill it; return the last acknowledged number."""
    child, inlet = start(path, first)
    time.sleep(life)
    kill(child)
    with os.fdopen(inlet) as said:
        numbers = [int(line) for line in said.read().split("\n") if line]
    return numbers[-1] if numbers else first - 1


def check(path: Path, acknowledged: int) -> int:
    """Compare what is there with what was acknowledged; return how many readings there are."""
    store = LocalShelf().open(str(path))
    try:
        bodies = [event.body for event in store.read_stream("batch/b")]
        verdict = verify(store)
    finally:
        store.close()
    if verdict.problems:
        raise SystemExit(f"verify: {verdict.problems}")
    kept = bodies[2:]
    if bodies and (len(bodies) < 2 or not isinstance(bodies[1], PlanAdopted)):
        raise SystemExit("the opening is half there")
    if kept != [reading(number) for number in range(len(kept))]:
        raise SystemExit("a reading is missing, twice there or half written")
    # The last one may be on disk although its acknowledgement was cut off; no other.
    if not acknowledged + 1 <= len(kept) <= acknowledged + 2:
        raise SystemExit(f"{acknowledged + 1} acknowledged, {len(kept)} kept")
    return len(kept)


def main(folder: str, rounds: str, seed: str) -> None:
    """Run the rounds and print what was seen."""
    chance = random.Random(int(seed))  # noqa: S311 - moments, not secrets
    path, first = Path(folder), 0
    longest = 1.3 * measure(path / "warm.sqlite")
    seen: dict[str, float] = {
        "rounds": 0,
        "acknowledged": 0,
        "kept": 0,
        "unborn": 0,
        "records": 0,
        "longest": longest,
    }
    for number in range(int(rounds)):
        if number % FRESH_EVERY == 0:
            path, first = Path(folder) / f"record-{number}.sqlite", 0
            seen["records"] += 1
        last = one_round(path, first, chance.uniform(0.0, longest))
        kept = check(path, last)
        seen["rounds"] += 1
        seen["acknowledged"] += last + 1 - first
        seen["kept"] += kept - first
        seen["unborn"] += last < first
        first = kept
    print(json.dumps({**seen, "ended": datetime.now(UTC).isoformat()}))  # noqa: T201 - its answer


if __name__ == "__main__":
    main(*sys.argv[1:])
