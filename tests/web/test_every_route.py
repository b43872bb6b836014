# SPDX-License-Identifier: MIT
"""What holds for every route there is: pages in order, strangers and foreign pages refused."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from visitor import Visitor, check_page

from middlecut.app.demo import seed_demo
from middlecut.app.record import Record
from middlecut.web import render
from middlecut.web.menu import batch_entries, menu_entries, page_modules

ENDLESS = "/events"


def routes_of(visitor: Visitor) -> Iterator[tuple[str, str]]:
    schema = visitor.get("/api/openapi.json").json()
    for path, kinds in schema["paths"].items():
        for kind in kinds:
            yield kind.upper(), path


def filled(path: str, batch: str, step: str = "spirit") -> str:
    path = path.replace("{batch}", batch).replace("{step}", step)
    return re.sub(r"\{[^}]*\}", "x", path)


def test_every_page_is_in_order(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    steps = [state.outline.step for state in record.batch(batch).steps()]
    checked = 0
    for method, path in routes_of(visitor):
        if method != "GET" or path == ENDLESS:
            continue
        for step in steps if "{step}" in path else [""]:
            answer = visitor.get(filled(path, batch, step))
            assert answer.status_code < 500, (path, step)
            if answer.text.startswith("<!doctype"):
                check_page(answer)
                checked += 1
    assert checked > 10


def test_every_menu_entry_leads_somewhere(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    assert len(page_modules()) > 8
    paths = [entry.path for entry in menu_entries()]
    paths += [entry.path.format(batch=batch) for entry in batch_entries()]
    for path in paths:
        answer = visitor.get(path)
        assert answer.status_code == 200, path
        assert 'aria-current="page"' in answer.text, path


def test_every_route_refuses_a_stranger(phone: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    before = record.store.last_sequence()
    for method, path in routes_of(Visitor(phone.app)):
        answer = phone.ask(method, filled(path, batch), headers={"origin": phone.base})
        expected = {"GET": 200, "POST": 422}[method] if path == "/pair" else 403
        assert answer.status_code == expected, (method, path)
    assert record.store.last_sequence() == before


def test_every_change_refuses_a_foreign_page(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    before = record.store.last_sequence()
    changes = [one for one in routes_of(visitor) if one[0] != "GET"]
    assert len(changes) > 5
    for method, path in changes:
        for headers in ({"origin": "https://evil.example"}, {"sec-fetch-site": "cross-site"}):
            answer = visitor.ask(method, filled(path, batch), headers=headers)
            assert answer.status_code == 403, (method, path)
    assert record.store.last_sequence() == before


def test_no_get_changes_the_record(visitor: Visitor, record: Record) -> None:
    batch = seed_demo(record)
    before = record.store.last_sequence()
    for method, path in routes_of(visitor):
        if method == "GET" and path != ENDLESS:
            visitor.get(filled(path, batch))
    assert record.store.last_sequence() == before


def test_pages_work_without_the_browser_parts(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    present = render.static_address("vendor/htmx.js")
    kept = render.static_address

    def without(name: str) -> str:
        return "" if name.startswith("vendor/") else kept(name)

    monkeypatch.setitem(render.environment().globals, "static", without)
    answer = visitor.get("/patterns")
    check_page(answer)
    assert "vendor/" not in answer.text
    assert "<svg" in answer.text
    assert present == "" or present.startswith("/static/vendor/htmx.js?v=")


def test_static_files_are_kept_by_browsers_only_with_their_mark(visitor: Visitor) -> None:
    marked = visitor.get(render.static_address("look.css"))
    assert "immutable" in marked.headers["cache-control"]
    assert visitor.get("/static/look.css").headers["cache-control"] == "no-cache"
    for path in ("/static/../render.py", "/static/%2e%2e/render.py", "/static//etc/passwd"):
        assert visitor.get(path).status_code == 404
