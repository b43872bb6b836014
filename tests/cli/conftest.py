# SPDX-License-Identifier: MIT
"""Run the command line in this process, as a person would meet it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from middlecut.bootstrap import main


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a command ended."""

    code: int
    out: str
    err: str


Run = Callable[..., Outcome]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Return a function that runs ``middlecut`` with the words given, in an empty folder."""
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.setenv("MIDDLECUT_STATE", str(tmp_path / "state"))
    monkeypatch.setenv("COLUMNS", "88")

    def run_words(*words: str | Path) -> Outcome:
        with pytest.raises(SystemExit) as left:
            main([str(word) for word in words])
        captured = capsys.readouterr()
        code = left.value.code
        return Outcome(0 if code is None else int(code), captured.out, captured.err)

    return run_words
