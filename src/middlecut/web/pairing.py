# SPDX-License-Identifier: MIT
"""Let a phone or tablet in: one-time codes, few attempts, only digests of the secrets kept.

A code lives in memory for ten minutes and works once. What it buys is a secret in a cookie; the
record keeps the SHA-256 of that secret (see ``device.paired``), so a copy of the record lets nobody
in. Accounts for teams will take the place of :func:`digest_of` lookups in
:mod:`middlecut.web.gate`; nothing else knows who is asking.
"""

from __future__ import annotations

import hashlib
import secrets
from collections import deque
from datetime import datetime, timedelta
from threading import Lock

__all__ = ["COOKIE", "PairingDesk", "TooManyAttempts", "digest_of", "new_secret"]

COOKIE = "middlecut_device"
"""Name of the cookie that carries a device's secret."""

_ALPHABET = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # nothing that looks like something else
_LENGTH = 10
_LIFETIME = timedelta(minutes=10)
_WINDOW = timedelta(minutes=10)
_MOST_FROM_ONE = 5
_MOST_FROM_ALL = 20


class TooManyAttempts(Exception):  # noqa: N818 - a state of the desk, not a fault
    """Wrong codes came too often; nobody is let in for a while."""


def digest_of(secret: str) -> str:
    """Return the SHA-256 of a secret in hexadecimal."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def new_secret() -> str:
    """Return a secret of 256 random bits."""
    return secrets.token_urlsafe(32)


class PairingDesk:
    """Hands out one-time codes and takes them back; safe to use from several threads."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._code = ""
        self._until: datetime | None = None
        self._failures: deque[tuple[datetime, str]] = deque(maxlen=1000)

    def offer(self, now: datetime) -> str:
        """Return the code that holds, a new one if the last was used or has run out."""
        with self._lock:
            if not self._holds(now):
                self._code = "".join(secrets.choice(_ALPHABET) for _ in range(_LENGTH))
                self._until = now + _LIFETIME
            return self._code

    def redeem(self, code: str, *, client: str, now: datetime) -> bool:
        """Return whether the code lets a device in, and use it up if it does.

        Raises
        ------
        TooManyAttempts
            If this address or all together gave too many wrong codes in ten minutes.
        """
        with self._lock:
            recent = [one for one in self._failures if now - one[0] < _WINDOW]
            own = sum(address == client for _, address in recent)
            if own >= _MOST_FROM_ONE or len(recent) >= _MOST_FROM_ALL:
                raise TooManyAttempts
            given = code.strip().upper().replace("-", "").replace(" ", "")
            good = self._holds(now) and secrets.compare_digest(
                given.encode("utf-8", "surrogatepass"), self._code.encode()
            )
            if good:
                self._code, self._until = "", None
            else:
                self._failures.append((now, client))
            return good

    def _holds(self, now: datetime) -> bool:
        return bool(self._code) and self._until is not None and now < self._until
