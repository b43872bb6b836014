# SPDX-License-Identifier: MIT
"""``middlecut open``: what it wires, with the server itself left out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from middlecut.adapters.troubles import cannot_prepare
from middlecut.web.services import Address


@pytest.fixture
def served(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    calls: list[Any] = []

    def bind(port: int | None, *, shared: bool) -> tuple[list[Any], Address]:
        return [], Address(port=port or 8460, reachable="192.168.7.5" if shared else "")

    def serve(application: Any, _sockets: Any, services: Any, **named: Any) -> None:
        record = services.record
        calls.append((services, named, record.store.documents("shed"), application.title))
        named["say"]("open")

    monkeypatch.setattr("middlecut.web.serving.bind", bind)
    monkeypatch.setattr("middlecut.web.serving.serve", serve)
    return calls


def test_opens_the_record_that_is_named(run: Any, tmp_path: Path, served: list[Any]) -> None:
    place = tmp_path / "mine.sqlite"
    done = run("open", "--record", place, "--no-browser", "--port", "9001")
    assert (done.code, done.out) == (0, "open\n")
    services, named, shed, title = served[0]
    assert services.record.store.location == str(place)
    assert services.address.port == 9001
    assert not services.address.shared
    assert named["browse"] is False
    assert (len(shed), title) == (0, "middlecut")
    assert place.is_file()


def test_the_demo_has_a_record_of_its_own(
    run: Any, tmp_path: Path, served: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = tmp_path / "record.sqlite"
    monkeypatch.setenv("MIDDLECUT_RECORD", str(usual))
    assert run("open", "--demo", "--lan").code == 0
    services, named, shed, _ = served[0]
    assert services.record.store.location == str(tmp_path / "demo.sqlite")
    assert services.address.shared
    assert named["browse"] is True
    assert len(shed) == 2
    assert not usual.exists()


def test_a_record_that_cannot_be_had_is_said(run: Any, tmp_path: Path, served: list[Any]) -> None:
    done = run("open", "--record", tmp_path)
    assert done.code != 0
    assert "Traceback" not in done.err
    assert str(tmp_path) in done.err
    assert served == []


def test_an_impossible_port_is_said(run: Any) -> None:
    assert run("open", "--port", "99999").code == 2


def test_where_no_record_can_be_the_cause_and_the_option_are_named(
    run: Any, tmp_path: Path, served: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file", encoding="utf-8")
    monkeypatch.setenv("XDG_DATA_HOME", str(taken))
    monkeypatch.delenv("MIDDLECUT_RECORD", raising=False)
    done = run("open", "--no-browser")
    assert done.code == 4
    assert f"{taken} is a file, and a folder is wanted" in done.err
    assert "--data FILE" in done.err
    assert "MIDDLECUT_RECORD" in done.err
    folder = run("open", "--data", tmp_path)
    assert folder.code == 4
    assert f"{tmp_path} is a folder, and a file is wanted" in folder.err
    assert "--data FILE" in folder.err
    monkeypatch.setattr("middlecut.adapters.troubles.os.access", lambda *_: False)
    shut = run("open", "--data", taken / "shed" / "mine.sqlite")
    assert "is a file, and a folder is wanted" in shut.err
    # Root may write everywhere, so the right itself is played here.
    error = cannot_prepare(tmp_path / "new" / "mine.sqlite", PermissionError(13, "no"))
    assert f"you may not write to {tmp_path}." in str(error)
