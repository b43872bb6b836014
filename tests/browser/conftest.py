# SPDX-License-Identifier: MIT
"""The app in a process of its own, and a real browser, for each module of tests.

Both end with the module: as long as a browser is open, this thread has a running event loop.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "support"))

from playwright.sync_api import Browser, expect
from shed_server import Shed
from visits import Visits, a_browser, chromium_path, watched

expect.set_options(timeout=15_000)  # ms; a machine that also builds and tests is slow now and then


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def demo_record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with the demo batch, to be copied."""
    chromium_path()
    place = tmp_path_factory.mktemp("demo") / "record.sqlite"
    Shed(place, demo=True).open().kill()
    return place


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with a_browser() as found:
        yield found


@pytest.fixture
def visits(browser: Browser) -> Iterator[Visits]:
    found = Visits(browser)
    end = watched(found)
    yield found
    end()


@pytest.fixture(scope="module")
def make_shed(
    demo_record: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[..., Shed]]:
    """Open sheds with the demo batch, each with a record of its own."""
    opened: list[Shed] = []

    def make(*, named: bool = False) -> Shed:
        folder = tmp_path_factory.mktemp("shed")
        for part in demo_record.parent.glob(f"{demo_record.name}*"):
            shutil.copy(part, folder / part.name)
        shed = Shed(folder / demo_record.name, named=named).open()
        opened.append(shed)
        return shed

    yield make
    for shed in opened:
        shed.kill()


@pytest.fixture(scope="module")
def shed(make_shed: Callable[..., Shed]) -> Shed:
    """A shed that the tests of a module share."""
    return make_shed()
