# SPDX-License-Identifier: MIT
"""A private PostgreSQL server on a unix socket, for one run of the tests."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any


def programs() -> Path | None:
    """Return the folder of PostgreSQL's programs, newest first."""
    here = shutil.which("initdb")
    if here:
        return Path(here).resolve().parent
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


@contextmanager
def cluster(folder_of_programs: Path) -> Iterator[str]:
    """Start a server nobody else can reach; give the address of an empty database."""
    # A socket's path may be about 100 characters: a short folder, not pytest's.
    folder = Path(tempfile.mkdtemp(prefix="mc-pg-"))
    server: subprocess.Popen[bytes] | None = None
    try:
        # The server refuses to run as root.
        person: dict[str, Any] = {}
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres", "postgres")
            person = {"user": "postgres", "group": "postgres", "extra_groups": []}
        data, log = folder / "data", folder / "log"
        subprocess.run(
            [folder_of_programs / "initdb", "-D", data, "-U", "middlecut", "-A", "trust",
             "-E", "UTF8", "--locale=C", "--no-sync", "--no-instructions"],
            check=True, capture_output=True, cwd=folder, **person,
        )  # fmt: skip
        with log.open("wb") as out:
            server = subprocess.Popen(
                [folder_of_programs / "postgres", "-D", data, "-k", folder,
                 "-c", "listen_addresses=", "-c", "fsync=off"],
                stdout=out, stderr=out, cwd=folder, **person,
            )  # fmt: skip
        yield _address_when_ready(folder, server, log)
    finally:
        if server is not None:
            server.send_signal(signal.SIGINT)  # "fast": sessions are ended, data is whole
            server.wait(30)
        shutil.rmtree(folder, ignore_errors=True)


def _address_when_ready(folder: Path, server: subprocess.Popen[bytes], log: Path) -> str:
    import psycopg

    for _ in range(300):
        if server.poll() is not None:
            break
        try:
            psycopg.connect(host=str(folder), user="middlecut", dbname="postgres").close()
        except psycopg.OperationalError:
            time.sleep(0.05)
        else:
            return f"postgresql://middlecut@/postgres?host={folder}"
    raise RuntimeError(f"PostgreSQL did not start: {log.read_text()[-2000:]}")
