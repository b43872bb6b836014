# SPDX-License-Identifier: MIT
"""``middlecut nose``: what a lot smells of."""

from __future__ import annotations

import json
from typing import Any

import pytest

from middlecut.plan.examples import example_path


def test_the_bottle_is_smelled_by_default(run: Any) -> None:
    done = run("nose", example_path())
    assert done.code == 0
    assert done.err == ""
    assert done.out.startswith("What bottles is likely to smell of (46.0 %vol)")
    for word in ("Likely noticed", "ripe fruit", "memory", "Clouding:", "recalled"):
        assert word in done.out
    assert max(map(len, done.out.splitlines())) <= 100


def test_any_lot_and_every_row_can_be_had(run: Any) -> None:
    short = run("nose", example_path(), "--lot", "tails")
    long = run("nose", example_path(), "--lot", "tails", "--all")
    assert "more with --all" in short.out
    assert "more with --all" not in long.out
    assert len(long.out.splitlines()) > len(short.out.splitlines())


def test_json_is_the_profile(run: Any) -> None:
    read = json.loads(run("nose", example_path(), "--json").out)
    values = [row["oav"] for row in read["odour"]["rows"]]
    assert values == sorted(values, reverse=True)
    assert read["odour"]["rows"][0]["threshold_basis"] in {"memory", "estimate", "read"}
    assert read["clouding"]["factor"] == 3.0


@pytest.mark.parametrize(("lot", "word"), [("harts", "hearts"), ("zzz", "no lot called")])
def test_an_unknown_lot_offers_the_nearest(run: Any, lot: str, word: str) -> None:
    done = run("nose", example_path(), "--lot", lot)
    assert done.code == 2
    assert done.out == ""
    assert word in done.err
