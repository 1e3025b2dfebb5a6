"""Bring a backup back: checked before and after, the data it replaces kept beside it."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.errors import StoreError
from tubside.store.backup import check_backup, seal, settle
from tubside.store.content import Content, content_of, copy_rows, is_empty
from tubside.store.naming import address_of, dated
from tubside.store.upgrading import open_store


def restore_file(backup: Path, file: Path, clock: Callable[[], datetime]) -> Path | None:
    """Put a backup in the place of a database file; where the old one is now, if any.

    Raises
    ------
    StoreError
        When the backup is damaged, or the old database is in use.
    """
    wanted = check_backup(backup)
    aside = file.with_name(f"{file.name}.partial")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        aside.unlink(missing_ok=True)
        aside.touch(mode=0o600)
        shutil.copyfile(backup, aside)
        _same(check_backup(aside), wanted, backup)
        seal(aside)
        old = _set_aside(file, clock)
        settle(aside, file)
    except OSError as wrong:
        msg = f"{file} cannot be written: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    finally:
        aside.unlink(missing_ok=True)
    open_store(address_of(file), clock).close()  # an older backup is brought up to date
    return old


def restore_server(backup: Path, url: str, clock: Callable[[], datetime]) -> None:
    """Copy a backup into an empty PostgreSQL database.

    Raises
    ------
    StoreError
        When the backup is damaged, or the database is not empty.
    """
    check_backup(backup)
    with tempfile.TemporaryDirectory() as folder:
        newest = Path(folder) / "newest.sqlite"
        shutil.copyfile(backup, newest)
        seal(newest)
        source, target = open_store(address_of(newest), clock), open_store(url, clock)
        try:
            with source.reading() as old, target.writing() as new:
                if not is_empty(new):
                    msg = "this database is not empty; make a new one and name that"
                    raise StoreError(msg)
                copy_rows(old, new)
                _same(content_of(new), content_of(old), backup)
        finally:
            source.close()
            target.close()


def _same(found: Content, wanted: Content, backup: Path) -> None:
    if found != wanted:
        msg = f"what was restored from {backup} is not what it holds; nothing was changed"
        raise StoreError(msg)


def _set_aside(file: Path, clock: Callable[[], datetime]) -> Path | None:
    if not file.exists():
        return None
    _refuse_in_use(file)
    old = file.with_name(dated("before-restore", clock()))
    file.rename(old)
    for log in ("-wal", "-shm"):  # of a damaged one: never to be taken for the new file's
        beside = file.with_name(file.name + log)
        if beside.exists():
            beside.rename(old.with_name(old.name + log))
    return old


def _refuse_in_use(file: Path) -> None:
    """Fold the log into the file, which works only while nobody else has it open."""
    opened = sqlite3.connect(file, timeout=0)
    try:
        mode = opened.execute("PRAGMA journal_mode=DELETE").fetchone()[0]
    except sqlite3.OperationalError:
        mode = "in use"
    except sqlite3.DatabaseError:
        return  # damaged: the reason to restore; it is kept as it is
    finally:
        opened.close()
    if mode != "delete":
        msg = f"{file} is in use; stop the server first"
        raise StoreError(msg)
