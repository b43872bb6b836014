# SPDX-License-Identifier: MIT
"""``middlecut wood-sample``: right numbers, and what does not scale."""

from __future__ import annotations

import json
from typing import Any

import pytest

JAR = ("wood-sample", "200 mL", "--wood", "2 g", "--form", "chips", "--time", "14 d")
BATCH = (*JAR, "--batch", "6 L")


def values(text: str) -> dict[str, float]:
    read: dict[str, Any] = json.loads(text)
    return {key: line["value"] for key, line in read["values"].items()}


def test_the_same_chips(run: Any) -> None:
    done = run(*BATCH, "--json")
    assert done.code == 0
    found = values(done.out)
    # Thirty times the spirit, thirty times the wood, the same time.
    assert found["mass"] == pytest.approx(60e-3)
    assert found["duration"] == pytest.approx(14 * 86400.0)
    # 19.49 cm²/g of chips 10 x 5 x 3 mm (computed elsewhere), 10 g/L.
    assert found["area_per_litre"] == pytest.approx(194.9e-4, rel=1e-3)
    notes = " ".join(json.loads(done.out)["notes"])
    assert "carry over" in notes
    assert "oxygen" in notes


def test_area_in_place_of_weight(run: Any) -> None:
    words = ("38,97 cm2" if word == "2 g" else word for word in BATCH)
    assert values(run(*words, "--json").out)["mass"] == pytest.approx(60e-3, rel=1e-3)


def test_onto_a_cask(run: Any) -> None:
    done = run(*BATCH, "--onto", "cask", "--cask", "20 L", "--batch-temperature", "12 °C")
    assert done.code == 0
    text = " ".join(done.out.split())
    for words in ("scaled to 6 L on cask", "at the earliest", "Evaporation", "not a promise"):
        assert words in text
    assert "by weight" not in text
    assert "on cask of 20 L" in text
    assert "fills only 30% of the cask" in text  # 6 L in 20 L


def test_a_cask_that_is_filled_earns_no_warning(run: Any) -> None:
    done = run(*BATCH, "--onto", "cask", "--cask", "6.2 L")
    assert done.code == 0
    assert "fills only" not in done.out


def test_too_little_wood(run: Any) -> None:
    done = run(*BATCH, "--onto", "shavings")
    assert done.code == 0
    assert "never give as much" in done.out
    assert "time on the wood" not in done.out


@pytest.mark.parametrize("wood", ["500 g", "2.4 m2"])
def test_more_wood_than_a_jar_holds_is_refused_in_the_words_of_the_jar(run: Any, wood: str) -> None:
    # 2 g of these chips have 39 cm2 (the first test: 195 cm2 for each litre), so 2000 cm2, all
    # that 200 mL may have at 1 m2 for each litre, weigh 102.6 g.
    words = ("wood-sample", "200 mL", "--wood", wood, "--form", "chips", "--time", "14 d")
    done = run(*words, "--batch", "6 L")
    assert done.code == 2
    assert f"--wood: '{wood}' is not usable" in done.err
    most = "103 g" if wood.endswith(" g") else "2000 cm2"
    assert f"{most} (1 m2 of wood for each litre in the jar)" in " ".join(done.err.split())
    assert "Check the wood of the jar and its unit." in done.err


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("--batch", "6"), "--batch"),
        (("--batch", "6 L", "--cask", "20 L"), "cask only"),
        (("--batch", "6 L", "--onto", "cask", "--cask", "5 L"), "does not go in"),
        (("--batch", "6 L", "--onto", "cask"), 'Add it, like --cask "20 L"'),
        (("--batch", "6 L", "--batch-temperature", "70 °C"), "forced"),
    ],
)
def test_refusals(run: Any, words: tuple[str, ...], part: str) -> None:
    done = run(*JAR, *words)
    assert done.code == 2
    assert done.out == ""
    assert part in done.err
