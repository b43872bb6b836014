# SPDX-License-Identifier: MIT
"""Every store that fulfils the contract, each empty."""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.adapters.store_sql import SqlStore
from middlecut.app.ports import Store


@pytest.fixture(scope="session")
def postgres_address() -> Iterator[str]:
    spec = importlib.util.spec_from_file_location(
        "postgres_cluster", Path(__file__).with_name("postgres_cluster.py")
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    programs = module.programs()
    if programs is None:
        words = "PostgreSQL is not on this machine and was NOT TESTED: run tools/ensure_postgres.sh"
        if os.environ.get("CI") and os.geteuid() == 0 and shutil.which("apt-get"):
            pytest.fail(words)  # it could be had
        pytest.skip(words)
    with module.cluster(programs) as address:
        yield address


@pytest.fixture
def fresh_database(postgres_address: str) -> str:
    import psycopg

    with psycopg.connect(postgres_address, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
    return postgres_address


@pytest.fixture(params=["memory", "sqlite", "postgres"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """Give an empty store of each kind."""
    made: Store
    if request.param == "memory":
        made = MemoryStore()
    elif request.param == "sqlite":
        made = SqlStore(tmp_path / "record.sqlite")
    else:
        made = SqlStore(request.getfixturevalue("fresh_database"))
    yield made
    made.close()
