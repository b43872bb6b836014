# SPDX-License-Identifier: MIT
"""Serve the app: sockets on this computer, and on the network only when asked."""

from __future__ import annotations

import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Sequence

import segno
import uvicorn
from fastapi import FastAPI

from middlecut.errors import InputError, StoreError
from middlecut.web.services import LOOPBACK_NAMES, Address, Services

__all__ = ["USUAL_PORT", "bind", "network_address", "serve", "welcome"]

USUAL_PORT = 8460
_TRIED = 20
LOOPBACK = "127.0.0.1"


def network_address() -> str:
    """Return the address of this computer in its network, or raise StoreError if it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("10.254.254.254", 1))  # asks the routing table; nothing is sent
            found = str(probe.getsockname()[0])
        except OSError:
            found = ""
    if not found or found.startswith("127."):
        raise StoreError(
            "This computer is in no network, so no phone can reach it. Join one or leave out --lan."
        )
    return found


def bind(port: int | None, *, shared: bool) -> tuple[list[socket.socket], Address]:
    """Take the port on the loopback and, when shared, on the network's address.

    Parameters
    ----------
    port : int or None
        None takes the first free one from 8460 on.
    shared : bool
        Whether other devices may reach it.

    Returns
    -------
    sockets : list of socket
    address : Address

    Raises
    ------
    InputError
        If the port is taken.
    """
    hosts = [LOOPBACK, network_address()] if shared else [LOOPBACK]
    ports = [port] if port else range(USUAL_PORT, USUAL_PORT + _TRIED)
    for one in ports:
        sockets = _bound(hosts, one)
        if sockets:
            return sockets, _address(hosts, one)
    taken = str(port) if port else f"{USUAL_PORT} to {USUAL_PORT + _TRIED - 1}"
    raise InputError("--port", taken, "that is taken by another program", "Give another --port.")


def _bound(hosts: Sequence[str], port: int) -> list[socket.socket]:
    made: list[socket.socket] = []
    for host in hosts:
        one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.append(one)
        try:
            one.bind((host, port))
            # Listening takes the port for good: two starts at once could both bind it.
            one.listen(128)  # who comes before the server is ready waits instead of being refused
        except OSError:
            for other in made:
                other.close()
            return []
    return made


def _address(hosts: Sequence[str], port: int) -> Address:
    if len(hosts) == 1:
        return Address(port=port)
    name = socket.gethostname().lower()
    names = LOOPBACK_NAMES | {hosts[1], name, f"{name}.local"}
    return Address(port=port, names=names, reachable=hosts[1])


def welcome(services: Services) -> list[str]:
    """Return the lines for the terminal: where the app is and how a phone gets in."""
    address = services.address
    lines = [
        f"middlecut is open at http://{LOOPBACK}:{address.port}/",
        f"The record is {services.record.store.location}",
    ]
    if address.shared:
        code = services.desk.offer(services.record.clock.now())
        link = address.link(f"/pair?code={code}")
        lines += [
            "",
            "Scan this with a phone in the same network; it works once, for ten minutes:",
            _picture(link),
            link,
            "The Devices page has further codes. Whoever sees one can get in: show it to nobody.",
        ]
    return [*lines, "", "Ctrl-C closes it."]


def _has_desktop() -> bool:
    """Tell whether a browser can be shown; a text browser would take the terminal."""
    if sys.platform in ("darwin", "win32"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def _picture(link: str) -> str:
    """Return a QR code in half blocks; its light parts are drawn, as terminals are dark."""
    rows = [[not module for module in row] for row in segno.make(link, error="m").matrix_iter()]
    if len(rows) % 2:
        rows.append([False] * len(rows[0]))
    blocks = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return "\n".join(
        "".join(blocks[pair] for pair in zip(upper, lower, strict=True)) for upper, lower in pairs
    )


def serve(
    application: FastAPI,
    sockets: list[socket.socket],
    services: Services,
    *,
    say: Callable[[str], None],
    browse: bool,
) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    application : FastAPI
    sockets : list of socket
        As :func:`bind` returns them.
    services : Services
    say : callable
        Takes each line for the terminal.
    browse : bool
        Whether to show the start page in a browser.
    """
    config = uvicorn.Config(
        application,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,  # who asks is who connects; a header can say anything
        timeout_graceful_shutdown=1,  # pages keep a stream open; they come back by themselves
    )
    for line in welcome(services):
        say(line)
    if browse and _has_desktop():
        start = f"http://{LOOPBACK}:{services.address.port}/"
        threading.Timer(0.8, webbrowser.open, (start,)).start()
    uvicorn.Server(config).run(sockets=sockets)
