# SPDX-License-Identifier: MIT
"""Every source that is cited is in CITATIONS.bib, and says enough to be found."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
KEY = re.compile(r":cite:[tp]s?:`([^`]+)`")
ENTRY = re.compile(r"^@\w+\s*\{\s*([^,\s]+)\s*,(.*?)^\}", re.MULTILINE | re.DOTALL)


def entries() -> dict[str, str]:
    text = (ROOT / "CITATIONS.bib").read_text(encoding="utf-8")
    return {match[1]: match[2] for match in ENTRY.finditer(text)}


def cited() -> dict[str, str]:
    found: dict[str, str] = {}
    for folder, pattern in (("src", "**/*.py"), ("docs", "**/*.md")):
        for path in sorted((ROOT / folder).glob(pattern)):
            for match in KEY.finditer(path.read_text(encoding="utf-8")):
                for key in match[1].split(","):
                    found.setdefault(key.strip(), path.name)
    return found


def test_every_cited_key_exists() -> None:
    known = entries()
    assert {key: at for key, at in cited().items() if key not in known} == {}


def test_something_is_cited() -> None:
    assert len(cited()) >= 10


def test_every_entry_says_enough_to_be_found() -> None:
    lacking = {
        key: field
        for key, body in entries().items()
        for field in ("title", "year")
        if not re.search(rf"\b{field}\s*=", body)
    }
    assert lacking == {}
