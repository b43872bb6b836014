# SPDX-License-Identifier: MIT
"""Acknowledged means on disk: SIGKILL at random moments loses no acknowledged reading."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROUNDS = 300
SERVER_ROUNDS = 40  # a file is what people have; each round here also waits for the server
SEED = 20270301

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="forks its writers")


@pytest.mark.parametrize("kind", ["file", "server"])
def test_no_acknowledged_reading_is_lost_and_none_is_half_written(
    request: pytest.FixtureRequest, tmp_path: Path, kind: str
) -> None:
    script = Path(__file__).with_name("kill_rounds.py")
    server = kind == "server"
    place = request.getfixturevalue("fresh_database") if server else str(tmp_path)
    rounds = SERVER_ROUNDS if server else ROUNDS
    done = subprocess.run(
        [sys.executable, script, place, str(rounds), str(SEED)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout)
    assert seen["rounds"] == rounds
    # The moments must have been worth something: many children had written when they were killed,
    # some had not yet opened the record (its making is killed too).
    assert seen["acknowledged"] > rounds / 2
    assert 0 < seen["unborn"] < rounds * 0.9
    assert seen["kept"] >= seen["acknowledged"]
