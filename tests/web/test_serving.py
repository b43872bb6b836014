# SPDX-License-Identifier: MIT
"""Where the app listens, and what it says when it starts."""

from __future__ import annotations

import socket
from typing import ClassVar

import pytest
import segno

from middlecut.errors import InputError, StoreError
from middlecut.web import serving
from middlecut.web.services import Address, Services


class Port:
    """Stands for a socket; the ports in ``taken`` cannot be had."""

    taken: frozenset[int] = frozenset()
    bound: ClassVar[list[tuple[str, int]]] = []
    closed = 0

    def __init__(self, *_: object) -> None: ...

    def setsockopt(self, *_: object) -> None: ...

    def bind(self, place: tuple[str, int]) -> None:
        if place[1] in self.taken:
            raise OSError
        Port.bound.append(place)

    def listen(self, _: int) -> None: ...

    def close(self) -> None:
        Port.closed += 1


@pytest.fixture
def ports(monkeypatch: pytest.MonkeyPatch) -> type[Port]:
    monkeypatch.setattr(socket, "socket", Port)
    monkeypatch.setattr(serving, "network_address", lambda: "192.168.7.5")
    Port.taken, Port.closed = frozenset(), 0
    Port.bound.clear()
    return Port


def test_only_this_computer_by_default(ports: type[Port]) -> None:
    sockets, address = serving.bind(None, shared=False)
    assert ports.bound == [("127.0.0.1", 8460)]
    assert len(sockets) == 1
    assert not address.shared
    assert address.names == {"127.0.0.1", "localhost"}


def test_the_next_free_port_is_taken(ports: type[Port]) -> None:
    ports.taken = frozenset({8460, 8461})
    assert serving.bind(None, shared=False)[1].port == 8462
    assert ports.closed == 2


def test_a_taken_port_that_was_asked_for_is_said(ports: type[Port]) -> None:
    ports.taken = frozenset({8500})
    with pytest.raises(InputError, match="8500"):
        serving.bind(8500, shared=False)


def test_shared_listens_on_the_network_address_only(ports: type[Port]) -> None:
    _, address = serving.bind(8500, shared=True)
    assert ports.bound == [("127.0.0.1", 8500), ("192.168.7.5", 8500)]
    assert address.link("/pair") == "http://192.168.7.5:8500/pair"
    assert "192.168.7.5" in address.names


def test_no_network_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    class Nowhere:
        def __init__(self, *_: object) -> None: ...

        def __enter__(self) -> Nowhere:
            return self

        def __exit__(self, *_: object) -> None: ...

        def connect(self, _: object) -> None:
            raise OSError

    monkeypatch.setattr(socket, "socket", Nowhere)
    with pytest.raises(StoreError, match="no network"):
        serving.network_address()


def test_says_where_it_is_and_shows_a_code_when_shared(
    services: Services, shared_services: Services
) -> None:
    alone = "\n".join(serving.welcome(services))
    assert "http://127.0.0.1:8460/" in alone
    assert "/pair" not in alone
    shared = serving.welcome(shared_services)
    code = shared_services.desk.offer(shared_services.record.clock.now())
    assert f"http://192.168.7.5:8460/pair?code={code}" in shared
    assert any("▀" in line for line in shared)


def test_an_address_of_the_sixth_version_is_bracketed() -> None:
    assert Address(reachable="fe80::1").link() == "http://[fe80::1]:8460/"


def test_the_picture_in_the_terminal_is_the_code(shared_services: Services) -> None:
    lines = serving.welcome(shared_services)
    link = next(line for line in lines if line.startswith("http://192.168.7.5"))
    picture = next(line for line in lines if "▀" in line).splitlines()
    rows: list[list[bool]] = []
    for line in picture:
        rows.append([mark in " ▄" for mark in line])
        rows.append([mark in " ▀" for mark in line])
    wanted = [[bool(one) for one in row] for row in segno.make(link, error="m").matrix_iter()]
    assert rows[: len(wanted)] == wanted
