# SPDX-License-Identifier: MIT
"""Where records are on this machine; how one is opened, copied into a file and put back."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from shutil import copyfile

from middlecut.adapters.engines import url_of
from middlecut.adapters.store_sql import SqlStore
from middlecut.adapters.troubles import cannot_write, told
from middlecut.app.events import Row
from middlecut.app.exporting import read_json_lines
from middlecut.app.ports import Restored, Store
from middlecut.app.verifying import rebuild
from middlecut.errors import ConflictError, InputError, NotFoundError, StoreError

__all__ = ["LocalShelf"]

VARIABLE = "MIDDLECUT_RECORD"
"""Environment variable that names another place than the user's data folder."""

_COMPANIONS = ("-wal", "-shm", "-journal")


class LocalShelf:
    """Records in files of this machine, or in a PostgreSQL database."""

    def default_place(self) -> str:
        """Return where the record is when nobody says otherwise."""
        chosen = os.environ.get(VARIABLE)
        if chosen:
            return chosen
        import platformdirs  # noqa: PLC0415 - only when nobody says otherwise

        folder = Path(platformdirs.user_data_dir("middlecut", appauthor=False))
        return str(folder / "record.sqlite")

    def open(self, place: str | None = None, *, make: bool = True) -> SqlStore:
        """Open a record; with ``make`` a new one if there is none, else NotFoundError."""
        where = place or self.default_place()
        if not make and url_of(where) is None and not Path(where).expanduser().is_file():
            raise NotFoundError("record", where)
        return SqlStore(where)

    def back_up(self, store: Store, file: Path, *, force: bool = False) -> int:
        """Write the whole record into one file; return how many events it has.

        The file is complete and checked before it gets its name.
        """
        if file.exists() and not force:
            raise InputError("FILE", str(file), "that file exists", "Name another, or add --force.")
        part = file.with_name(f".{file.name}.part")
        with _explaining("The backup", file, part), _tidy(part):
            count = _write(store.rows(), part)
            _settle(part, file)
        return count

    def restore(self, file: Path, place: str | None = None, *, force: bool = False) -> Restored:
        """Put a backup, or an export in JSON Lines, in the place of the record.

        A record that is there already is set aside under another name, and only with ``force``.
        """
        if not file.is_file():
            raise NotFoundError("file", str(file))
        where = place or self.default_place()
        if url_of(where) is not None:
            return self._restore_into_server(file, where)
        target = Path(where).expanduser().absolute()
        if target.exists() and _has_events(target) and not force:
            raise ConflictError(
                f"There is already a record at {target}. Add --force to set it aside under another "
                "name and put the backup in its place."
            )
        if target.exists() and target.samefile(file):
            raise InputError("FILE", str(file), "that is the record itself", "Name a backup.")
        part = target.with_name(f".{target.name}.part")
        with _explaining("The record", target, part), _tidy(part):
            with _rows_of(file) as rows:
                count = _write(rows, part)
            aside = _set_aside(target) if target.exists() else ""
            _settle(part, target)
        return Restored(count, str(target), aside)

    def _restore_into_server(self, file: Path, where: str) -> Restored:
        store = SqlStore(where)
        try:
            with _rows_of(file) as rows:
                count = store.load_rows(rows)
            rebuild(store)
        finally:
            store.close()
        return Restored(count, store.location)


@contextlib.contextmanager
def _explaining(what: str, path: Path, part: Path) -> Iterator[None]:
    """Say why a file cannot be made; errors of the record it is made from pass."""
    try:
        yield
    except OSError as error:
        raise cannot_write(what, path, error) from error
    except StoreError as error:
        if str(part.absolute()) not in str(error):
            raise
        raise cannot_write(what, path, error) from error


@contextlib.contextmanager
def _tidy(part: Path) -> Iterator[None]:
    """Leave no unfinished file behind."""
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            _remove(part)


def _write(rows: Iterable[Row], part: Path) -> int:
    """Make a new record file of rows, with its projections."""
    _remove(part)
    store = SqlStore(part)
    try:
        count = store.load_rows(rows)
        rebuild(store)
    finally:
        store.close()
    _single_file(part)
    return count


@contextlib.contextmanager
def _rows_of(file: Path) -> Iterator[Iterator[Row]]:
    """Give the rows of a backup or export without touching the file itself."""
    with file.open("rb") as opened:
        sqlite = opened.read(16) == b"SQLite format 3\x00"
    if not sqlite:
        try:
            with file.open(encoding="utf-8") as lines:
                yield read_json_lines(lines)
        except UnicodeDecodeError:
            raise StoreError(f"{file} is neither a backup nor an export in JSON Lines.") from None
        return
    with tempfile.TemporaryDirectory(prefix="middlecut-") as folder:
        copy = Path(folder) / "copy.sqlite"
        try:
            copyfile(file, copy)
        except OSError as error:
            raise cannot_write("The working copy", copy, error) from error
        store = SqlStore(copy)
        try:
            yield store.rows()
        finally:
            store.close()


def _has_events(path: Path) -> bool:
    store = SqlStore(path)
    try:
        return store.last_sequence() > 0
    finally:
        store.close()


def _single_file(path: Path) -> None:
    """Bring all of a record into its one file; refused while another program has it open."""
    try:
        with contextlib.closing(sqlite3.connect(path, timeout=2.0)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.Error as error:
        raise told(error, str(path)) from error


def _set_aside(target: Path) -> str:
    _single_file(target)
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    aside = target.with_name(f"{target.stem}.before-{moment}{target.suffix}")
    number = 1
    while aside.exists():
        number += 1
        aside = target.with_name(f"{target.stem}.before-{moment}-{number}{target.suffix}")
    target.rename(aside)
    return str(aside)


def _settle(part: Path, target: Path) -> None:
    """Give a finished file its name, on disk before this returns."""
    with part.open("rb+") as opened:
        os.fsync(opened.fileno())
    part.replace(target)
    if hasattr(os, "O_DIRECTORY"):
        folder = os.open(target.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _remove(path: Path) -> None:
    for name in (path.name, *(f"{path.name}{end}" for end in _COMPANIONS)):
        path.with_name(name).unlink(missing_ok=True)
