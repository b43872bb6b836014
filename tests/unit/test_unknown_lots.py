# SPDX-License-Identifier: MIT
"""A lot of an earlier batch without compounds is said to be unknown, once, where it is used."""

from __future__ import annotations

import middlecut as mc

TEXT = """\
[batch]
name = "Cut"
[lot."low feints"]
volume = "1 L"
strength = "30 %vol"
EXTRA
[lot.water]
volume = "1 L"
strength = "0 %vol"
[[step]]
id = "together"
kind = "blend"
from = ["low feints", "water"]
into = "both"
[[step]]
id = "reduce"
kind = "dilute"
from = "both"
into = "weak"
strength = "10 %vol"
"""


def codes(extra: str) -> dict[str, list[str]]:
    steps = mc.predict(mc.read_plan_text(TEXT.replace("EXTRA", extra))).steps
    return {
        name: [c.text for c in step.cautions if c.code == "lot-compounds-unknown"]
        for name, step in steps.items()
    }


def test_it_is_said_where_the_lot_is_taken() -> None:
    found = codes("")
    assert [len(texts) for texts in found.values()] == [1, 0]
    (text,) = found["together"]
    assert text.startswith("What low feints of an earlier batch holds")
    assert "methanol" in text


def test_a_lot_with_compounds_is_known() -> None:
    assert codes('compounds = { methanol = "50 mg/L" }') == {"together": [], "reduce": []}
