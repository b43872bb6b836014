# SPDX-License-Identifier: MIT
"""``middlecut check`` on plans that can be carried out and ought not to be."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from middlecut.plan.examples import example_path

DANGEROUS = 5  # the exit code that README documents for it


def _demo(old: str, new: str) -> Path:
    """Write the demo plan with one change into the current folder."""
    text = example_path().read_text("utf-8")
    assert old in text
    Path("mine.toml").write_text(text.replace(old, new), encoding="utf-8")
    return Path("mine.toml")


def test_a_condenser_that_is_too_small_does_not_pass(run: Any) -> None:
    # 2.4 kW in the boiler and a condenser for 1 kW: by the balance of heat, vapour stays vapour.
    plan = _demo('condenser_duty = "3.2 kW"', 'condenser_duty = "1 kW"')
    done = run("check", plan)
    assert done.code == DANGEROUS
    assert done.err == ""
    assert "can be carried out, but it has 3 dangers to mend" in done.out
    assert "nothing stands in the way" not in done.out
    assert "can take 1.00 kW" in done.out
    assert f"middlecut check {plan}" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 88
    shown = " ".join(run("predict", plan).out.split())
    assert "3 dangers to mend before you start" in shown  # the sheet counts the same


def test_an_element_that_comes_bare_does_not_pass(run: Any) -> None:
    plan = _demo('element_covered_above = "3.5 L"', 'element_covered_above = "15 L"')
    done = run("check", plan, "--json")
    assert done.code == DANGEROUS
    read = json.loads(done.out)
    assert read["problems"] == []
    found = [one for one in read["cautions"] if one["severity"] == "danger"]
    assert len(found) == read["dangers"] > 0
    assert {one["code"] for one in found} == {"element-uncovered"}
    assert all(one["step"] and one["value"] < one["limit"] for one in found)


def test_watches_are_shown_and_pass(run: Any) -> None:
    plan = _demo('element_covered_above = "3.5 L"\n', "")
    done = run("check", plan)
    assert done.code == 0
    assert "nothing stands in the way of this plan. To watch:" in done.out
    assert " ".join(done.out.split()).count("does not say how much liquid covers") >= 1
    assert json.loads(run("check", plan, "--json").out)["dangers"] == 0


def test_what_two_runs_share_is_said_once(run: Any) -> None:
    plan = _demo('condenser_duty = "3.2 kW"\ncoolant_rise = "30 K"\n', 'coolant_rise = "30 K"\n')
    said = " ".join(run("check", plan).out.split())
    assert "strip-1, strip-2:" in said
