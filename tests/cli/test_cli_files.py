# SPDX-License-Identifier: MIT
"""Files a command reads and writes: never onto its own input, and no ending is guessed."""

from __future__ import annotations

import os
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from middlecut.plan.examples import example_path


@pytest.fixture
def plan(run: Any) -> Path:
    """Write the demo plan into the empty folder the commands run in."""
    del run
    path = Path("plan.toml")
    path.write_bytes(example_path().read_bytes())
    return path


@pytest.mark.parametrize(
    "words",
    [
        ("predict", "plan.toml", "--out", "plan.toml"),
        ("predict", "plan.toml", "--markdown", "--out", "./plan.toml"),
        ("predict", "plan.toml", "--out", "link.md"),
        ("scale", "plan.toml", "--bottles", "6", "--write", "plan.toml"),
        ("diagnose", "plan.toml", "--found", "bitter:3", "--write", "plan.toml"),
    ],
)
def test_no_command_writes_onto_the_plan_it_reads(
    run: Any, plan: Path, words: tuple[str, ...]
) -> None:
    before = plan.read_bytes()
    Path("link.md").symlink_to(plan)
    done = run(*words, "--force")
    assert done.code == 2
    assert "never writes onto what it reads" in done.err
    assert "Name another file" in done.err
    assert plan.read_bytes() == before


def test_a_picture_does_not_replace_the_plan(run: Any, plan: Path) -> None:
    before = plan.read_bytes()
    Path("picture.svg").hardlink_to(plan)
    done = run("route", "juniper berry", "--plan", plan, "--svg", "picture.svg", "--force")
    assert done.code == 2
    assert "never writes onto what it reads" in done.err
    assert plan.read_bytes() == before


def test_saving_an_example_does_not_replace_the_example(run: Any) -> None:
    before = example_path().read_bytes()
    assert run("demo", "--save", example_path(), "--force").code == 2
    assert example_path().read_bytes() == before


@pytest.mark.parametrize("words", [("export", "--out"), ("backup",)])
def test_the_record_is_not_replaced_by_its_own_export(
    run: Any, tmp_path: Path, words: tuple[str, ...]
) -> None:
    record = tmp_path / "kept.sqlite"
    (tmp_path / "empty.jsonl").write_text("", encoding="utf-8")
    run("restore", tmp_path / "empty.jsonl", "--record", record)
    before = record.stat().st_ino  # opening it may touch its header, replacing it makes a new one
    forced = () if words == ("backup",) else ("--form", "jsonl")
    done = run(*words, record, "--record", record, "--force", *forced)
    assert done.code == 2
    assert "never writes onto what it reads" in done.err
    assert record.stat().st_ino == before
    assert record.read_bytes().startswith(b"SQLite format 3")


def test_an_unknown_ending_is_refused_with_those_there_are(run: Any, plan: Path) -> None:
    done = run("predict", plan, "--out", "sheet.xlsx")
    assert done.code == 2
    assert ".xlsx is none of .txt, .md, .csv, .json" in done.err
    assert not Path("sheet.xlsx").exists()
    assert run("predict", plan, "--csv", "--out", "sheet.xlsx").code == 0
    assert Path("sheet.xlsx").read_text(encoding="utf-8").startswith("step,key,value")


def test_an_example_named_as_a_file_is_pointed_to(run: Any) -> None:
    done = run("predict", "demo")
    assert done.code == 2
    assert "middlecut demo --save demo.toml" in done.err
    done = run("check", "neutral")
    assert "middlecut demo neutral --save neutral.toml" in done.out + done.err


@pytest.mark.parametrize(
    ("key", "meant"),
    [
        ("altitude", "batch.altitude"),
        ("altitud", "batch.altitude"),
        ("head_loss", "still.column.head_loss"),
        ("lees", "step.ferment-1.lees or step.ferment-2.lees"),
    ],
)
def test_a_change_without_its_section_is_told_where_it_belongs(
    run: Any, plan: Path, key: str, meant: str
) -> None:
    done = run("predict", plan, "--set", f"{key}=1 m")
    assert done.code == 2
    assert f"Did you mean {meant}" in done.err


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("predict", "plan.toml", "--out", "no/such/sheet.md"), "there is no folder no/such"),
        (("predict", "plan.toml", "--out", ".", "--force"), "that is a folder"),
        (("scale", "plan.toml", "--bottles", "6", "--write", "no/x.toml"), "there is no folder no"),
        (("predict", "plan.toml", "--curve", "wash-1", "--draws", "500"), "'wash-1'"),
    ],
)
def test_what_cannot_be_answered_is_refused_before_the_work(
    run: Any, plan: Path, words: tuple[str, ...], reason: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def worked(*_: object, **__: object) -> None:
        raise AssertionError("the work was begun")

    del plan
    modules = [
        import_module(f"middlecut.{name}")
        for name in ("plan.predict", "plan.scale", "insight.ensemble")
    ]
    for module, name in zip(modules, ("predict", "scale", "predict_bands"), strict=True):
        monkeypatch.setattr(module, name, worked)
    done = run(*words)
    assert done.code == 2
    assert reason in done.err


def test_a_folder_that_may_not_be_written_to_is_refused_before_the_work(
    run: Any, plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Asked of the system, as the tests may run as one who may write everywhere.
    monkeypatch.setattr("middlecut.cli.output.os.access", lambda _, mode: mode != os.W_OK)
    done = run("predict", plan, "--out", "sheet.md")
    assert done.code == 2
    assert "may not be written to" in done.err
    assert "you may write to" in done.err
