# SPDX-License-Identifier: MIT
"""Merge the citation and nomenclature fragments into CITATIONS.bib and docs/nomenclature.md.

Each area of the code keeps its own fragment beside its work; the merged files are what people
read. ``--check`` writes nothing and fails when a merged file is out of date.
"""

from __future__ import annotations

import argparse
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIB_FRAGMENTS = "docs/bib"
BIB_TARGET = "CITATIONS.bib"
TERM_FRAGMENTS = "docs/nomenclature.d"
TERM_TARGET = "docs/nomenclature.md"

BIB_HEAD = """\
% Every source that middlecut cites, merged by tools/merge_docs.py from docs/bib/*.bib.
% Edit the fragments, not this file.
"""
TERM_HEAD = """\
# Nomenclature

Every name of a public parameter: what it means, its symbol in the formulas, its SI unit and where
the definition comes from. Inside middlecut every number is in SI; units for people are read and
written at the edges only. A test checks that no public parameter is missing here.

Merged by `tools/merge_docs.py` from `docs/nomenclature.d/*.md`; edit the fragments, not this file.

| term | symbol | SI unit | definition | source |
|---|---|---|---|---|
"""
ENTRY = re.compile(r"^@(?P<kind>\w+)\s*\{\s*(?P<key>[^,\s]+)\s*,", re.MULTILINE)


def bib_entries(text: str) -> dict[str, str]:
    """Return the entries of a BibTeX text by key."""
    entries: dict[str, str] = {}
    for match in ENTRY.finditer(text):
        depth = 0
        for offset, letter in enumerate(text[match.start() :]):
            depth += {"{": 1, "}": -1}.get(letter, 0)
            if letter == "}" and depth == 0:
                entries[match["key"]] = text[match.start() : match.start() + offset + 1]
                break
        else:
            raise SystemExit(f"The entry {match['key']} has no closing brace.")
    return entries


def merge_bib(fragments: list[Path]) -> str:
    """Return CITATIONS.bib; one key may stand in two fragments only with the same words."""
    merged: dict[str, str] = {}
    for path in fragments:
        for key, entry in bib_entries(path.read_text(encoding="utf-8")).items():
            if key in merged and merged[key].split() != entry.split():
                raise SystemExit(f"{path.name}: {key} says something else in another fragment.")
            merged.setdefault(key, entry)
    return BIB_HEAD + "".join(f"\n{merged[key]}\n" for key in sorted(merged, key=str.lower))


def term_rows(text: str) -> list[tuple[str, ...]]:
    """Return the rows of the tables of a Markdown text, heads and rulers left out."""
    rows = []
    for line in text.splitlines():
        if not line.startswith("|"):
            continue
        cells = tuple(cell.strip() for cell in re.split(r"(?<!\\)\|", line.strip())[1:-1])
        if cells[0].lower() == "term" or set(cells[0]) <= set("-: "):
            continue
        if len(cells) != 5:
            raise SystemExit(f"Not five cells: {line}")
        rows.append((cells[0].strip("`"), *cells[1:]))
    return rows


def merge_terms(fragments: list[Path]) -> str:
    """Return docs/nomenclature.md: one row a term, all its meanings in it."""
    merged: dict[str, list[tuple[str, ...]]] = {}
    for path in fragments:
        for term, *rest in term_rows(path.read_text(encoding="utf-8")):
            cells = tuple(rest)
            if cells not in merged.setdefault(term, []):
                merged[term].append(cells)
    lines = []
    for term in sorted(merged, key=str.lower):
        columns = zip(*merged[term], strict=True)
        cells = [" / ".join(dict.fromkeys(column)) for column in columns]
        lines.append("| " + " | ".join((f"`{term}`", *cells)) + " |")
    return TERM_HEAD + "\n".join(lines) + "\n"


def merged_files(root: Path) -> dict[Path, str]:
    """Return what each merged file should hold."""
    return {
        root / BIB_TARGET: merge_bib(sorted((root / BIB_FRAGMENTS).glob("*.bib"))),
        root / TERM_TARGET: merge_terms(sorted((root / TERM_FRAGMENTS).glob("*.md"))),
    }


def main() -> int:
    """Write or check both files."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; fail when stale")
    only_check = parser.parse_args().check
    stale = []
    for path, text in merged_files(ROOT).items():
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale.append(path.name)
        if not only_check:
            path.write_text(text, encoding="utf-8")
    if stale:
        print(("out of date: " if only_check else "written: ") + ", ".join(stale))
    return 1 if stale and only_check else 0


if __name__ == "__main__":
    sys.exit(main())
