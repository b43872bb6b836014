# SPDX-License-Identifier: MIT
"""From a tasting to causes, remedies and a new plan."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from visitor import Visitor, check_page

from middlecut.app.batch_events import BatchOpened, NoteWritten
from middlecut.app.demo import seed_demo
from middlecut.app.expectation import read_plan
from middlecut.app.record import Record
from middlecut.app.use_cases import adopt_plan
from middlecut.app.views.causes import causes_of, lot_of_subject, mended_plan, plan_mark
from middlecut.errors import InputError, PlanError
from middlecut.insight.diagnosis import Edit

QUERY = "subject=jar%201%20of%20spirit&code=H7"


@pytest.fixture
def batch(record: Record) -> str:
    return seed_demo(record)


@pytest.fixture
def address(batch: str) -> str:
    return f"/batch/{batch}/tasting/causes"


def sent_of(record: Record, batch: str, **more: str) -> dict[str, str]:
    plan = record.batch(batch).plan
    assert plan is not None
    return {
        "subject": "jar 1 of spirit",
        "code": "H7",
        "word": "pear drop",
        "mark": plan_mark(plan.text),
        "name": "Rye, mended",
        "remedy": "1",
        **more,
    }


def test_asks_first_what_should_be_otherwise(visitor: Visitor, address: str) -> None:
    answer = visitor.get(f"{address}?{QUERY}")
    assert answer.status_code == 200
    check_page(answer)
    assert re.search(r'value="pear drop" ?checked', answer.text)
    assert "Likely causes" not in answer.text  # comes when it is ready
    assert "data-hx-trigger" in answer.text


def test_shows_causes_with_remedies(visitor: Visitor, address: str, record: Record) -> None:
    answer = visitor.get(f"{address}?{QUERY}&word=pear%20drop")
    assert answer.status_code == 200
    check_page(answer)
    batch = address.split("/")[2]
    diagnosis = causes_of(record.batch(batch), {"pear drop": 5.0}, "jar 1 of spirit")
    assert diagnosis.lot == "hearts"
    assert diagnosis.causes[0].words in answer.text
    assert diagnosis.remedies[0].title in answer.text
    # The short of it comes first, and sources are words, not keys.
    assert answer.text.index("What helps best: remedy") < answer.text.index("Evidence and source")
    assert diagnosis.causes[0].source not in answer.text
    assert "from memory" in answer.text


def test_a_fragment_is_only_the_causes(visitor: Visitor, address: str) -> None:
    answer = visitor.get(f"{address}?{QUERY}&word=pear%20drop", headers={"hx-request": "true"})
    assert answer.status_code == 200
    assert "<h1" not in answer.text
    assert "Likely causes" in answer.text


def test_makes_a_new_plan(visitor: Visitor, address: str, record: Record) -> None:
    batch = address.split("/")[2]
    before = record.batch(batch)
    assert before.plan is not None
    sent = sent_of(record, batch, entry_key="once")
    answer = visitor.post(address, sent)
    assert answer.status_code == 303
    assert visitor.post(address, sent).headers["location"] == answer.headers["location"]
    new = answer.headers["location"].split("/")[2]
    state = record.batch(new)
    assert state.name == "Rye, mended"
    assert state.of(BatchOpened)[0][1].made_from == batch
    first = causes_of(before, {"pear drop": 5.0}, "jar 1 of spirit").remedies[0]
    assert first.title in state.of(NoteWritten)[0][1].text
    assert state.plan is not None
    assert state.plan.text != before.plan.text
    for edit in first.edits:
        assert edit.value in state.plan.text
    assert record.batch(batch).plan == before.plan
    assert visitor.get(answer.headers["location"]).status_code == 200
    entries = visitor.get(f"/batch/{new}/record")
    check_page(entries)
    assert f"/compare?batch={batch}&amp;batch={new}" in entries.text


@pytest.mark.parametrize(
    ("more", "status", "field"),
    [
        ({"remedy": ""}, 422, "remedy"),
        ({"remedy": "999"}, 422, "remedy"),
        ({"name": " "}, 422, "name"),
        ({"word": "gold"}, 422, "remedy"),
        ({"mark": "stale"}, 409, "remedy"),
    ],
)
def test_refuses_and_opens_nothing(
    visitor: Visitor,
    *,
    address: str,
    record: Record,
    more: dict[str, str],
    status: int,
    field: str,
) -> None:
    batch = address.split("/")[2]
    before = record.store.last_sequence()
    answer = visitor.post(address, sent_of(record, batch, **more))
    assert answer.status_code == status
    check_page(answer)
    assert "No new plan was made" in answer.text
    assert record.store.last_sequence() == before


def test_a_changed_plan_is_seen(visitor: Visitor, address: str, record: Record) -> None:
    batch = address.split("/")[2]
    sent = sent_of(record, batch)
    plan = record.batch(batch).plan
    assert plan is not None
    adopt_plan(record, batch, plan.text.replace('"60 g"', '"70 g"'))
    assert visitor.post(address, sent).status_code == 409


def test_a_glass_nobody_tasted_has_no_causes(visitor: Visitor, address: str) -> None:
    assert visitor.get(f"{address}?subject=hearts").status_code == 404
    assert visitor.get(f"{address}?{QUERY}&word=gold").status_code == 422
    assert visitor.get("/batch/none/tasting/causes").status_code == 404
    assert visitor.post("/batch/none/tasting/causes", {}).status_code == 404


def test_strangers_are_refused(phone: Visitor, address: str) -> None:
    assert phone.get(address).status_code == 403
    assert phone.post(address, {}).status_code == 403


def test_two_changes_of_one_thing_are_refused(record: Record, batch: str) -> None:
    state = record.batch(batch)
    assert state.plan is not None
    remedies = causes_of(state, {"fusel": 4.5, "bitter": 2.5}, "hearts").remedies
    other = replace(
        remedies[0], edits=tuple(replace(one, value=f"{one.value} ") for one in remedies[0].edits)
    )
    with pytest.raises(InputError, match="differently"):
        mended_plan(state.plan.text, [remedies[0], other], "x")
    with pytest.raises(InputError, match="at least one"):
        mended_plan(state.plan.text, [], "x")
    text = mended_plan(state.plan.text, remedies[:1], 'A "quoted" name')
    assert read_plan(text).batch.name == 'A "quoted" name'
    assert lot_of_subject(state, "hearts") == "hearts"
    assert lot_of_subject(state, "gold") is None
    with pytest.raises(PlanError):
        mended_plan(state.plan.text.replace('"18 L"', '"0 L"'), remedies[:1], "x")


def test_an_ingredient_is_moved_by_the_new_plan(record: Record, batch: str) -> None:
    state = record.batch(batch)
    assert state.plan is not None
    remedies = causes_of(state, {"kerosene": 5.0, "solvent": 3.0}, "bottles").remedies
    moved = {one.title: one for one in remedies if any(e.action != "set" for e in one.edits)}
    assert moved, [one.title for one in remedies]
    for one in moved.values():
        steps = read_plan(mended_plan(state.plan.text, [one], "x")).steps
        assert len(steps) >= len(read_plan(state.plan.text).steps)
    some = next(iter(moved.values()))
    away = next(edit for edit in some.edits if edit.action == "remove")
    changes = replace(some, edits=(Edit(f"{away.key}.amount", "1 g", "60 g"),))
    with pytest.raises(InputError, match="away and another changes it"):
        mended_plan(state.plan.text, [some, changes], "x")
    elsewhere = replace(some, edits=(away,))
    with pytest.raises(InputError, match="part ways"):
        mended_plan(state.plan.text, [some, elsewhere], "x")


def test_with_nothing_ticked_the_page_stays_and_says_it_beside_the_button(
    visitor: Visitor, address: str, record: Record
) -> None:
    sent = sent_of(record, address.split("/")[2], name="My own name")
    del sent["remedy"]  # as a browser sends it
    answer = visitor.post(address, sent)
    assert answer.status_code == 422
    check_page(answer)
    page = answer.text
    assert "Likely causes" in page
    assert 'value="My own name"' in page
    assert f'action="{address}#make"' in page  # where the browser is then
    section = page[page.index('id="make"') :]
    said = section.index("no remedy is ticked. Tick at least one")
    button = section.index("Make a new plan from this")
    assert 0 < button - said < 300
    assert 'href="#f-remedy"' in page
    assert 'id="f-remedy"' in section


def test_a_danger_stands_in_a_box_above_everything_else(
    visitor: Visitor, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    import middlecut as mc
    from middlecut.web.pages import causes

    plan = mc.load_plan(mc.example_path())
    first = mc.diagnose(plan, "nail varnish:5")
    grave = replace(first.causes[0], danger="Do not drink it: a test.")
    found = replace(first, causes=(grave, *first.causes[1:]))
    monkeypatch.setattr(causes, "_diagnosis", lambda *_: found)
    answer = visitor.get(f"{address}?{QUERY}&word=pear%20drop")
    check_page(answer)
    assert answer.text.count("Do not drink it: a test.") == 2  # above, and at its cause
    assert "DANGER Do not" not in answer.text
    assert answer.text.index("Do not drink it: a test.") < answer.text.index("Most likely:")
