# SPDX-License-Identifier: MIT
"""The app as a process of its own: opened, killed and opened again at the same place."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

NAME = "shed.test"
"""Name by which a browser of the tests comes as another device would."""
_COMMAND = "from middlecut.bootstrap import main; main()"
_OPEN = re.compile(r"middlecut is open at http://127\.0\.0\.1:(\d+)/")
_CODE = re.compile(r"/pair\?code=(\S+)")


@dataclass(slots=True)
class Shed:
    """A server of the app.

    Parameters
    ----------
    record : Path
        File of its record.
    demo : bool
        Whether to open the demo batch.
    named : bool
        Whether other devices may come, by :data:`NAME`.
    """

    record: Path
    demo: bool = False
    named: bool = False
    port: int = 0
    pairing_code: str = ""
    _process: subprocess.Popen[str] | None = field(default=None, repr=False)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def from_elsewhere(self) -> str:
        return f"http://{NAME}:{self.port}"

    def open(self) -> Shed:
        """Start it, at the same port as before, and wait until it listens."""
        self._process = subprocess.Popen(
            self._arguments(),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
        )
        assert self._process.stdout is not None
        self._read(self._process.stdout)
        return self

    def kill(self) -> None:
        """End it as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            if self._process.stdout is not None:
                self._process.stdout.close()
            self._process = None

    def _arguments(self) -> list[str]:
        if self.named:
            script = str(Path(__file__).with_name("named_shed.py"))
            return [sys.executable, script, str(self.record), str(self.port), NAME]
        found = [sys.executable, "-c", _COMMAND, "open", "--no-browser", "--data", str(self.record)]
        found += ["--demo"] if self.demo else []
        return [*found, "--port", str(self.port)] if self.port else found

    def _read(self, lines: IO[str]) -> None:
        said = []
        for line in lines:
            said.append(line)
            opened, code = _OPEN.search(line), _CODE.search(line)
            self.port = int(opened[1]) if opened else self.port
            self.pairing_code = code[1] if code else self.pairing_code
            if "Ctrl-C" in line:
                return
        self.kill()
        raise AssertionError("the app did not open:\n" + "".join(said[-30:]))
