# SPDX-License-Identifier: MIT
"""Whether rows are a whole and undamaged record: places without gaps, digests that chain."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from middlecut.app.codec import ROOT_DIGEST, digest_of, row_to_mapping, to_event
from middlecut.app.events import Row
from middlecut.errors import StoreError

__all__ = ["check_rows"]


def check_rows(rows: Iterable[Row]) -> Iterator[Row]:
    """Give rows on, as long as they are a whole and undamaged record.

    Raises
    ------
    StoreError
        At the first row that is missing, damaged or out of order.
    """
    digest, versions = ROOT_DIGEST, dict[str, int]()
    for count, row in enumerate(rows, start=1):
        version = versions.get(row.stream, 0) + 1
        if (row.sequence, row.version) != (count, version):
            raise StoreError(f"The record has a gap before event {row.sequence}.")
        if row.digest != digest_of(row_to_mapping(row), digest):
            raise StoreError(f"Event {row.sequence} of the record was damaged or changed.")
        to_event(row)
        digest, versions[row.stream] = row.digest, version
        yield row
