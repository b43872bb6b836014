# SPDX-License-Identifier: MIT
"""Nothing in the repository knows the machine it was made on."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# A letter in brackets keeps each pattern from finding itself.
FORBIDDEN = re.compile(
    r"(?<![\w.])/(?:[w]ork|[r]oot|[t]mp|[h]ome/\w)(?:/|\b)"
    r"|\.\./[s]hared"
    r"|\b10\.\d+\.\d+\.\d+:\d{2,5}\b"
    r"|\b[p]ypi\.(?:org|python)|files\.[p]ythonhosted"
    r"|registry\.[n]pmjs|proxy\.[g]olang|[a]rtifactory|\b[d]evpi\b"
)
BINARY = {".png", ".jpg", ".pdf", ".ico", ".woff2", ".npz"}


def tracked() -> list[Path]:
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if done.returncode != 0:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in done.stdout.decode().split("\0") if name]


def test_no_path_of_a_machine_and_no_registry() -> None:
    files = [path for path in tracked() if path.is_file() and path.suffix not in BINARY]
    assert len(files) > 20
    found = [
        f"{path.relative_to(ROOT)}:{number}: {match[0]}"
        for path in files
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if (match := FORBIDDEN.search(line))
    ]
    assert found == []


@pytest.mark.parametrize(
    "pieces",
    [("see /w", "ork/main"), ("../s", "hared/x.csv"), ("10.0.0.7", ":8080"), ("/t", "mp/x")],
)
def test_the_search_finds_what_it_should(pieces: tuple[str, str]) -> None:
    assert FORBIDDEN.search("".join(pieces))


@pytest.mark.parametrize("text", ["a network/tmp file", "home work/life", "grain/rooted"])
def test_the_search_leaves_plain_words_alone(text: str) -> None:
    assert not FORBIDDEN.search(text)
