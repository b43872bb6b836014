# SPDX-License-Identifier: MIT
"""Bad plans, bad files and faults: a sentence, the right code, and nothing written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from middlecut.errors import BalanceError, ConvergenceError, StoreError
from middlecut.plan.examples import example_path

SMALL = """\
[batch]
name = "small"

[still.pot]
boiler_volume = "10 L"
heater_power = "2 kW"
condenser_duty = "3 kW"

[[step]]
id = "ferment"
kind = "ferment"
volume = "8 L"
gravity = "1.060 SG"
final_gravity = "1.006 SG"
temperature = "24 °C"
duration = "6 d"
into = "wash"

[[step]]
id = "run"
kind = "distil"
purpose = "strip"
still = "pot"
from = [{ lot = "wash", volume = "6 L" }]
cuts = [{ into = "low wines", until = "10 %vol" }]
residue = "stillage"
"""

# Each: what is put for what, and what the answer has to name.
BROKEN = {
    "wrong unit": ('volume = "8 L"', 'volume = "8 kg"', ("ferment", "8 kg", "volume")),
    "no unit": ('gravity = "1.060 SG"', "gravity = 1.060", ("gravity", "1.06")),
    "unknown key": ('into = "wash"', 'intoo = "wash"', ("intoo",)),
    "negative volume": ('volume = "8 L"', 'volume = "-8 L"', ("volume", "-8 L")),
    "no volume": ('volume = "8 L"', 'volume = "0 L"', ("volume", "0 L")),
    "impossible gravity": ('gravity = "1.060 SG"', 'gravity = "7.1 SG"', ("gravity", "7.1")),
    "fermented below nothing": (
        'final_gravity = "1.006 SG"',
        'final_gravity = "1.080 SG"',
        ("final_gravity",),
    ),
    "a lot before it exists": ('lot = "wash"', 'lot = "low wines"', ("low wines",)),
    "a lot nobody makes": ('lot = "wash"', 'lot = "wach"', ("wach", "wash")),
    "more than there is": ('volume = "6 L"', 'volume = "9 L"', ("wash",)),
    "boiler too small": ('boiler_volume = "10 L"', 'boiler_volume = "5 L"', ("5",)),
    "above the azeotrope": ('until = "10 %vol"', 'until = "99 %vol"', ("99",)),
    "a cut that never happens": ('until = "10 %vol"', 'until = "7 L"', ("low wines",)),
    "a charge of nothing": ('volume = "6 L"', 'volume = "0 L"', ("0 L",)),
    "unknown still": ('still = "pot"', 'still = "pott"', ("pott", "pot")),
    "unknown kind": ('kind = "distil"', 'kind = "boil"', ("boil",)),
    "no such syntax": ("[still.pot]", "[still.pot", ("plan.toml",)),
    "twice the same id": ('id = "run"', 'id = "ferment"', ("ferment",)),
    "unknown ingredient": (
        'id = "run"',
        'id = "run"\nadd = [{ ingredient = "clive", amount = "5 g", entry = "charge" }]',
        ("clive", "clove"),
    ),
}


def everything(folder: Path) -> set[str]:
    return {path.name for path in folder.rglob("*")}


def refuse(run: Any, content: bytes, *named: str) -> None:
    """Check that a plan is refused by both commands, in sentences, with nothing written."""
    Path("plan.toml").write_bytes(content)
    for words in (("check", "plan.toml"), ("predict", "plan.toml", "--out", "sheet.md")):
        done = run(*words)
        said = done.out + done.err
        if words[0] == "check" and done.code == 0:
            continue  # only the prediction can know
        assert done.code == 2, said
        for word in named:
            assert word in said
        assert "Traceback" not in said
        assert "fault of middlecut" not in said
        assert len(said) < 8000
    assert done.code == 2
    assert everything(Path()) == {"plan.toml"}


def test_the_small_plan_itself_is_good(run: Any) -> None:
    Path("plan.toml").write_text(SMALL, encoding="utf-8")
    assert run("check", "plan.toml").code == 0
    assert run("predict", "plan.toml").code == 0


@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_plan_is_refused(run: Any, what: str) -> None:
    old, new, named = BROKEN[what]
    assert SMALL.count(old) == 1
    refuse(run, SMALL.replace(old, new).encode(), *named)


@pytest.mark.parametrize(
    ("what", "content"),
    [
        ("empty", b""),
        ("blank", b"\n\n  \n"),
        ("only a comment", b"# a plan to come\n"),
        ("not text", bytes(range(256)) * 40),
        ("not utf-8", SMALL.replace("small", "klein ä").encode("latin-1")),
        ("json", b'{"batch": {"name": "x"}}'),
        ("ten megabytes of garbage", b"\x8f\x03garbage" * 1_200_000),
        ("ten megabytes of brackets", b"[" * 10_000_000),
    ],
)
def test_what_is_no_plan_is_refused(run: Any, what: str, content: bytes) -> None:
    refuse(run, content)
    assert what


def test_a_missing_file_and_a_folder(run: Any) -> None:
    done = run("predict", "nowhere.toml")
    assert done.code == 2
    assert "nowhere.toml" in done.err
    Path("folder.toml").mkdir()
    assert run("check", "folder.toml").code == 2


def test_every_problem_is_told_at_once_with_its_line(run: Any) -> None:
    text = SMALL
    for what in ("wrong unit", "impossible gravity", "unknown still"):
        old, new, _ = BROKEN[what]
        text = text.replace(old, new)
    Path("plan.toml").write_text(text, encoding="utf-8")
    done = run("check", "plan.toml")
    assert done.code == 2
    lines = text.splitlines()
    for word in ('"8 kg"', '"7.1 SG"', '"pott"'):
        number = next(n for n, line in enumerate(lines, start=1) if word in line)
        assert f"plan.toml:{number}:" in done.out


def test_problems_as_json(run: Any) -> None:
    import json

    Path("plan.toml").write_text(SMALL.replace('"8 L"', '"8 kg"'), encoding="utf-8")
    done = run("check", "plan.toml", "--json")
    assert done.code == 2
    (problem,) = json.loads(done.out)["problems"]
    assert problem["line"] == 12
    assert problem["remedy"]


def test_the_plan_itself_is_never_overwritten(run: Any) -> None:
    Path("plan.toml").write_text(SMALL, encoding="utf-8")
    done = run("predict", "plan.toml", "--out", "plan.toml")
    assert done.code == 2
    assert Path("plan.toml").read_text(encoding="utf-8") == SMALL


def test_a_place_that_cannot_be_written(run: Any) -> None:
    done = run("demo", "--save", "no/such/folder/plan.toml")
    assert done.code == 2
    assert "cannot be written" in done.err
    assert everything(Path()) == set()


def test_unknown_command_and_option(run: Any) -> None:
    assert run("distill").code == 2
    assert run("predict").code == 2
    assert run("demo", "--no-such-option").code == 2
    assert run("demo", "--units", "imperial").code == 2


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (ConvergenceError("the bubble point", 50, 0.1), 3),
        (BalanceError("spirit: the account of ethanol is open"), 3),
        (StoreError("the record cannot be read"), 4),
        (KeyboardInterrupt(), 130),
    ],
)
def test_other_endings(
    run: Any, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("middlecut.plan.predict.predict", fail)
    done = run("predict", example_path())
    assert done.code == code
    assert "Traceback" not in done.err
    assert done.out == ""


def test_an_unexpected_fault_leaves_a_report(
    run: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a cause to be found in the report")

    monkeypatch.setattr("middlecut.plan.predict.predict", fail)
    done = run("predict", example_path())
    assert done.code == 1
    assert "Traceback" not in done.err
    (report,) = (tmp_path / "state").glob("middlecut-fault-*.txt")
    assert str(report) in done.err
    text = report.read_text(encoding="utf-8")
    assert "a cause to be found in the report" in text
    assert "Traceback" in text


def test_a_report_goes_to_the_current_folder_when_it_must(
    run: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    (tmp_path / "state").write_text("a file where the folder should be", encoding="utf-8")
    monkeypatch.setattr("middlecut.plan.predict.predict", fail)
    done = run("predict", example_path())
    assert done.code == 1
    assert len(list(Path().glob("middlecut-fault-*.txt"))) == 1


def test_a_number_of_bottles_out_of_range_is_told_as_a_sentence(run: Any) -> None:
    done = run("scale", example_path(), "--bottles", "0")
    assert done.code == 2
    assert "--bottles: 0 is not usable; at least one bottle is needed" in done.err
    assert "Usage" not in done.err


def test_a_locked_plan_is_told_as_a_sentence(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    # Asked of the system, as the tests may run as one who may read everything.
    Path("plan.toml").write_text("", encoding="utf-8")
    monkeypatch.setattr("os.access", lambda *_: False)
    done = run("check", "plan.toml")
    assert done.code == 2
    assert "Usage" not in done.err
    assert "It is empty" in done.out
