# SPDX-License-Identifier: MIT
"""``middlecut predict`` with draws, with changes, and compared."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from middlecut.cli import ranges
from middlecut.plan.examples import example_path

BIN = Path(sys.executable).with_name("middlecut")
PLAN = """\
[batch]
name = "Trial"

[still.pot]
boiler_volume = "30 L"
heater_power = "2.4 kW"

[lot.wine]
volume = "9 L"
strength = "28 %vol"

[[step]]
id = "run"
kind = "distil"
still = "pot"
purpose = "spirit"
from = ["wine"]
power = "60 %"
cuts = [{ into = "hearts", until = "30 %vol" }]
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "trial.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def test_draws_put_ranges_on_the_sheet(run: Any, plan: Path) -> None:
    done = run("predict", plan, "--draws", "8", "--seed", "3")
    assert done.code == 0
    assert done.err == ""  # the bar is for terminals
    assert "How sure this is" in done.out
    assert "seed" in done.out
    assert "hearts: strength" in done.out
    again = run("predict", plan, "--draws", "8", "--seed", "3")
    assert again.out == done.out
    assert "How sure" not in run("predict", plan).out


def test_no_draws_give_no_ranges_and_help_says_so(run: Any, plan: Path) -> None:
    assert run("predict", plan, "--draws", "0").out == run("predict", plan).out
    assert "0 gives no ranges" in " ".join(run("predict", "--help").out.split())


def test_draws_in_json_and_csv(run: Any, plan: Path) -> None:
    read = json.loads(run("predict", plan, "--draws", "8", "--json").out)
    band = read["lots"]["hearts"]["band"]["volume"]
    assert band["low"] < read["lots"]["hearts"]["volume_m3"] < band["high"]
    assert read["ensemble"]["draws"] == 8
    rows = list(csv.DictReader(io.StringIO(run("predict", plan, "--draws", "8", "--csv").out)))
    strength = next(row for row in rows if row["key"] == "made.hearts.strength")
    assert float(strength["low"]) < float(strength["value"]) < float(strength["high"])


def test_a_change_is_predicted(run: Any, plan: Path) -> None:
    done = run("predict", plan, "--set", "run.power=50 %", "--json")
    assert done.code == 0
    slow = json.loads(done.out)["totals"]["still_time"]
    assert slow > json.loads(run("predict", plan, "--json").out)["totals"]["still_time"]


@pytest.mark.parametrize("form", ["", "--json", "--csv"])
def test_a_change_is_compared(run: Any, plan: Path, form: str) -> None:
    done = run("predict", plan, "--set", "run.power=50 %", "--compare", *filter(None, [form]))
    assert done.code == 0
    assert "run_time" in done.out or "distillate runs for" in done.out
    if form == "--json":
        assert json.loads(done.out)["first_step"] == "run"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--draws", "-1"], "whole number"),
        (["--draws", "1"], "at least 2"),
        (["--draws", "200000"], "100000"),
        (["--seed", "-4"], "seed"),
        (["--draws", "many"], "valid integer"),
        (["--compare"], "--set"),
        (["--set", "run.power"], "place"),
        (["--set", "run.power=50 %", "--set", "run.power=60 %"], "each place once"),
        (["--set", "run.powr=50 %"], "powr"),
        (["--set", "rum.power=50 %"], "rum"),
        (["--set", "run.power=50 bananas"], "power"),
        (["--set", "run.power=50 %", "--compare", "--draws", "9"], "without draws"),
        (["--set", "run.power=50 %", "--compare", "--markdown"], "Markdown"),
    ],
)
def test_unusable_words_are_refused(run: Any, plan: Path, words: list[str], said: str) -> None:
    done = run("predict", plan, *words)
    assert done.code == 2
    assert said.lower() in done.err.lower()
    assert done.out == ""
    assert "Traceback" not in done.err


def test_an_interrupt_while_drawing_says_so(
    run: Any, plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Stopped:
        def __enter__(self) -> None:
            raise KeyboardInterrupt

        def __exit__(self, *_: object) -> None:
            return None

    monkeypatch.setattr(ranges, "_bar", lambda _: Stopped())
    done = run("predict", plan, "--draws", "9", "--out", "sheet.md")
    assert done.code == 130
    assert "Stopped before the 9 draws were done" in done.err
    assert not Path("sheet.md").exists()


def test_ctrl_c_leaves_no_worker_behind() -> None:
    with subprocess.Popen(
        [BIN, "predict", example_path(), "--draws", "4000"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        workers: list[str] = []
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children")
        if not children.exists():
            process.kill()
            pytest.skip("this system does not list the children of a process")
        while len(workers) < 2 and process.poll() is None:
            time.sleep(0.05)
            workers = children.read_text(encoding="ascii").split()
            if len(os.sched_getaffinity(0)) == 1:
                break
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert out == ""
    assert "Traceback" not in err
    assert [pid for pid in workers if Path(f"/proc/{pid}").exists()] == []
