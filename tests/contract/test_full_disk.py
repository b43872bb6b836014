# SPDX-License-Identifier: MIT
"""A disk that is full: what is in the record stays, nothing half-written is left, and it says so.

Once on a disk that is really full (a file system of 200 kB in a name space of its own, where the
machine allows that), once with a limit to the size of a file, which every machine knows.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from middlecut.adapters.shelf import LocalShelf
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.batch_events import BatchOpened, PlanAdopted, ReadingTaken, StepOutline
from middlecut.app.record import Entry, Record
from middlecut.app.states import batch_stream

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a shell sets the limits")

READINGS = 300
MIDDLECUT = "from middlecut.bootstrap import main; main()"
ON_A_FULL_DISK = 'mount -t tmpfs -o size={size}k tmpfs "$0" && cd "$0" || exit 99'
WITH_A_LIMIT = 'cd "$0" && ulimit -f 100'  # blocks of 512 or 1024 bytes
AND_LIST = '"$@"; code=$?; ls -A; exit $code'
WRITE_UNTIL_FULL = """
import sys
from pathlib import Path
from test_full_disk import reading, record_at
from middlecut.app.record import Entry
from middlecut.app.states import batch_stream
from middlecut.app.verifying import verify
from middlecut.errors import StoreError

filler = Path("filler")
filler.write_bytes(bytes(200_000))
record = record_at("r.sqlite", 0)
kept = 0
try:
    while True:
        record.keep(batch_stream("b"), (reading(kept),), entry=Entry(key=f"reading-{kept}"))
        kept += 1
except StoreError as error:
    print(error)
filler.unlink()  # room is made: the same entry again, and the next
for number in (kept, kept + 1):
    record.keep(batch_stream("b"), (reading(number),), entry=Entry(key=f"reading-{number}"))
bodies = [event.body for event in record.store.read_stream("batch/b")][2:]
assert kept > 20
assert bodies == [reading(number) for number in range(kept + 2)]
assert not verify(record.store).problems
"""


def reading(number: int) -> ReadingTaken:
    return ReadingTaken("run", "volume", number * 1e-6, instrument="x" * 190)


def record_at(place: str, readings: int) -> Record:
    record = Record(LocalShelf().open(place), SystemClock(), RandomIds())
    opening = (BatchOpened("full"), PlanAdopted("plan", (StepOutline("run", "distil"),)))
    record.keep(batch_stream("b"), opening, entry=Entry(key="open"))
    if readings:
        many = tuple(reading(number) for number in range(readings))
        record.keep(batch_stream("b"), many, entry=Entry(key="readings"))
    return record


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a record of about 250 kB and a backup of it."""
    folder = tmp_path_factory.mktemp("kept")
    store = record_at(str(folder / "r.sqlite"), READINGS).store
    LocalShelf().back_up(store, folder / "b.sqlite")
    store.close()
    return folder


def confined(
    kind: str, place: Path, command: list[str], *, size: int = 200
) -> subprocess.CompletedProcess[str]:
    """Run a command where little can be written (a disk of so many kB); list what it left there."""
    limit = ON_A_FULL_DISK.format(size=size) if kind == "disk" else WITH_A_LIMIT
    space = ["unshare", "-r", "-m"] if kind == "disk" else []
    if kind == "disk" and not shutil.which("unshare"):
        pytest.skip("there is no unshare here: a full disk was NOT TESTED, a limit was")
    done = subprocess.run(
        [*space, "sh", "-c", f"{limit}; {AND_LIST}", place, *command],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if kind == "disk" and ("unshare" in done.stderr or done.returncode == 99):
        pytest.skip("this machine gives no name space: a full disk was NOT TESTED, a limit was")
    return done


@pytest.mark.parametrize("kind", ["disk", "limit"])
@pytest.mark.parametrize(
    ("command", "says", "code"),
    [
        ("export --record {kept}/r.sqlite --out e.jsonl", "Make room there, or name a file", 2),
        ("backup b.sqlite --record {kept}/r.sqlite", "The backup b.sqlite cannot be written", 4),
        ("restore {kept}/b.sqlite --record r.sqlite", "cannot be written", 4),
    ],
    ids=["export", "backup", "restore"],
)
def test_nothing_half_written_is_left(
    kept: Path, tmp_path: Path, *, kind: str, command: str, says: str, code: int
) -> None:
    words = command.format(kept=kept).split()
    done = confined(kind, tmp_path, [sys.executable, "-c", MIDDLECUT, *words])
    assert done.returncode == code, done.stderr
    assert done.stdout == "", "neither an answer nor a file"
    assert says in done.stderr
    assert "entered" not in done.stderr, "nobody entered anything"
    if kind == "disk":
        assert "full" in done.stderr or "No space left" in done.stderr


def test_an_answer_that_cannot_be_written_out_is_no_fault_of_ours(kept: Path) -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no /dev/full")
    with full.open("w") as output:
        done = subprocess.run(
            [sys.executable, "-c", MIDDLECUT, "export", "--record", str(kept / "r.sqlite")],
            stdout=output, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert "output: 'standard output' is not usable" in done.stderr
    assert "No space left" in done.stderr
    assert "fault" not in done.stderr


def test_a_record_on_a_full_disk_keeps_what_it_acknowledged(tmp_path: Path) -> None:
    code = f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r})\n{WRITE_UNTIL_FULL}"
    done = confined("disk", tmp_path, [sys.executable, "-c", code], size=2000)
    assert done.returncode == 0, done.stderr
    assert "The disk is full. What was entered is not in the record" in done.stdout
    assert "Make room, then send it again." in done.stdout
