# SPDX-License-Identifier: MIT
"""What a database says when it cannot, in words for the person who has to mend it."""

from __future__ import annotations

import errno
from pathlib import Path

from middlecut.errors import StoreError

__all__ = ["cannot_prepare", "cannot_write", "told"]

_KEPT = "What was entered is not in the record; everything before it is safe."
_FULL = f"The disk is full. {_KEPT} Make room, then send it again."
_READ_ONLY = (
    f"The record cannot be written to: it is read-only. {_KEPT} Give yourself the right to write "
    "to the file and its folder, or choose another place for the record."
)
_NOT_OPENED = (
    "The record cannot be opened. Check that the folder exists, that you may write to it and that "
    "there is room, or choose another place for the record."
)
_HELD = (
    f"Another program is holding the record. {_KEPT} Close the other program, then send it again."
)
_NO_RECORD = (
    "The file is no record of middlecut, or it is damaged. Nothing was changed; restore a backup "
    "to another place."
)
_APPEND_ONLY = "The record is append-only: what is in it is not changed or deleted."
_TWICE = "The record refused an event: its id is already there. Nothing was kept."
_FAULTY = f"The disk reports a fault. {_KEPT} Copy the record to another disk."
_SILENT = f"The database server does not answer. {_KEPT} Check that it runs and can be reached."
_WORDS = (
    (("disk is full", "no space left", "could not extend file"), _FULL),
    (("readonly database", "read-only", "permission denied"), _READ_ONLY),
    (("unable to open database file",), _NOT_OPENED),
    (("database is locked", "lock timeout", "deadlock"), _HELD),
    (("not a database", "malformed", "file is encrypted"), _NO_RECORD),
    (("append-only",), _APPEND_ONLY),
    (("unique constraint",), _TWICE),
    (("disk i/o error", "input/output error"), _FAULTY),
    (("connection failed", "could not connect", "connection refused"), _SILENT),
    (("server closed the connection", "terminating connection"), _SILENT),
    (("connection is closed", "no such file or directory"), _SILENT),
)


def told(error: Exception, location: str) -> StoreError:
    """Return an error of the database as a sentence.

    Parameters
    ----------
    error : Exception
    location : str
        Where the record is.

    Returns
    -------
    error : StoreError
        To be raised from the first.
    """
    said = str(getattr(error, "orig", None) or error)
    lower = said.lower()
    for marks, words in _WORDS:
        if any(mark in lower for mark in marks):
            return StoreError(f"{words} (The record: {location})")
    first = said.strip().partition("\n")[0]
    return StoreError(f"The record cannot be used: {first}. {_KEPT} (The record: {location})")


_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


def cannot_write(what: str, path: Path, error: Exception) -> StoreError:
    """Return why a file that is made anew, a backup or a restored record, could not be made.

    Parameters
    ----------
    what : str
        "The backup" or "The record".
    path : pathlib.Path
        The name it would have had.
    error : Exception
        Of the system, or of the database on the unfinished file.

    Returns
    -------
    error : StoreError
        To be raised from the first.
    """
    said = str(error)
    if isinstance(error, OSError):
        full = error.errno in _NO_ROOM
        said = error.strerror or said
    else:
        full = _FULL in said
        said = "the disk reports a fault" if _FAULTY in said else said
    if full:
        return StoreError(
            f"{what} {path} cannot be written: the disk is full. Nothing was changed, and what was "
            "written of it is removed. Make room, or choose a place on another disk."
        )
    return StoreError(f"{what} {path} cannot be written ({said}). Nothing was changed.")


def cannot_prepare(path: Path, error: OSError) -> StoreError:
    """Return why the folder of a record cannot be had."""
    return StoreError(
        f"The folder {path.parent} for the record cannot be made ({error.strerror or error}). "
        "Choose another place for the record."
    )
