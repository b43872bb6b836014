# SPDX-License-Identifier: MIT
"""The pantry: search, a page each, routes through a plan."""

from __future__ import annotations

import csv
import io
from urllib.parse import quote

import pytest
from visitor import Visitor, check_page

from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.app.use_cases import open_batch
from middlecut.app.views.pantry import compound_view, own_ingredients, shelf
from middlecut.liquid import compounds, ingredients
from middlecut.plan.examples import example_path

OWN = """
[ingredient."quarry mint"]
like = "peppermint leaf, dried"
markers = { menthol = "4 g/kg" }
"""


@pytest.fixture
def batch(record: Record) -> str:
    return seed_demo(record)


def test_shows_everything(visitor: Visitor) -> None:
    answer = visitor.get("/pantry")
    assert answer.status_code == 200
    check_page(answer)
    assert f"Ingredients ({len(ingredients.names())})" in answer.text
    assert f"Compounds ({len(compounds.names())})" in answer.text


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("q=coumarin", "cassia"),
        ("q=78-70-6", "linalool"),  # its CAS number
        ("q=banana&kind=compounds", "isoamyl acetate"),
    ],
)
def test_finds_by_name_number_and_smell(visitor: Visitor, query: str, found: str) -> None:
    answer = visitor.get(f"/pantry?{query}")
    check_page(answer)
    assert f">{found}</a>" in answer.text
    part = visitor.get(f"/pantry?{query}", headers={"hx-request": "true"})
    assert "<h1" not in part.text
    assert f">{found}</a>" in part.text


def test_finds_nothing_and_escapes_it(visitor: Visitor) -> None:
    answer = visitor.get("/pantry", params={"q": '"><script>x</script>'})
    assert answer.status_code == 200
    check_page(answer)
    assert "<script>x" not in answer.text
    assert "No ingredient has to do with that." in answer.text
    assert visitor.get("/pantry", params={"q": "x" * 201}).status_code == 422


def test_every_ingredient_has_its_page(visitor: Visitor) -> None:
    for name in ingredients.names():
        answer = visitor.get(f"/pantry/ingredient/{quote(name)}")
        assert answer.status_code == 200, name
        check_page(answer)
        item = ingredients.find(name)
        assert item.markers[0].basis in answer.text
    # Belitz et al., table 22.2, is where the caraway oil comes from.
    assert "Belitz" in visitor.get("/pantry/ingredient/caraway").text


def test_every_compound_has_its_page(visitor: Visitor) -> None:
    for name in compounds.names():
        answer = visitor.get(f"/pantry/compound/{quote(name, safe='')}")
        assert answer.status_code == 200, name
        if name in {"linalool", "caffeine", "methanol", "ethyl acetate"}:
            check_page(answer)


def test_a_compound_says_when_it_runs_and_how_well_that_is_known(visitor: Visitor) -> None:
    view = compound_view("methanol")
    assert view.grade is not None
    assert view.grade.grade == "A"
    assert "three or more measurements" in visitor.get("/pantry/compound/methanol").text
    # Known from any still: ethyl acetate leads; isoamyl alcohol only while the liquid is weak.
    assert {lead.word for lead in compound_view("ethyl acetate").leads} == {"ahead of ethanol"}
    words = [lead.word for lead in compound_view("3-methyl-1-butanol").leads]
    assert (words[0], words[-1]) == ("ahead of ethanol", "behind ethanol")
    text = visitor.get("/pantry/compound/caffeine").text
    assert "It never distils" in text
    assert compound_view("caffeine").leads == ()


@pytest.mark.parametrize(
    ("name", "grade", "words"),
    [
        ("acetic acid", "C+", "two independent sources, hot or at 25 °C"),
        ("2-methylpropanoic acid", "C", "one published constant, or recalled ones"),
        ("octanoic acid", "C-", "a solubility, recalled"),
        ("methanol", "A", "three or more measurements"),
    ],
)
def test_the_words_of_a_grade_fit_acids_too(
    visitor: Visitor, *, name: str, grade: str, words: str
) -> None:
    text = visitor.get(f"/pantry/compound/{name}").text
    assert f"Grade {grade}: {words}" in text
    # Only of acids is the pressure that of single molecules (volatility.toml, errata).
    assert ("pressure of its single molecules" in text) == name.endswith("acid")


def test_unknown_names_are_told_with_near_ones(visitor: Visitor) -> None:
    answer = visitor.get("/pantry/ingredient/carawey")
    assert answer.status_code == 404
    check_page(answer)
    assert "caraway" in answer.text
    assert visitor.get("/pantry/compound/linalol").status_code == 404


def test_a_plans_own_ingredients_are_there(visitor: Visitor, record: Record) -> None:
    text = example_path("neutral").read_text(encoding="utf-8") + OWN
    open_batch(record, text)
    own = own_ingredients(record)
    assert [one.name for one in own] == ["quarry mint"]
    assert shelf("quarry", own).ingredients == own
    answer = visitor.get("/pantry/ingredient/quarry%20mint")
    assert answer.status_code == 200
    check_page(answer)
    assert "your own" in answer.text
    assert "quarry mint" in visitor.get("/pantry/compound/menthol").text


OWN_COMPOUND = """
[compound."quarry lactone"]
formula = "C8H14O2"
log_p = 2.1
boiling_point = "215 °C"
descriptor = "coconut"
threshold = { spirit = "60 µg/L" }

[compound."quarry bitter"]
molar_mass = "320 g/mol"
stays_in_boiler = true

[ingredient."quarry moss"]
like = "peppermint leaf, dried"
markers = { "quarry lactone" = "40 mg/kg", "quarry riddle" = "1 mg/kg" }
"""


def test_a_plans_own_compounds_are_there(visitor: Visitor, record: Record) -> None:
    open_batch(record, example_path("neutral").read_text(encoding="utf-8") + OWN_COMPOUND)
    shelf_page = visitor.get("/pantry?q=coconut&kind=compounds")
    check_page(shelf_page)
    assert "quarry lactone</a> <span" in shelf_page.text
    page = visitor.get("/pantry/compound/Quarry%20Lactone")
    assert page.status_code == 200
    check_page(page)
    assert "Grade D" in page.text  # a boiling point alone
    assert "within a factor of 3.8" in page.text
    assert "Your own" in page.text
    assert "Whether it is safe to drink is not known here" in page.text
    assert "quarry moss" in page.text
    moss = visitor.get("/pantry/ingredient/quarry%20moss").text
    assert 'href="/pantry/compound/quarry%20lactone"' in moss
    assert 'href="/pantry/compound/quarry%20riddle"' not in moss
    assert (
        "It never distils: said by the user" in visitor.get("/pantry/compound/quarry%20bitter").text
    )
    assert visitor.get("/pantry/compound/quarry%20riddle").status_code == 404


def test_shows_what_arrives(visitor: Visitor, batch: str) -> None:
    query = f"ingredient=orange%20peel%2C%20dried&batch={batch}&amount=40%20g"
    answer = visitor.get(f"/pantry/routes?{query}")
    assert answer.status_code == 200
    check_page(answer)
    assert "40.0 g of orange peel, dried" in answer.text
    assert "basket" in answer.text
    part = visitor.get(f"/pantry/routes?{query}", headers={"hx-request": "true"})
    assert "<h1" not in part.text
    picture = visitor.get(f"/pantry/routes.svg?{query}")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "limonene" in picture.text
    rows = list(csv.DictReader(io.StringIO(visitor.get(f"/pantry/routes.csv?{query}").text)))
    assert {row["entry_point"] for row in rows} >= {"basket", "charge", "steep"}
    page = visitor.get("/pantry/ingredient/orange%20peel%2C%20dried")
    check_page(page)
    assert batch in page.text


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("ingredient=caraway&batch=none", "batch"),
        ("ingredient=caraway&batch=", "batch"),
        ("ingredient=caraway&batch={batch}&amount=40", "amount"),
        ("ingredient=caraway&batch={batch}&amount=-1%20g", "amount"),
        ("ingredient=caraway&batch={batch}&amount=900%20kg", "amount"),
    ],
)
def test_refuses_routes_that_cannot_be(
    visitor: Visitor, batch: str, query: str, field: str
) -> None:
    answer = visitor.get(f"/pantry/routes?{query.format(batch=batch)}")
    assert answer.status_code == 422
    check_page(answer)
    assert f'id="e-{field}"' in answer.text
    assert "That cannot be shown" in answer.text
    for ending in ("svg", "csv"):
        refused = visitor.get(f"/pantry/routes.{ending}?{query.format(batch=batch)}")
        assert refused.status_code in {404, 422}


def test_an_unknown_ingredient_has_no_routes(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/pantry/routes?ingredient=gold&batch={batch}")
    assert answer.status_code == 422
    check_page(answer)
    assert "gold" in answer.text


def test_strangers_are_refused(phone: Visitor) -> None:
    for path in (
        "/pantry",
        "/pantry/ingredient/caraway",
        "/pantry/compound/linalool",
        "/pantry/routes?ingredient=caraway",
        "/pantry/routes.svg?ingredient=caraway&batch=x",
        "/pantry/routes.csv?ingredient=caraway&batch=x",
    ):
        assert phone.get(path).status_code == 403
