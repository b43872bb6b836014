# SPDX-License-Identifier: MIT
"""Jars: smelled, mixed on the page, suggested for an aim, chosen, and the feints beside them."""

from __future__ import annotations

import re

import pytest
from bench_plan import begin
from visitor import Visitor, check_page

from middlecut.app.record import Record
from middlecut.app.spirit_events import HeartsChosen, JarNoted


@pytest.fixture
def batch(record: Record) -> str:
    return begin(record)


def test_shows_jars_mixture_and_feints(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/run/jars")
    assert answer.status_code == 200
    check_page(answer)
    assert "Jars 1, 2, 3:" in answer.text
    # 50 mL each at 73.5, 71.5 and 70.0 % vol come to 71.7 %.
    assert "71.7" in answer.text
    assert "What stands out by smell" in answer.text
    # A family says by which word a compound belongs to it.
    families = answer.text.partition(">By family<")[2].partition("</table>")[0]
    assert re.search(r"ethyl acetate \([a-z ]+\)", families)
    assert "Feints of this run" in answer.text


def test_a_run_without_jars_says_so(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/strip/jars")
    check_page(answer)
    assert "No jar is filled yet" in answer.text
    assert visitor.get(f"/batch/{batch}/step/wash/jars").status_code == 404


def test_picks_jars_by_the_address(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/run/jars?jar=1&jar=2")
    check_page(answer)
    assert "Jars 1, 2:" in answer.text
    assert "72.5" in answer.text  # the middle of 73.5 and 71.5
    odd = visitor.get(f"/batch/{batch}/step/run/jars?jar=<script>")
    assert odd.status_code == 200
    assert "<script>" not in odd.text.split("<main", 1)[1].split("application/json")[0]


def test_notes_a_jar(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"jar": "1", "word": ["solvent", "pear"], "more": "old boot, pear", "text": "sharp",
            "keep": "no"}  # fmt: skip
    answer = visitor.post(f"/batch/{batch}/step/run/jars/note", sent)
    assert answer.status_code == 303
    body = record.batch(batch).of(JarNoted)[-1][1]
    assert body.descriptors == ("solvent", "pear", "old boot")
    page = visitor.get(f"/batch/{batch}/step/run/jars").text
    assert "old boot" in page
    assert "Jars 2, 3:" in page  # a no stays out


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"jar": "9", "keep": ""}, "There is no jar"),
        ({"jar": "", "keep": ""}, "Jar is missing"),
        ({"jar": "1", "keep": "maybe"}, "yes, perhaps or no"),
        ({"jar": "1", "more": "x" * 300, "keep": ""}, "characters"),
    ],
)
def test_refuses_a_note(visitor: Visitor, batch: str, sent: dict[str, str], said: str) -> None:
    answer = visitor.post(f"/batch/{batch}/step/run/jars/note", {**sent, "text": "keep me"})
    assert answer.status_code == 422
    assert said in answer.text
    check_page(answer)


def test_two_noses_at_one_jar_lose_nothing(visitor: Visitor, record: Record, batch: str) -> None:
    seen = str(record.batch(batch).version)
    path = f"/batch/{batch}/step/run/jars/note"
    visitor.post(path, {"jar": "2", "more": "honey", "seen": seen, "entry_key": "1"})
    answer = visitor.post(path, {"jar": "2", "more": "wet wool", "seen": seen, "entry_key": "2"})
    assert answer.status_code == 409
    assert "honey" in answer.text
    assert 'value="wet wool"' in answer.text
    check_page(answer)
    other = visitor.post(path, {"jar": "3", "more": "rye", "seen": seen, "entry_key": "3"})
    assert other.status_code == 303  # another jar is another thing


def test_chooses_hearts_and_leaves_the_rest_to_the_feints(
    visitor: Visitor, record: Record, batch: str
) -> None:
    sent = {"jar": ["2", "3"], "lot": "hearts", "reason": "clean", "entry_key": "h"}
    answer = visitor.post(f"/batch/{batch}/step/run/jars/choose", sent)
    assert answer.status_code == 303
    assert record.batch(batch).of(HeartsChosen)[-1][1].jars == ("2", "3")
    page = visitor.get(f"/batch/{batch}/step/run/jars").text
    assert "Chosen so far: jars 2, 3 make hearts" in page
    assert "jars left out: 1" in page
    # What is diluted later is what was chosen: 100 mL, less what the steep takes.
    assert "volume and strength measured" in visitor.get(f"/batch/{batch}/step/marry").text


def test_refuses_a_choice_without_jars_and_a_stale_one(
    visitor: Visitor, record: Record, batch: str
) -> None:
    path = f"/batch/{batch}/step/run/jars/choose"
    empty = visitor.post(path, {"lot": "hearts <b>"})
    assert empty.status_code == 422
    assert "at least one jar" in empty.text
    assert 'value="hearts &lt;b&gt;"' in empty.text
    assert visitor.post(path, {"jar": "9", "lot": "hearts"}).status_code == 422
    seen = str(record.batch(batch).version)
    visitor.post(path, {"jar": "1", "lot": "hearts", "seen": seen, "entry_key": "1"})
    late = visitor.post(path, {"jar": "2", "lot": "hearts", "seen": seen, "entry_key": "2"})
    assert late.status_code == 409
    assert "jars 1 go into hearts" in late.text
    check_page(late)


def test_suggests_for_an_aim(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/run/jars?ask=suggest&low=72&high=80")
    check_page(answer)
    assert "The largest mixture that meets it" in answer.text
    assert "Jars 1, 2:" in answer.text  # with the third it would be 71.7
    none = visitor.get(f"/batch/{batch}/step/run/jars?ask=suggest&low=90&high=95")
    assert "No set of jars meets it" in none.text


@pytest.mark.parametrize(
    "query",
    ["low=abc", "low=80&high=70", "limit_of=unobtainium&limit=3", "limit_of=ethanol&limit=-1"],
)
def test_refuses_an_aim(visitor: Visitor, batch: str, query: str) -> None:
    answer = visitor.get(f"/batch/{batch}/step/run/jars?ask=suggest&{query}")
    assert answer.status_code == 422
    assert "Not understood" in answer.text
    check_page(answer)


@pytest.mark.parametrize(
    ("query", "field", "said"),
    [
        ("low=999", "low", "the range is 0 to 100 %vol"),
        ("high=200", "high", "the range is 0 to 100 %vol"),
        ("low=70&high=60", "low", "the lower end comes first"),
        ("limit_of=acetic+acid&limit=-1", "limit", "it is 0 or more"),
    ],
)
def test_an_aim_that_cannot_be_is_said_at_its_field(
    visitor: Visitor, batch: str, *, query: str, field: str, said: str
) -> None:
    answer = visitor.get(f"/batch/{batch}/step/run/jars?ask=suggest&{query}")
    check_page(answer)
    page = answer.text
    assert f'aria-describedby="e-aim-{field}"' in page
    assert said in page
    assert "is not usable" not in page


def test_a_wish_about_smells_says_which_jars_nobody_smelled(visitor: Visitor, batch: str) -> None:
    path = f"/batch/{batch}/step/run/jars"
    asked = f"{path}?ask=suggest&low=60&without=solvent"
    page = visitor.get(asked)
    check_page(page)
    assert "No jar has been smelled yet" in page.text
    visitor.post(f"{path}/note", {"jar": "1", "word": "pear"})
    page = visitor.get(asked)
    assert "No jar has been smelled yet" not in page.text
    assert "Not smelled yet, and so not left out by their smell: 2, 3" in page.text
