# SPDX-License-Identifier: MIT
"""The app as a process of its own: opened, killed and opened again at the same place."""

from __future__ import annotations

import random
import re
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

NAME = "shed.test"
"""Name by which a browser of the tests comes as another device would."""
PATIENCE = 60.0
"""Seconds the app may take to open on a busy machine."""
PORTS = range(20_000, 30_000)
"""Neither the app's own nor what systems give by themselves: a shed that was killed comes back at
its port, while other tests open theirs."""
_COMMAND = "from middlecut.bootstrap import main; main()"
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
        for port in [self.port] if self.port else random.SystemRandom().sample(PORTS, 5):
            self.port = port
            if self._start():
                return self
        raise AssertionError(f"the app did not open:\n{self.log[-3000:]}")

    def _start(self) -> bool:
        start = len(self.log)
        with self._log.open("a", encoding="utf-8") as output:
            self._process = subprocess.Popen(
                self._arguments(), stdout=output, stderr=subprocess.STDOUT, encoding="utf-8"
            )
        until = time.monotonic() + PATIENCE
        while "Ctrl-C" not in self.log[start:]:
            if self._process.poll() is not None or time.monotonic() > until:
                self.kill()
                return False
            time.sleep(0.02)
        said = self.log[start:]
        code = _CODE.search(said)
        self.pairing_code = code[1] if code else self.pairing_code
        return True

    def kill(self) -> None:
        """End it as a power cut would."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    @property
    def log(self) -> str:
        """Everything it said in its terminal."""
        return self._log.read_text(encoding="utf-8") if self._log.is_file() else ""

    @property
    def _log(self) -> Path:
        return self.record.with_suffix(".log")

    def _arguments(self) -> list[str]:
        if self.named:
            script = str(Path(__file__).with_name("named_shed.py"))
            return [sys.executable, script, str(self.record), str(self.port), NAME]
        found = [sys.executable, "-c", _COMMAND, "open", "--no-browser", "--data", str(self.record)]
        found += ["--demo"] if self.demo else []
        return [*found, "--port", str(self.port)]
