# SPDX-License-Identifier: MIT
"""Tasting: words that are tapped or typed, blind glasses, several tasters."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from visitor import StandingClock, Visitor, check_page

from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.app.spirit_events import TastingMade
from middlecut.app.views.tastings import blind_codes, glasses, panels, poured, suggested_words
from middlecut.insight.vocabulary import find_descriptor


@pytest.fixture
def batch(record: Record) -> str:
    return seed_demo(record)


def last(record: Record, batch: str) -> TastingMade:
    return record.batch(batch).of(TastingMade)[-1][1]


def test_shows_what_two_people_found(visitor: Visitor, batch: str) -> None:
    answer = visitor.get(f"/batch/{batch}/tasting")
    assert answer.status_code == 200
    check_page(answer)
    assert "Blind glass, code Q4" in answer.text
    # What others found comes after the form, and the name of a blind glass has to be asked for.
    assert answer.text.index("Keep this tasting") < answer.text.index("Blind glass, code Q4")
    assert "<summary>Which glass it was</summary><p>low wines 2</p>" in answer.text
    assert "2 of 2" in answer.text
    # nose: grainy 5 and 6, so the middle value is 5.5
    assert re.search(r"grainy</td><td class=\"number\">5\.5<", answer.text)


def test_keeps_tapped_and_typed_words(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {
        "subject": "hearts",
        "taster": "M. K.",
        "word-nose-solvent": "on",
        "strength-nose-solvent": "7",
        "strength-nose-fusel": "9",  # not tapped: its strength alone says nothing
        "more-nose": "capsicum:2, honey",
        "word-empty-glass-vanilla": "on",
        "text-finish": "long",
        "text": "sharp",
        "score": "72,5",
        "entry_key": "k-1",
    }
    for _ in range(2):
        answer = visitor.post(f"/batch/{batch}/tasting", sent)
        assert answer.status_code == 303
    body = last(record, batch)
    assert len(record.batch(batch).of(TastingMade)) == 5  # four of the demo, this one once
    assert body.subject == "hearts"
    assert body.score == 72.5
    found = {
        one.phase: dict(zip(one.descriptors, one.intensities, strict=True)) for one in body.phases
    }
    assert found["nose"] == {"solvent": 7.0, "green bell pepper": 2.0, "honey": 5.0}
    assert found["empty glass"] == {"vanilla": 5.0}
    assert body.phases[1].text == "long"
    assert "The tasting is in the record." in visitor.get(answer.headers["location"]).text


def test_a_blind_glass_is_found_by_its_code(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    codes = dict(poured(record.batch(batch), clock.now().astimezone().date()))
    sent = {"code": codes["low wines 1"].lower(), "word-nose-solvent": "on"}
    assert visitor.post(f"/batch/{batch}/tasting", sent).status_code == 303
    body = last(record, batch)
    assert (body.subject, body.code) == ("low wines 1", codes["low wines 1"])
    clock.moment += timedelta(days=1)
    assert visitor.post(f"/batch/{batch}/tasting", sent).status_code == 303
    clock.moment += timedelta(days=1)
    late = visitor.post(f"/batch/{batch}/tasting", sent)
    assert late.status_code == 422
    assert "no glass has that code today" in late.text


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"subject": "hearts"}, "text"),
        ({"text": "good"}, "subject"),
        ({"subject": "gold", "text": "good"}, "subject"),
        ({"code": "Z00", "text": "good"}, "code"),
        ({"subject": "hearts", "more-nose": "grumpy:3"}, "more-nose"),
        ({"subject": "hearts", "more-nose": "bitter:11"}, "more-nose"),
        (
            {"subject": "hearts", "word-nose-solvent": "on", "strength-nose-solvent": "x"},
            "more-nose",
        ),
        ({"subject": "hearts", "text": "good", "score": "101"}, "score"),
        ({"subject": "hearts", "text": "good", "score": "nan"}, "score"),
        ({"subject": "hearts", "text": "good", "taster": "x" * 101}, "taster"),
    ],
)
def test_refuses_and_keeps_nothing(
    visitor: Visitor, record: Record, batch: str, sent: dict[str, str], field: str
) -> None:
    before = record.store.last_sequence()
    answer = visitor.post(f"/batch/{batch}/tasting", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert f'id="e-{field}"' in answer.text
    assert record.store.last_sequence() == before
    for name, value in sent.items():
        if name.startswith("word-"):
            assert re.search(rf'name="{name}" checked', answer.text)
        elif name in {"text", "more-nose", "taster"}:
            assert value in answer.text


def test_script_in_a_tasting_is_escaped(visitor: Visitor, batch: str) -> None:
    sent = {"subject": "hearts", "text": "<script>x</script>", "taster": "<b>me</b>"}
    assert visitor.post(f"/batch/{batch}/tasting", sent).status_code == 303
    text = visitor.get(f"/batch/{batch}/tasting").text
    assert "<script>x" not in text
    assert "<b>me" not in text


def test_an_unknown_batch_is_none(visitor: Visitor) -> None:
    assert visitor.get("/batch/none/tasting").status_code == 404
    assert visitor.post("/batch/none/tasting", {"subject": "x"}).status_code == 404


def test_strangers_are_refused(phone: Visitor, batch: str) -> None:
    assert phone.get(f"/batch/{batch}/tasting").status_code == 403
    assert phone.post(f"/batch/{batch}/tasting", {}).status_code == 403


def test_codes_stay_when_glasses_are_added(clock: StandingClock) -> None:
    day = clock.now().date()
    few = blind_codes("b", ["a", "b"], day)
    many = blind_codes("b", [f"{n}" for n in range(0)] + ["a", "b", *map(str, range(300))], day)
    assert {name: many[name] for name in few} == few
    assert len(set(many.values())) == 302
    assert all(re.fullmatch(r"[A-Z]\d\d", code) for code in many.values())
    assert blind_codes("b", ["a"], day + timedelta(days=1)) != {"a": few["a"]}
    assert blind_codes("c", ["a"], day) != {"a": few["a"]}


def test_words_to_tap_are_of_the_vocabulary() -> None:
    words = suggested_words(None, "", ["honey", "bitter"])
    assert words["nose"][0] == "honey"
    assert "bitter" not in words["nose"]
    for some in words.values():
        assert [find_descriptor(word).name for word in some] == list(some)
        assert len(set(some)) == len(some)


def test_glasses_are_lots_jars_and_what_is_to_come(record: Record, batch: str) -> None:
    found = {one.subject: one for one in glasses(record.batch(batch))}
    assert found["hearts"].made
    assert not found["bottles"].made
    jars = [name for name in found if name.startswith("jar ")]
    assert jars
    assert {found[name].lot for name in jars} == {"hearts"}


def test_panels_read_tastings_of_the_first_shape(record: Record, batch: str) -> None:
    from middlecut.app.spirit_events import Phase
    from middlecut.app.use_cases import note

    old = TastingMade(
        "hearts", (Phase("palate", ("honey", "gold dust"), 3), Phase("hue", ("red",)))
    )
    note(record, batch, old)
    view = panels(record.batch(batch))[0]
    assert [(row.phase, row.descriptor, row.median) for row in view.panel.rows] == [
        ("middle", "honey", 6.0)
    ]
    assert view.tastes[0].strange == ("gold dust", "hue: red")


def test_offers_nothing_that_must_not_be_tasted(
    visitor: Visitor, record: Record, batch: str, clock: StandingClock
) -> None:
    found = {one.subject: one.taken for one in glasses(record.batch(batch))}
    assert found["foreshots"] == "neither"
    assert found["spent low wines"] == "neither"
    assert found["heads"] == "smelled"
    page = visitor.get(f"/batch/{batch}/tasting")
    check_page(page)
    offered = re.findall(r"<option(?: selected)?>([^<]*)</option>", page.text)
    assert "hearts" in offered
    assert "heads" in offered
    assert "Only to smell, never to taste" in page.text
    assert {"foreshots", "spent low wines", "bottles"}.isdisjoint(offered)
    codes = dict(poured(record.batch(batch), clock.now().astimezone().date()))
    assert {"foreshots", "spent low wines", "heads"}.isdisjoint(codes)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"subject": "foreshots", "more-nose": "solvent"}, "foreshots is nothing to taste"),
        ({"subject": "bottles", "more-nose": "honey"}, "the record has no bottles yet: step"),
        ({"subject": "heads", "more-middle": "solvent"}, "heads is only smelled, never tasted"),
        ({"subject": "heads", "word-entry-bitter": "on"}, "heads is only smelled, never tasted"),
    ],
)
def test_refuses_a_tasting_of_what_is_none(
    visitor: Visitor, record: Record, batch: str, sent: dict[str, str], says: str
) -> None:
    before = len(record.batch(batch).of(TastingMade))
    answer = visitor.post(f"/batch/{batch}/tasting", sent)
    assert answer.status_code == 422
    check_page(answer)
    assert says in answer.text
    assert len(record.batch(batch).of(TastingMade)) == before


def test_heads_can_be_smelled(visitor: Visitor, record: Record, batch: str) -> None:
    sent = {"subject": "heads", "more-nose": "solvent:7", "text": "sharp"}
    assert visitor.post(f"/batch/{batch}/tasting", sent).status_code == 303
    assert last(record, batch).subject == "heads"
