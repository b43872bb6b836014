# SPDX-License-Identifier: MIT
"""Write the record that a release leaves behind, once, when it is released.

Run as ``python tests/legacy/make_fixtures.py VERSION``. It refuses to write over what is there:
fixtures of a release are never made again.
"""

from __future__ import annotations

import itertools
import json
import sqlite3
import sys
import tempfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from middlecut.adapters.store_sql import SqlStore
from middlecut.app import use_cases as do
from middlecut.app.batch_events import (
    BatchClosed,
    NoteWritten,
    StepFinished,
    StepStarted,
)
from middlecut.app.events import Body, Who
from middlecut.app.exporting import json_lines
from middlecut.app.projections import PROJECTIONS
from middlecut.app.record import Entry, Record
from middlecut.app.shop_events import FittedValue, StillCalibrated
from middlecut.app.spirit_events import (
    AdditionMade,
    BottlesFilled,
    CutCalled,
    DoseChosen,
    DoseTried,
    HeartsChosen,
    JarFilled,
    JarNoted,
    Phase,
    PowerSet,
    TastingMade,
    WaterAdded,
    WoodSampled,
)

PLAN = """
[batch]
name = "A batch for the archive"
[still.pot]
boiler_volume = "5 L"
heater_power = "1 kW"
[[step]]
id = "wash"
kind = "ferment"
volume = "3 L"
gravity = "1.060 SG"
final_gravity = "1.008 SG"
temperature = "20 °C"
duration = "6 d"
settling = "2 d"
into = "wash"
[[step]]
id = "run"
kind = "distil"
purpose = "spirit"
still = "pot"
from = ["wash"]
cuts = [{ into = "hearts", until = "200 mL" }, { into = "tails", until = "10 %vol" }]
residue = "stillage"
[[step]]
id = "fill"
kind = "bottle"
from = ["hearts"]
into = "bottles"
bottle_volume = "100 mL"
strength = "50 %vol"
"""
STILL = '[still.pot]\nboiler_volume = "5 L"\nheater_power = "1 kW"\n'

BODIES: tuple[Body, ...] = (
    StepStarted("wash", "pitched warm"),
    AdditionMade("wash", "cacao nibs", 0.01, "wash-late", "coarse", "autumn", "10 g"),
    StepFinished("wash"),
    StepStarted("run"),
    PowerSet("run", share=0.6),
    PowerSet("run", power=600.0),
    CutCalled("run", "hearts", "no more glue"),
    JarFilled("run", "1", 1.0e-4, 0.71, 296.15, "20C", "hearts", "100 mL, 71 % at 23 °C"),
    JarFilled("run", "2", 1.0e-4, 0.62, None, "", "hearts"),
    JarNoted("run", "1", ("pear", "cocoa"), "round", "yes"),
    HeartsChosen("run", ("1", "2"), "hearts", "both clean"),
    StepFinished("run", "1 h 40 min"),
    DoseTried("fill", "A", 0.01, 2, ("orange",), "faint"),
    DoseChosen("fill", 0.012, "glass B"),
    WaterAdded("fill", 0.05, 288.15, "hearts", "50 g"),
    WoodSampled("fill", "jar", 1.0e-4, 0.001, 0.0004, 864000.0, ("vanilla",), "straw", "young"),
    StepStarted("fill"),
    BottlesFilled("fill", 2, 1.0e-4, 0.5, "A1"),
    TastingMade("bottle 1", (Phase("nose", ("cocoa", "pear"), 3),), "good", "K3", 71.5, "fill"),
    NoteWritten("the cat watched – 酒", "run"),
    BatchClosed("kept two bottles"),
)


class Fixed:
    """A clock and ids that are the same every time."""

    def __init__(self) -> None:
        self._count = itertools.count(1)
        self._moment = datetime(2027, 1, 10, 8, tzinfo=UTC)

    def now(self) -> datetime:
        """Return a moment an hour after the last."""
        self._moment += timedelta(hours=1)
        return self._moment

    def new(self) -> str:
        """Return the next id."""
        return f"id-{next(self._count):04}"


def fill(record: Record) -> None:
    """Put an event of every kind into a record."""
    who = Entry(who=Who("Mira", "device-1"), entered_utc=datetime(2027, 1, 10, 7, 30, tzinfo=UTC))
    do.change_setting(record, "units", "us")
    device = do.pair_device(record, "tablet", "cd" * 32)
    do.describe_still(record, "pot", STILL)
    fit = StillCalibrated((FittedValue("stages", 1.4, 0.1), FittedValue("holdup", 1e-5)),
                          trustworthy=False, reasons=("one run only",), batch="x", step="run",
                          document='{"residuals":[0.1]}')  # fmt: skip
    record.keep("still/pot", (fit,))
    batch = do.open_batch(record, PLAN, origin="archive.toml", entry=who)
    for body in BODIES[:4]:
        do.note(record, batch, body)
    taken = do.take_reading(record, batch, "wash", "gravity", "1,022 SG", temperature="21 °C",
                            uncertainty="0.001 SG", instrument="hydrometer", entry=who)  # fmt: skip
    do.correct_reading(record, batch, taken.id, "1.012 SG", temperature="21 °C")
    wrong = do.take_reading(record, batch, "run", "head_temperature", "79.1 °C", lot="hearts")
    do.withdraw(record, batch, wrong.id, reason="wrong probe")
    do.adopt_plan(record, batch, PLAN.replace("200 mL", "210 mL"), reason="more hearts")
    for body in BODIES[4:]:
        do.note(record, batch, body)
    do.revoke_device(record, device, reason="lost")


def main(version: str) -> None:
    """Write the fixtures of a release."""
    folder = Path(__file__).parent / "data" / version
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise SystemExit(f"{folder} has its fixtures; they are never made again.")
    fixed = Fixed()
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "record.sqlite"
        store = SqlStore(path)
        fill(Record(store, fixed, fixed))
        with (folder / "events.jsonl").open("x", encoding="utf-8") as lines:
            lines.writelines(json_lines(store.rows()))
        documents = {
            name: {key: json.loads(text) for key, text in store.documents(name).items()}
            for name in PROJECTIONS
        }
        text = json.dumps(documents, indent=1, ensure_ascii=False, sort_keys=True)
        (folder / "projections.json").write_text(f"{text}\n", encoding="utf-8")
        store.close()
        with closing(sqlite3.connect(path)) as connection:
            dump = "\n".join(connection.iterdump())
        (folder / "record.sql").write_text(f"{dump}\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
