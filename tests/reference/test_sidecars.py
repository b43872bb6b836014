# SPDX-License-Identifier: MIT
"""Each table, shipped or used as a reference, says where its numbers come from."""

from __future__ import annotations

import csv
import hashlib
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = (
    "src/middlecut/liquid/tables",
    "src/middlecut/steps/tables",
    "src/middlecut/insight/tables",
    "tests/reference/data",
)
TABLES = sorted(
    path
    for folder in FOLDERS
    for path in (ROOT / folder).glob("*")
    if path.suffix in {".csv", ".json"}
)
KEYS = ("title", "source", "units", "range", "basis", "uncertainty", "sha256", "errata")


def test_there_are_tables_of_both_kinds() -> None:
    folders = {path.parent.name for path in TABLES}
    assert {"tables", "data"} <= folders


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_table_has_a_complete_sidecar(path: Path) -> None:
    sidecar = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
    assert [key for key in KEYS if not sidecar.get(key)] == []
    assert isinstance(sidecar["units"], dict)


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.name)
def test_table_is_the_one_described(path: Path) -> None:
    sidecar = tomllib.loads(path.with_suffix(".toml").read_text(encoding="utf-8"))
    assert hashlib.sha256(path.read_bytes()).hexdigest() == sidecar["sha256"]


@pytest.mark.parametrize(
    "path", [path for path in TABLES if path.suffix == ".csv"], ids=lambda path: path.name
)
def test_table_rows_are_whole(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if line and not line.startswith("#")))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


def test_no_sidecar_without_its_table() -> None:
    lonely = [
        path.name
        for folder in FOLDERS
        for path in (ROOT / folder).glob("*.toml")
        if not any(path.with_suffix(end).exists() for end in (".csv", ".json"))
    ]
    assert lonely == []
