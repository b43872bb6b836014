# SPDX-License-Identifier: MIT
"""Write readings in a child, kill it with SIGKILL at a random moment, look at what is there.

Run as ``python kill_rounds.py PLACE ROUNDS SEED``; the place is a folder for records in files, or
the address of a PostgreSQL database that is emptied. Everything is imported once; each round forks
a child that opens the record and writes as fast as it can, saying each reading's number only after
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

import psycopg

from middlecut.adapters.shelf import LocalShelf
from middlecut.adapters.store_sql import SqlStore
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.batch_events import BatchOpened, PlanAdopted, ReadingTaken, StepOutline
from middlecut.app.record import Entry, Record
from middlecut.app.states import batch_stream
from middlecut.app.verifying import verify

FRESH_EVERY = 10
"""Rounds after which a new record is begun, so that kills hit its making too."""

PATIENCE = 20.0
"""Seconds a server may take to notice that a client is gone."""

LINES = 8
"""Acknowledgements a child is given time for, measured first: slow machines need longer."""


def reading(number: int) -> ReadingTaken:
    """Return a reading whose every part follows from its number."""
    return ReadingTaken("run", "volume", number * 1e-6, instrument="x" * (number % 50))


class Files:
    """Records in files of a folder."""

    def __init__(self, folder: str) -> None:
        self._folder = Path(folder)

    def fresh(self, name: str) -> str:
        """Return the place of a record that is not there yet."""
        return str(self._folder / f"{name}.sqlite")

    def settle(self) -> None:
        """Wait until what a killed child left is done: a file has nobody else."""


class Server:
    """Records in one database of a server, one after another."""

    def __init__(self, address: str) -> None:
        self._address = address

    def fresh(self, name: str) -> str:
        """Empty the database and return its address."""
        self.settle()
        with self._connection() as connection:
            connection.execute("DROP SCHEMA public CASCADE")
            connection.execute("CREATE SCHEMA public")
        return self._address

    def settle(self) -> None:
        """Wait until the server noticed that the killed child is gone.

        What it was told last may still be carried out; nobody was told that it was.
        """
        others = (
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
            "AND backend_type = 'client backend' AND pid <> pg_backend_pid()"
        )
        with self._connection() as connection:
            until = time.monotonic() + PATIENCE
            while connection.execute(others).fetchone() != (0,):
                if time.monotonic() > until:
                    raise SystemExit("a session outlives its killed client")
                time.sleep(0.002)

    def _connection(self) -> psycopg.Connection:
        return psycopg.connect(self._address, autocommit=True)


def write(path: str, first: int, out: int) -> None:
    """Open the record and write readings until killed."""
    record = Record(SqlStore(path), SystemClock(), RandomIds())
    opening = (BatchOpened("kill"), PlanAdopted("plan", (StepOutline("run", "distil"),)))
    record.keep(batch_stream("b"), opening, entry=Entry(key="open"))
    number = first
    while True:
        record.keep(batch_stream("b"), (reading(number),), entry=Entry(key=f"reading-{number}"))
        os.write(out, f"{number}\n".encode())
        number += 1


def start(path: str, first: int) -> tuple[int, int]:
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


def measure(path: str) -> float:
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


def one_round(path: str, first: int, life: float) -> int:
    """Let a child write for a while, kill it; return the last acknowledged number."""
    child, inlet = start(path, first)
    time.sleep(life)
    kill(child)
    with os.fdopen(inlet) as said:
        numbers = [int(line) for line in said.read().split("\n") if line]
    return numbers[-1] if numbers else first - 1


def check(path: str, acknowledged: int) -> int:
    """Compare what is there with what was acknowledged; return how many readings there are."""
    store = LocalShelf().open(path)
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


def main(place: str, rounds: str, seed: str) -> None:
    """Run the rounds and print what was seen."""
    chance = random.Random(int(seed))  # noqa: S311 - moments, not secrets
    shelf = Server(place) if "://" in place else Files(place)
    path, first = shelf.fresh("warm"), 0
    longest = 1.3 * measure(path)
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
            path, first = shelf.fresh(f"record-{number}"), 0
            seen["records"] += 1
        last = one_round(path, first, chance.uniform(0.0, longest))
        shelf.settle()
        kept = check(path, last)
        seen["rounds"] += 1
        seen["acknowledged"] += last + 1 - first
        seen["kept"] += kept - first
        seen["unborn"] += last < first
        first = kept
    print(json.dumps({**seen, "ended": datetime.now(UTC).isoformat()}))  # noqa: T201 - its answer


if __name__ == "__main__":
    main(*sys.argv[1:])
