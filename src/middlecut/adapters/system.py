# SPDX-License-Identifier: MIT
"""The clock and the ids of the real world."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

__all__ = ["RandomIds", "SystemClock"]


class SystemClock:
    """The clock of this machine."""

    def now(self) -> datetime:
        """Return the time in UTC."""
        return datetime.now(UTC)


class RandomIds:
    """Ids of 32 hexadecimal digits by chance."""

    def new(self) -> str:
        """Return an id nobody else has."""
        return uuid.uuid4().hex
