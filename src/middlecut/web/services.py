# SPDX-License-Identifier: MIT
"""What the pages are given to work with; built in bootstrap and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from middlecut.app.own_library import OwnLibrary
from middlecut.web.pairing import PairingDesk

if TYPE_CHECKING:
    from middlecut.app.ranges import Ranges
    from middlecut.app.record import Record

__all__ = ["LOOPBACK_NAMES", "Address", "Services"]

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost"})
"""Names under which the computer itself may be asked: only what the app listens on."""


@dataclass(frozen=True, slots=True)
class Address:
    """Where the app listens and by which names it may be called.

    Parameters
    ----------
    port : int
    names : frozenset of str
        Host names and addresses that are answered; anything else is refused.
    reachable : str
        Address a phone in the same network can use; "" when only this computer can.
    """

    port: int = 8460
    names: frozenset[str] = LOOPBACK_NAMES
    reachable: str = ""

    @property
    def shared(self) -> bool:
        """Whether other devices can reach the app."""
        return bool(self.reachable)

    def link(self, path: str = "/") -> str:
        """Return the full address of a page, for another device when there may be one."""
        host = self.reachable or "127.0.0.1"
        return f"http://{f'[{host}]' if ':' in host else host}:{self.port}{path}"


@dataclass(frozen=True, slots=True)
class Services:
    """Everything a page may use.

    Parameters
    ----------
    record : Record
        The use cases over the record; the only way to read or write it. Its clock is read once a
        request.
    address : Address
    desk : PairingDesk
        Lets new devices in.
    body_limit : int
        Largest request body. [bytes]
    ranges : Ranges or None
        Works out ranges in the background; None: pages show predictions without them.
    library : OwnLibrary
        The person's file of ingredients and compounds.
    """

    record: Record
    address: Address = field(default_factory=Address)
    desk: PairingDesk = field(default_factory=PairingDesk)
    body_limit: int = 2_000_000
    ranges: Ranges | None = None
    library: OwnLibrary = field(default_factory=OwnLibrary)
