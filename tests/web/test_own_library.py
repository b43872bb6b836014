# SPDX-License-Identifier: MIT
"""The person's library file in the app: pantry, plans, predictions, settings."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from bench_plan import PLAN
from visitor import Visitor, check_page

from middlecut.app.expectation import expect
from middlecut.app.own_library import OwnLibrary
from middlecut.app.record import Record
from middlecut.plan.read import read_plan_text
from middlecut.web.application import create_app
from middlecut.web.services import Services

LIBRARY = """
[ingredient.sloe]
like = "raspberries"
synonyms = ["blackthorn berry"]
markers = { benzaldehyde = { low = "2 mg/kg", typical = "4 mg/kg", high = "8 mg/kg" }, "sloe oil" = "1 mg/kg" }
note = "from the hedge \\"above\\""

[ingredient."orange peel, dried"]
markers = { linalool = "99 mg/kg" }

[ingredient.unused]
like = "raspberries"

[compound."sloe oil"]
molar_mass = "150 g/mol"
log_p = 2.5
boiling_point = "200 °C"
"""  # noqa: E501 - as people write it
SLOES = PLAN.replace('"orange peel, dried", amount', '"blackthorn berry", amount')


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "ingredients.toml"
    path.write_text(LIBRARY, encoding="utf-8")
    return path


@pytest.fixture
def visitor(services: Services, file: Path) -> Visitor:
    return Visitor(create_app(replace(services, library=OwnLibrary(file))))


def opened(visitor: Visitor, record: Record, text: str) -> str:
    answer = visitor.post("/new", {"plan_text": text})
    assert answer.status_code == 303, answer.text
    batch = answer.headers["location"].removeprefix("/batch/").partition("?")[0]
    plan = record.batch(batch).plan
    assert plan is not None
    return plan.text


def test_what_a_plan_uses_is_kept_in_the_plan(visitor: Visitor, record: Record, file: Path) -> None:
    text = opened(visitor, record, SLOES)
    assert text.startswith(SLOES.rstrip("\n"))
    kept = tomllib.loads(text)
    told = tomllib.loads(LIBRARY)
    assert kept["ingredient"] == {"sloe": told["ingredient"]["sloe"]}
    assert kept["compound"] == told["compound"]
    file.unlink()  # whatever becomes of the library
    assert expect(text).lots["flavour"].compounds["benzaldehyde"] > 0.0


def test_the_library_wins_over_the_table_as_on_the_command_line(
    visitor: Visitor, record: Record
) -> None:
    plan = read_plan_text(opened(visitor, record, PLAN))
    markers = {one.compound: one.typical for one in plan.ingredients["orange peel, dried"].markers}
    assert markers["linalool"] == pytest.approx(99e-6)


def test_a_plan_that_describes_it_itself_stays_as_it_is(visitor: Visitor, record: Record) -> None:
    own = f'{PLAN}\n[ingredient."orange peel, dried"]\nmarkers = {{ linalool = "1 mg/kg" }}\n'
    assert opened(visitor, record, own) == own


def test_the_editor_checks_and_keeps_with_it(visitor: Visitor, record: Record) -> None:
    answer = visitor.post("/plan/check", {"plan_text": SLOES})
    assert "blackthorn" not in answer.text
    assert "full bottles" in answer.text
    batch = visitor.post("/new", {"plan_text": PLAN}).headers["location"].partition("?")[0]
    assert visitor.post(f"{batch}/plan", {"plan_text": SLOES}).status_code == 303
    plan = record.batch(batch.removeprefix("/batch/")).plan
    assert plan is not None
    assert "[ingredient.sloe]" in plan.text


def test_pantry_and_routes_know_it(visitor: Visitor, record: Record) -> None:
    page = visitor.get("/pantry?q=sloe")
    check_page(page)
    assert "/pantry/ingredient/sloe" in page.text
    assert visitor.get("/pantry/ingredient/blackthorn%20berry").status_code == 200
    batch = visitor.post("/new", {"plan_text": PLAN}).headers["location"].partition("?")[0]
    query = f"ingredient=sloe&amount=20 g&batch={batch.removeprefix('/batch/')}"
    answer = visitor.get(f"/pantry/routes?{query}")
    assert answer.status_code == 200
    assert "benzaldehyde" in answer.text


def test_settings_say_where_it_is(visitor: Visitor, file: Path) -> None:
    page = visitor.get("/settings")
    check_page(page)
    assert str(file) in page.text
    assert "3 ingredients and 1 compound)" in page.text
    file.unlink()
    assert "not there yet" in visitor.get("/settings").text


def test_a_broken_library_is_said_everywhere_and_harms_nothing(
    visitor: Visitor, record: Record, file: Path
) -> None:
    before = visitor.post("/new", {"plan_text": SLOES}).headers["location"].partition("?")[0]
    file.write_text('[ingredient.sloe]\nmarkers = { linalool = "much" }\n', encoding="utf-8")
    for path in ("/settings", "/pantry"):
        page = visitor.get(path)
        check_page(page)
        assert "Your own ingredients cannot be read" in page.text
        assert "ingredient.sloe" in page.text
    count = record.store.last_sequence()
    answer = visitor.post("/new", {"plan_text": PLAN})
    assert answer.status_code == 422
    check_page(answer)
    assert "Mend that file, or move it away" in answer.text
    assert "Mend that file" in visitor.post("/plan/check", {"plan_text": PLAN}).text
    assert visitor.post(f"{before}/plan", {"plan_text": PLAN}).status_code == 422
    assert record.store.last_sequence() == count
    assert visitor.get(before).status_code == 200


def test_a_text_that_is_no_plan_is_told_as_ever(visitor: Visitor) -> None:
    answer = visitor.post("/new", {"plan_text": "[batch\n"})
    assert answer.status_code == 422
    assert "your library" not in answer.text
