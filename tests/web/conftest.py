# SPDX-License-Identifier: MIT
"""The app in this process, over memory, with a clock that stands still."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from middlecut.adapters.store_memory import MemoryStore
from middlecut.app.record import Record
from middlecut.web.application import create_app
from middlecut.web.services import Address, Services

sys.path.insert(0, str(Path(__file__).parent))  # visitor.py lies beside the tests

from visitor import CountedIds, StandingClock, Visitor


@pytest.fixture
def clock() -> StandingClock:
    return StandingClock()


@pytest.fixture
def record(clock: StandingClock) -> Record:
    return Record(MemoryStore(), clock, CountedIds())


@pytest.fixture
def services(record: Record) -> Services:
    return Services(record)


@pytest.fixture
def visitor(services: Services) -> Visitor:
    return Visitor(create_app(services))


@pytest.fixture
def shared_services(record: Record) -> Services:
    names = frozenset({"127.0.0.1", "localhost", "192.168.7.5"})
    return Services(record, address=Address(names=names, reachable="192.168.7.5"))


@pytest.fixture
def phone(shared_services: Services) -> Visitor:
    """A phone in the same network, not paired."""
    return Visitor(create_app(shared_services), "192.168.7.20", "http://192.168.7.5:8460")
