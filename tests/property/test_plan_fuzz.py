# SPDX-License-Identifier: MIT
"""Whatever a plan file holds, the answer is a plan or a PlanError that names its problems."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from middlecut.errors import MiddlecutError, PlanError
from middlecut.plan import positions
from middlecut.plan.model import Plan
from middlecut.plan.read import load_plan, read_plan_text
from middlecut.plan.write import set_value

PLAN = """
[batch]
name = "Rye"
altitude = "350 m"
[still.kettle]
boiler_volume = "30 L"
heater_power = "2.4 kW"
stages = 4
[lot.feints]
volume = "1.5 L"
strength = "62 %vol"
compounds = { "ethyl acetate" = "120 mg/L" }
[[step]]
id = "mash"
kind = "ferment"
into = "wash"
volume = "26 L"
gravity = "1.062 SG"
final_gravity = "1.010 SG"
temperature = "28 °C"
duration = "6 d"
reserve = [{ into = "kept", volume = "2 L" }]
[[step]]
id = "spirit"
kind = "distil"
from = ["wash", { lot = "feints", fraction = "50 %" }]
still = "kettle"
purpose = "spirit"
power = "60 %"
cuts = [
  { into = "heads", until = "300 mL" },
  { into = "hearts", until = "62 %vol", jars = "500 mL" },
  { into = "tails", until = { boiler_volume = "5 L" } },
]
[[step]]
id = "down"
kind = "dilute"
from = "hearts"
strength = "46 %vol"
into = "spirit"
"""
DOCUMENT: dict[str, Any] = tomllib.loads(PLAN)
LINES = PLAN.split("\n")


def outcome(text: str) -> Plan | PlanError:
    """Return the plan or the error; anything else that is raised fails the test."""
    try:
        return read_plan_text(text)
    except PlanError as error:
        found = error
    assert found.problems
    assert len(str(found)) < 200_000
    for problem in found.problems:
        assert problem.key
        assert problem.message.endswith((".", "!", "?"))
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + 1
    return found


def test_the_seed_of_the_fuzzing_is_a_good_plan() -> None:
    assert isinstance(outcome(PLAN), Plan)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=200))
def test_any_bytes(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(content)
    with pytest.raises(MiddlecutError):
        load_plan(path)


@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    assert isinstance(outcome(text), PlanError)


@given(st.integers(0, len(PLAN)), st.integers(0, 12), st.text(max_size=6))
def test_any_cut_and_splice(at: int, length: int, piece: str) -> None:
    outcome(PLAN[:at] + piece + PLAN[at + length :])


@given(
    st.lists(st.sampled_from(range(len(LINES))), min_size=1, max_size=3, unique=True),
    st.sampled_from(["drop", "double", "swap"]),
)
def test_lines_dropped_doubled_or_swapped(where: list[int], how: str) -> None:
    lines = list(LINES)
    for index in sorted(where, reverse=True):
        if how == "drop":
            del lines[index]
        elif how == "double":
            lines.insert(index, lines[index])
        else:
            lines[index], lines[-1] = lines[-1], lines[index]
    outcome("\n".join(lines))


def paths(node: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Return every path of a document."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield (*path, key)
            yield from paths(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield (*path, index)
            yield from paths(value, (*path, index))


VALUES = st.one_of(
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.booleans(),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    st.sampled_from(
        ["0 L", "-1 L", "1e9 L", "30 L", "99 %vol", "200 proof", "1 °P", "-300 °C", "nan", "wash"]
    ),
    st.lists(st.sampled_from(["wash", "hearts", "1 L"]), max_size=3),
    st.dictionaries(st.sampled_from(["lot", "volume", "until", "x"]), st.just("1 L"), max_size=2),
)


def as_toml(value: object) -> str:
    """Return a document of plain values as TOML; inline below the first level."""
    if isinstance(value, dict):
        body = ", ".join(f"{json.dumps(key)} = {as_toml(item)}" for key, item in value.items())
        return "{ " + body + " }"
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return repr(value)


def document_text(document: dict[str, Any]) -> str:
    """Return the text of a document, one key a line."""
    return "".join(f"{json.dumps(key)} = {as_toml(value)}\n" for key, value in document.items())


def changed(node: Any, path: tuple[str | int, ...], value: object) -> Any:
    """Return a copy with one value replaced."""
    if not path:
        return value
    copy: Any = dict(node) if isinstance(node, dict) else list(node)
    copy[path[0]] = changed(node[path[0]], path[1:], value)
    return copy


def test_the_document_survives_being_written_inline() -> None:
    assert isinstance(outcome(document_text(DOCUMENT)), Plan)


@given(st.sampled_from(list(paths(DOCUMENT))), VALUES)
def test_any_value_anywhere(path: tuple[str | int, ...], value: object) -> None:
    outcome(document_text(changed(DOCUMENT, path, value)))


@given(
    st.recursive(
        VALUES,
        lambda inner: st.one_of(
            st.lists(inner, max_size=3),
            st.dictionaries(st.text("abc.\" é'", max_size=4), inner, max_size=3),
        ),
        max_leaves=12,
    )
)
def test_positions_find_what_tomllib_finds(value: object) -> None:
    text = f"# head\nkey = {as_toml(value)}  # tail\n\n[[table]]\nx = 1\n"
    document = tomllib.loads(text)
    places = positions.locate(text)
    assert set(places) == set(paths(document))
    assert places["table", 0, "x"].line == text.count("\n")
    place = places["key",]
    assert text[place.start : place.end] == as_toml(value)


@given(
    st.sampled_from([path for path in paths(DOCUMENT) if len(path) > 1 and path[0] != "step"]),
    st.text(max_size=8),
)
def test_a_set_value_is_the_only_change(path: tuple[str | int, ...], value: str) -> None:
    key = ".".join(json.dumps(part, ensure_ascii=False) for part in path)
    try:
        after = tomllib.loads(set_value(PLAN, key, value))
    except MiddlecutError:
        assert path in {("still", "kettle"), ("lot", "feints")} or not value.isprintable()
        return
    assert after == changed(DOCUMENT, path, value)
