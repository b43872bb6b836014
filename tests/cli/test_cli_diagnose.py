# SPDX-License-Identifier: MIT
"""``middlecut diagnose``: causes on the screen, JSON, and the edited plan."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from middlecut.plan.examples import example_path

FOUND = "nail varnish:5, solvent:3"


def test_causes_remedies_and_notes_are_shown(run: Any) -> None:
    done = run("diagnose", example_path(), "--found", FOUND)
    assert done.code == 0
    assert done.err == ""
    assert done.out.startswith("What was found in bottles: nail varnish 5, solvent 3")
    for word in ("1. nail varnish", "Score", "Remedy 1:", " -> ", "Advice:", "no probability"):
        assert word in done.out
    assert max(map(len, done.out.splitlines())) <= 110


def test_all_shows_more(run: Any) -> None:
    short = run("diagnose", example_path(), "--found", FOUND).out
    assert "less likely with --all" in short
    assert len(run("diagnose", example_path(), "--found", FOUND, "--all").out) > len(short)


def test_json_is_the_diagnosis(run: Any) -> None:
    read = json.loads(run("diagnose", example_path(), "--found", FOUND, "--json").out)
    assert read["found"] == {"nail varnish": 5.0, "solvent": 3.0}
    totals = [cause["score"]["total"] for cause in read["causes"]]
    assert totals == sorted(totals, reverse=True)
    assert read["causes"][0]["compounds"] == ["ethyl acetate"]


def test_a_remedy_is_written_and_can_be_predicted(run: Any) -> None:
    done = run("diagnose", example_path(), "--found", FOUND, "--write", "next.toml")
    assert done.code == 0
    assert "Remedy 1 is in next.toml" in done.out
    old = example_path().read_text(encoding="utf-8").splitlines()
    new = Path("next.toml").read_text(encoding="utf-8").splitlines()
    assert sum(a != b for a, b in zip(old, new, strict=True)) == 1
    assert run("check", "next.toml").code == 0


def test_a_remedy_that_moves_an_ingredient_is_written(run: Any) -> None:
    done = run("diagnose", example_path(), "--found", "kerosene:5", "--write", "moved.toml")
    assert done.code == 0
    # None of its remedies is predicted to help; what is written says so.
    assert "Remedy 1 is in moved.toml. What it does to the fault is not predicted" in done.out
    old, new = example_path().read_text(encoding="utf-8"), Path("moved.toml").read_text("utf-8")
    gone = [line for line in old.splitlines() if line not in new.splitlines()]
    assert [line.strip() for line in gone] == [
        '{ ingredient = "orange peel, dried", amount = "25 g", entry = "basket" },',
        'from = "full-strength spirit"',
    ]
    assert new.count("[[step]]") == old.count("[[step]]") + 3
    assert "new step before reduce" in done.out
    assert run("predict", "moved.toml").code == 0


def test_no_file_is_replaced_unless_forced(run: Any) -> None:
    Path("next.toml").write_text("mine", encoding="utf-8")
    words = ("diagnose", example_path(), "--found", FOUND, "--write", "next.toml")
    done = run(*words)
    assert (done.code, done.out) == (2, "")
    assert "--force" in done.err
    assert Path("next.toml").read_text(encoding="utf-8") == "mine"
    assert run(*words, "--remedy", "2", "--force").code == 0
    assert Path("next.toml").read_text(encoding="utf-8") != "mine"


def test_bad_words_and_numbers_write_nothing(run: Any) -> None:
    for words, reason in (
        (("--found", "grean bell peper:3"), "green bell pepper"),
        (("--found", "bitter:-1"), "0 to 10"),
        (("--found", FOUND, "--remedy", "99"), "the remedies are 1 to"),
        (("--found", FOUND, "--lot", "botles"), "bottles"),
    ):
        done = run("diagnose", example_path(), *words, "--write", "next.toml")
        assert (done.code, done.out) == (2, "")
        assert reason in done.err
        assert not Path("next.toml").exists()


def test_a_remedy_without_a_file_is_refused(run: Any) -> None:
    done = run("diagnose", example_path(), "--found", FOUND, "--remedy", "1")
    assert done.code == 2
    assert "--write" in done.err


def test_a_word_read_as_another_and_a_missing_number_are_said(run: Any) -> None:
    done = run("diagnose", example_path(), "--found", "Wet Dog, bitter:2")
    text = " ".join(done.out.split())
    assert "'Wet Dog' was read as grainy." in text
    assert "No number stood with Wet Dog: 5 of 10 was assumed." in text
    plain = run("diagnose", example_path(), "--found", FOUND)
    assert "was read as" not in plain.out
    read = json.loads(run("diagnose", example_path(), "--found", "wet dog", "--json").out)
    assert read["read"] == ["'wet dog' was read as grainy.",
                            "No number stood with wet dog: 5 of 10 was assumed."]  # fmt: skip


def test_it_begins_with_the_short_of_it(run: Any) -> None:
    out = run("diagnose", example_path(), "--found", FOUND).out
    short, _, rest = out.partition("In short")[2].partition("\n\n")
    assert "Most likely: nail varnish" in short
    assert len(short.strip().splitlines()) <= 9
    marks, _, rest = rest.lstrip().partition("\n\n")
    assert "+ speaks for a cause" in marks
    assert rest.startswith("1. nail varnish")


def test_sources_are_words_and_rows_that_stay_are_folded(run: Any) -> None:
    out = run("diagnose", example_path(), "--found", "wet dog, bitter:2", "--all").out
    for code in ("(CP", "RUS164", "; own", "M_BP08", " ug/L"):
        assert code not in out
    assert "From common practice" in " ".join(out.split())
    assert "as before: " in out
    for line in out.splitlines():
        if line.strip().startswith("wanted") and "->" in line:
            before, _, after = line.split("mg/L")[0].partition("->")
            assert before.split()[-1] != after.strip()
