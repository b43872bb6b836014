# SPDX-License-Identifier: MIT
"""``middlecut demo``, ``check``, ``predict`` and ``scale`` on plans that work."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from middlecut.plan.examples import example_names, example_path

BIN = Path(sys.executable).with_name("middlecut")


def test_the_demo_is_a_sheet_to_follow(run: Any) -> None:
    done = run("demo")
    assert done.code == 0
    assert done.err == ""
    for word in ("strip-1", "spirit", "flavour", "bottle", "%vol", "kWh", "hearts"):
        assert word in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 100


@pytest.mark.parametrize("name", example_names())
def test_every_example_can_be_checked_and_predicted(run: Any, name: str) -> None:
    assert run("check", example_path(name)).code == 0
    done = run("demo", name, "--json")
    assert done.code == 0
    read = json.loads(done.out)
    for substance in read["account"].values():
        came, went = sum(substance["came"].values()), sum(substance["went"].values())
        assert came == pytest.approx(went, rel=1e-9)


def test_an_unknown_example_is_named_with_those_there_are(run: Any) -> None:
    done = run("demo", "whiskey")
    assert done.code == 2
    assert "whiskey" in done.err
    assert "neutral" in done.err


def test_the_demo_plan_can_be_taken_along(run: Any) -> None:
    done = run("demo", "--save", "mine.toml")
    assert done.code == 0
    assert Path("mine.toml").read_text(encoding="utf-8") == example_path().read_text("utf-8")
    again = run("demo", "--save", "mine.toml")
    assert again.code == 2
    assert "--force" in again.err
    assert run("demo", "--save", "mine.toml", "--force").code == 0
    assert run("predict", "mine.toml").code == 0


def test_forms_of_a_prediction(run: Any) -> None:
    plan = example_path()
    text = run("predict", plan).out
    markdown = run("predict", plan, "--markdown").out
    table = run("predict", plan, "--csv").out
    assert text != markdown
    assert "\n| " in markdown
    rows = list(csv.DictReader(io.StringIO(table)))
    assert len(rows) > 100
    assert {"step", "key", "value", "unit"} <= set(rows[0])
    assert json.loads(run("predict", plan, "--json").out)["lots"]["hearts"]["volume_m3"] > 0.0


def test_two_forms_at_once_are_refused(run: Any) -> None:
    done = run("predict", example_path(), "--json", "--csv")
    assert done.code == 2
    assert "one form" in done.err


@pytest.mark.parametrize(("name", "mark"), [("s.md", "| "), ("s.csv", "step,"), ("s.json", "{")])
def test_the_name_of_the_file_chooses_the_form(run: Any, name: str, mark: str) -> None:
    done = run("predict", example_path(), "--out", name)
    assert done.code == 0
    assert name in done.out
    assert mark in Path(name).read_text(encoding="utf-8")


def test_us_units_are_shown_and_nothing_else_changes(run: Any) -> None:
    plan = example_path()
    metric, us = run("predict", plan).out, run("predict", plan, "--units", "us").out
    assert "°F" in us
    assert "US gal" in us
    assert "°F" not in metric
    assert run("predict", plan, "--units", "us", "--json").out == run("predict", plan, "--json").out


def test_the_curve_of_a_run(run: Any) -> None:
    done = run("predict", example_path(), "--curve", "spirit")
    assert done.code == 0
    rows = list(csv.DictReader(io.StringIO(done.out)))
    times = [float(row["time [min]"]) for row in rows]
    volumes = [float(row["collected [L]"]) for row in rows]
    strengths = [float(row["strength [%vol]"]) for row in rows]
    assert times == sorted(times)
    assert volumes == sorted(volumes)
    assert strengths[0] > 80.0 > strengths[-1]
    assert len([name for name in rows[0] if name.endswith("[mg/L]")]) >= 40


def test_a_curve_of_a_step_without_one(run: Any) -> None:
    done = run("predict", example_path(), "--curve", "bottle")
    assert done.code == 2
    assert "bottle" in done.err
    assert "spirit" in done.err


def test_the_same_plan_gives_the_same_text(run: Any) -> None:
    assert run("demo").out == run("demo").out


def test_scaling_to_bottles_and_back_into_a_plan(run: Any) -> None:
    done = run("scale", example_path(), "--bottles", "12", "--write", "twelve.toml")
    assert done.code == 0, done.err
    again = run("predict", "twelve.toml", "--json")
    assert again.code == 0
    read = json.loads(again.out)
    figures = {one["key"]: one["value"] for one in read["steps"]["bottle"]["figures"]}
    assert figures["bottles"] == 12


def test_scaling_needs_one_aim(run: Any) -> None:
    assert run("scale", example_path()).code == 2
    done = run("scale", example_path(), "--bottles", "6", "--volume", "3 L")
    assert done.code == 2
    assert "one of them" in done.err


@pytest.mark.parametrize("words", [("--help",), ("predict", "--help"), ("strength", "-h")])
def test_help(run: Any, words: tuple[str, ...]) -> None:
    done = run(*words)
    assert done.code == 0
    assert "Usage: middlecut" in done.out


def test_help_names_the_exit_codes_and_only_what_is_there(run: Any) -> None:
    out = run("--help").out
    for code in ("0  ", "1  ", "2  ", "3  ", "4  ", "130  "):
        assert f"{code}" in out
    commands = out.partition("Commands:")[2].partition("Exit codes")[0].split("\n")
    assert [line.split()[0] for line in commands if line.strip()] == [
        "demo",
        "check",
        "predict",
        "follow",
        "calibrate",
        "scale",
        "route",
        "nose",
        "diagnose",
        "vocabulary",
        "strength",
        "dilute",
        "wood-sample",
        "backup",
        "restore",
        "export",
        "verify",
        "open",
        "pantry",
    ]


def test_version(run: Any) -> None:
    from middlecut import __version__

    assert run("--version").out == f"middlecut {__version__}\n"


def test_completion_can_be_shown() -> None:
    done = subprocess.run(
        [BIN, "--show-completion", "bash"], capture_output=True, text=True, check=False
    )
    asked = subprocess.run(
        [BIN],
        env={**os.environ, "_MIDDLECUT_COMPLETE": "source_bash"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "complete" in done.stdout + asked.stdout


def test_a_reader_that_stops_early_is_no_fault(tmp_path: Path) -> None:
    done = subprocess.run(
        ["/bin/sh", "-c", f"'{BIN}' demo | head -n 1"],
        env={**os.environ, "MIDDLECUT_STATE": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.startswith("Quarry Lane")
    assert done.returncode == 0
    assert done.stderr == ""


def test_a_terminal_without_the_degree_sign_is_no_fault() -> None:
    done = subprocess.run(
        [BIN, "strength", "40 %vol", "--at", "15 °C"],
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "density at 15.0 ?C" in done.stdout


def test_ctrl_c_ends_with_130() -> None:
    # The child sends itself the signal as soon as it would load the numerics.
    code = (
        "import os, signal, sys\n"
        "import middlecut.plan.read as read\n"
        "def stop(*_):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    raise AssertionError('the signal came late')\n"
        "read.load_plan = stop\n"
        "from middlecut.bootstrap import main\n"
        "main(['predict', 'plan.toml'])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert "Traceback" not in done.stderr


def test_colour_only_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    from middlecut.cli import output

    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    def shown(**settings: str) -> str:
        for name in ("NO_COLOR", "TERM"):
            monkeypatch.delenv(name, raising=False)
        for name, value in settings.items():
            monkeypatch.setenv(name, value)
        screen = Screen()
        monkeypatch.setattr(sys, "stdout", screen)
        output.say("A batch\n=======\n\n  WATCH   The boiler is full.")
        return screen.getvalue()

    assert "\033[1mA batch\033[0m" in shown(TERM="xterm")
    assert "\033[1;33mWATCH\033[0m" in shown(TERM="xterm")
    assert "\033" not in shown(TERM="xterm", NO_COLOR="1")
    assert "\033" not in shown(TERM="dumb")


def test_a_contraction_too_small_to_measure(run: Any) -> None:
    done = run("dilute", "50 mL", "42 %vol", "--to", "41 %vol")
    assert "under 1 mL" in done.out
    assert "under" not in run("dilute", "2.4 L", "63 %vol", "--to", "46 %vol").out


def test_scaling_says_what_each_charge_gets_and_what_is_to_spare(run: Any) -> None:
    done = run("scale", example_path(), "--bottles", "24")
    found = re.search(r"and (\d+) mL to spare", done.out)
    assert found is not None
    left = re.search(r"bottles remainder: (\d+) mL", done.out)
    assert left is not None
    assert found[1] == left[1]  # what is left over is what there was to spare
    line = next(one for one in done.out.splitlines() if '"spirit".cuts[1].until' in one)
    whole, each = (float(text) for text in re.findall(r"(\d+) mL", line)[1:])
    assert each == pytest.approx(whole / 2.0, abs=0.5)  # of two charges, shown to the millilitre
    assert "mL in all:" in line
    assert line.endswith("a charge")
