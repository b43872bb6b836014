# SPDX-License-Identifier: MIT
"""Positions: every key that tomllib finds has its line, and the span reads as the same value."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import pytest

from middlecut.plan.positions import Path, locate, nearest_place

DOCUMENTS = {
    "tables": '[batch]\nname = "Rye" # ours\n\n[still.small]\nboiler_volume = "30 L"\n',
    "array of tables": '[[step]]\nid = "a"\n[[step]]\n[step.extra]\nx = 1\n[[step.y]]\nz=1\n',
    "dotted": 'still.small.boiler_volume = "30 L"\nstill."big one".stages = 4\n',
    "inline": 'cuts = [ { into = "a", until = { boiler_volume = "4 L" } }, {into="b"} ]\n',
    "long array": "a = [\n  1, # one\n  [2, 3],\n\n  4\n]\nb = 5\n",
    "long strings": "a = \"\"\"x = 1\n[no]\n\"\"\"\nb = '''\n[[no]]'''\n",
    "short strings": 'c = "a \\" # b"\nd = \'# "\'\ne=1\n',
    "quotes at the end": 'a = """two ""quotes"""""\nb = 1\n',
    "plain values": "a = 1979-05-27 07:32:00\nb = true\nc = -1_000.5e3\nd = inf  \n[x]\ne = 0xff",
    "odd keys": '"a b".\'c.d\' = 1\n1234 = 2\n"\\u00e9" = 3\n[ x . "y z" ]\nq = 1\n',
    "line ends": '[batch]\r\nname = "Rye"\r\n\r\n[[step]]\r\nid = "a"\r\n',
    "sub before super": "[a.b.c]\nx = 1\n[a]\ny = 2\n",
    "no newline": "a = [1,2,]",
    "only comments": "# nothing\n   # here\n",
}


def leaves(node: object, path: Path = ()) -> Iterator[tuple[Path, object]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield (*path, key), value
            yield from leaves(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield (*path, index), value
            yield from leaves(value, (*path, index))


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_key_of_tomllib_has_a_place(name: str) -> None:
    text = DOCUMENTS[name]
    places = locate(text)
    expected = dict(leaves(tomllib.loads(text)))
    assert set(places) == set(expected)
    for path, place in places.items():
        if place.is_value:
            span = text[place.start : place.end]
            assert tomllib.loads(f"v = {span}")["v"] == expected[path]
        else:
            assert isinstance(expected[path], (dict, list))


def test_lines_are_those_of_the_keys() -> None:
    text = (
        "# first line\n[batch]\nname = 'x'\n\n[[step]]\nid = 'a'\ncuts = [\n"
        "  { into = 'h',\n },\n  { into = 't' },\n]\n[[step]]\nid = 'b'\n"
    ).replace("'h',\n }", "'h' }")
    places = locate(text)
    assert {path: place.line for path, place in places.items()} == {
        ("batch",): 2,
        ("batch", "name"): 3,
        ("step",): 5,
        ("step", 0): 5,
        ("step", 0, "id"): 6,
        ("step", 0, "cuts"): 7,
        ("step", 0, "cuts", 0): 8,
        ("step", 0, "cuts", 0, "into"): 8,
        ("step", 0, "cuts", 1): 9,
        ("step", 0, "cuts", 1, "into"): 9,
        ("step", 1): 11,
        ("step", 1, "id"): 12,
    }


def test_nearest_place_stops_where_the_document_does() -> None:
    places = locate("[a]\nb = 1\n")
    assert nearest_place(places, ("a", "b", 3))[0] == ("a", "b")
    assert nearest_place(places, ("c",)) == ((), None)


@pytest.mark.parametrize("text", ["a = [1", "a", "a = {b", "= 1", "a ="])
def test_broken_text_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not TOML"):
        locate(text)
