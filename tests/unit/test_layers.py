# SPDX-License-Identifier: MIT
"""The layers of DESIGN section 4 hold."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_import_contracts_are_kept() -> None:
    command = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [command, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    assert "5 kept, 0 broken" in done.stdout


def test_every_module_says_its_licence_and_defers_annotations() -> None:
    lacking = [
        str(path.relative_to(ROOT))
        for folder in ("src", "tests", "tools", "bench", "examples")
        for path in sorted((ROOT / folder).rglob("*.py"))
        if not path.read_text(encoding="utf-8").startswith("# SPDX-License-Identifier: MIT\n")
    ]
    assert lacking == []


def test_modules_and_test_names_keep_their_size() -> None:
    # STYLE section 3: a module has at most about 400 lines; a tenth more is the allowance.
    # DESIGN section 4 wants the numerics of a run in one kernel file; that one may be longer.
    allowed = {"kernel.py": 1000}
    long = {
        path.name: count
        for path in sorted((ROOT / "src").rglob("*.py"))
        if (count := len(path.read_text(encoding="utf-8").splitlines()))
        > allowed.get(path.name, 440)
    }
    assert long == {}
    names = [path.name for path in (ROOT / "tests").rglob("test_*.py")]
    assert sorted(set(names)) == sorted(names)
