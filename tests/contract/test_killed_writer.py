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
SEED = 20270301

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="forks its writers")


def test_no_acknowledged_reading_is_lost_and_none_is_half_written(tmp_path: Path) -> None:
    script = Path(__file__).with_name("kill_rounds.py")
    done = subprocess.run(
        [sys.executable, script, tmp_path, str(ROUNDS), str(SEED)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout)
    assert seen["rounds"] == ROUNDS
    # The moments must have been worth something: many children had written when they were killed,
    # some had not yet opened the record (its making is killed too).
    assert seen["acknowledged"] > ROUNDS / 2
    assert 0 < seen["unborn"] < ROUNDS * 0.9
    assert seen["kept"] >= seen["acknowledged"]
