# SPDX-License-Identifier: MIT
"""Opens the app as ``middlecut open --lan`` does, but under a name that leads to this computer.

A machine that runs tests may be in no network. The name is no secure place for a browser (no
locks, no service worker), and whoever comes by it counts as another device: just as with a phone.
Usage: python named_shed.py RECORD PORT NAME
"""

from __future__ import annotations

import sys
from dataclasses import replace

from middlecut.adapters.shelf import LocalShelf
from middlecut.adapters.system import RandomIds, SystemClock
from middlecut.app.record import Record
from middlecut.web.application import create_app
from middlecut.web.services import Services
from middlecut.web.serving import bind, serve


def main(place: str, port: str, name: str) -> None:
    sockets, address = bind(int(port) or None, shared=False)
    address = replace(address, names=address.names | {name}, reachable=name)
    store = LocalShelf().open(place)
    try:
        services = Services(Record(store, SystemClock(), RandomIds()), address)
        serve(create_app(services), sockets, services, say=_say, browse=False)
    finally:
        store.close()


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
