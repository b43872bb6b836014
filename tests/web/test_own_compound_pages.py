# SPDX-License-Identifier: MIT
"""A batch whose plan describes a compound of its own, on every page of the batch."""

from __future__ import annotations

import re

import pytest
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.use_cases import open_batch

PLAN = """
[batch]
name = "Meadow"

[compound."meadow lactone"]
formula = "C8H14O2"
log_p = 2.1
boiling_point = "215 °C"
descriptor = "coconut"
threshold = { spirit = "60 µg/L" }

[ingredient."sweet grass"]
like = "chamomile"
markers = { "meadow lactone" = "60 mg/kg", mystery = "5 mg/kg" }

[still.pot]
boiler_volume = "5 L"
heater_power = "1 kW"
stages = 2
basket_volume = "1 L"

[lot.bought]
volume = "3 L"
strength = "30 %vol"
compounds = { "meadow lactone" = "2 mg/L" }

[[step]]
id = "run"
kind = "distil"
from = "bought"
still = "pot"
purpose = "flavour"
cuts = [{ into = "hearts", until = "60 %vol" }]
add = [{ ingredient = "sweet grass", amount = "10 g", entry = "basket" }]

[[step]]
id = "down"
kind = "dilute"
from = "hearts"
strength = "40 %vol"
into = "spirit"
"""


@pytest.fixture
def batch(record: Record) -> str:
    return open_batch(record, PLAN)


def test_every_page_of_the_batch_can_be_shown(visitor: Visitor, batch: str) -> None:
    seen = {f"/batch/{batch}"}
    todo = list(seen)
    while todo:
        page = visitor.get(todo.pop())
        assert page.status_code == 200, page.url
        found = {
            link.partition("#")[0]
            for link in re.findall(rf'href="(/batch/{batch}/[^"]+)"', page.text)
        }
        new = {link for link in found if "download" not in link} - seen
        seen |= new
        todo += sorted(new)
    assert len(seen) > 5


def test_its_level_is_expected_like_any_other(visitor: Visitor, batch: str) -> None:
    sheet = visitor.get(f"/batch/{batch}/sheet")
    check_page(sheet)
    assert "meadow lactone" in sheet.text
    routes = visitor.get(f"/pantry/routes?ingredient=sweet%20grass&batch={batch}")
    check_page(routes)
    assert "meadow lactone" in routes.text
