# SPDX-License-Identifier: MIT
"""What a database says when it cannot, in words for the person who has to mend it."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from middlecut.errors import StoreError

__all__ = ["cannot_prepare", "cannot_write", "told"]

_KEPT = "What was entered is not in the record; everything before it is safe."
_FULL = f"The disk is full. {_KEPT} Make room, then send it again."
_READ_ONLY = (
    f"The record cannot be written to: it is read-only. {_KEPT} Give yourself the right to write "
    "to the file and its folder, or choose another place for the record."
)
_ELSEWHERE = (
    "Choose another place for the record with --record FILE (middlecut open takes --data FILE "
    "too), or set MIDDLECUT_RECORD to one."
)
_NOT_OPENED = "The record cannot be opened"
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
            why = f": {_hindrance(Path(location))}. {_ELSEWHERE}" if words is _NOT_OPENED else ""
            return StoreError(f"{words}{why} (The record: {location})")
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
    """Return why the folder of a record cannot be had, and what to do.

    Parameters
    ----------
    path : pathlib.Path
        Of the record.
    error : OSError
        What the system said.

    Returns
    -------
    error : StoreError
        To be raised from the first.
    """
    why = "the disk is full" if error.errno in _NO_ROOM else _hindrance(path, error.strerror or "")
    return StoreError(
        f"The folder {path.parent} for the record cannot be made: {why}. {_ELSEWHERE}"
    )


def _hindrance(path: Path, said: str = "") -> str:
    """Return what keeps a file from being written, as a clause."""
    if path.is_dir():
        return f"{path} is a folder, and a file is wanted"
    if path.is_file() and not os.access(path, os.R_OK | os.W_OK):
        return f"you may not read and write {path}"
    there = next((one for one in path.absolute().parents if one.exists()), path)
    if not there.is_dir():
        return f"{there} is a file, and a folder is wanted"
    if not os.access(there, os.W_OK):
        return f"you may not write to {there}"
    if not path.parent.exists() and not said:
        return f"there is no folder {path.parent}"
    return said or "the file or its folder does not let itself be written, or there is no room"
