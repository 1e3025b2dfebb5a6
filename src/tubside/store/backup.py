"""Copies of a whole store: one SQLite file each, checked after writing.

A backup is made while the store is in use, from one moment of it. It counts only
once it was read again and holds the same rows, so it is written aside first. The
shop's own models and layers go into tables of their own, which no store has.
"""

from __future__ import annotations

import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from tubside.errors import StoreError
from tubside.store.content import Content, content_without, copy_rows
from tubside.store.model_files import (
    KINDS,
    LAYER,
    MODEL,
    ModelFiles,
    models_at,
    models_in,
    put_models,
)
from tubside.store.naming import address_of, keep_names
from tubside.store.opening import connect, connect_reading, transaction
from tubside.store.tables import METADATA
from tubside.store.versions import stamp

TABLES = tuple(kind.table for kind in KINDS)


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was written and checked; ``content`` is that of the store."""

    file: Path
    content: Content
    models: ModelFiles
    layers: ModelFiles


def write_backup(engine: Engine, file: Path, home: Path) -> Backup:
    """Copy the store, and the folders of models and layers in ``home``, and read it again.

    Raises
    ------
    StoreError
        When the file is there already, cannot be written, or does not hold the same.
    """
    if file.exists():
        msg = f"{file} is there already; name another file"
        raise StoreError(msg)
    aside = file.with_name(f"{file.name}.partial")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        aside.unlink(missing_ok=True)
        aside.touch(mode=0o600)
        with transaction(engine, writes=False) as source:
            _, wanted = content_without(source, *TABLES)
            _copy(source, aside)
        seal(aside)
        taken = {kind: models_at(home / kind.folder, kind) for kind in KINDS}
        for kind, found in taken.items():
            put_models(found.files, aside, kind)
        seal(aside, _number(_checked(aside, wanted)))
        _settle(aside, file)
    except OSError as wrong:
        msg = f"the backup {file} cannot be written: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    finally:
        aside.unlink(missing_ok=True)
    return Backup(file, wanted, taken[MODEL], taken[LAYER])


def check_backup(file: Path) -> Content:
    """Read a whole backup and tell what it holds of a store, models and layers not counted.

    Raises
    ------
    StoreError
        When it is no backup, damaged, or holds a file under a name that none has.
    """
    return _contents(file)[1]


def seal(file: Path, number: int = 0) -> None:
    """Make a copy one file with nothing beside it, and write a number into its head.

    The number is part of the digest of what the copy holds, as SQLite's own check
    does not notice an altered letter; 0 says that the file is in use and changes.
    """
    opened = sqlite3.connect(file)
    try:
        opened.execute("PRAGMA journal_mode=DELETE")
        opened.execute(f"PRAGMA user_version={number}")
    finally:
        opened.close()


def _settle(aside: Path, file: Path) -> None:
    """Give a finished file its name, for good: also when the power goes."""
    with aside.open("rb") as written:
        os.fsync(written.fileno())
    aside.replace(file)
    keep_names(file.parent)


def _copy(source: Connection, file: Path) -> None:
    if source.dialect.name != "sqlite":
        _copy_from_server(source, file)
        return
    target = sqlite3.connect(file)
    try:
        cast("sqlite3.Connection", source.connection.dbapi_connection).backup(target)
    finally:
        target.close()


def _copy_from_server(source: Connection, file: Path) -> None:
    engine = connect(address_of(file))
    try:
        with transaction(engine, writes=True) as target:
            METADATA.create_all(target)
            stamp(target)
            copy_rows(source, target)
    finally:
        engine.dispose()


def _number(content: Content) -> int:
    return 1 + int(content.digest[:7], 16)


def _checked(file: Path, wanted: Content) -> Content:
    whole, content = _contents(file)
    if content != wanted:
        msg = f"the backup {file} does not hold what the store holds; it was thrown away"
        raise StoreError(msg)
    return whole


def _contents(file: Path) -> tuple[Content, Content]:
    """All that a backup holds, and what of it is a store's; checked."""
    if not file.is_file():
        msg = f"there is no file {file}"
        raise StoreError(msg)
    number = _sound(file)
    whole, content = _read(file)
    if number not in {0, _number(whole)}:
        msg = f"{file} was altered after it was written; use another one"
        raise StoreError(msg)
    for kind in KINDS:
        models_in(file, kind)
    return whole, content


def _sound(file: Path) -> int:
    """The number in the head of a file in which SQLite finds no damage."""
    opened = sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)
    number = 0
    try:
        found = [row[0] for row in opened.execute("PRAGMA integrity_check")]
        found += ["a row refers to nothing" for _ in opened.execute("PRAGMA foreign_key_check")]
        number = int(opened.execute("PRAGMA user_version").fetchone()[0])
    except sqlite3.DatabaseError as wrong:
        found = [str(wrong)]
    finally:
        opened.close()
    if found != ["ok"]:
        msg = f"{file} is damaged or no backup: {found[0]}; use another one"
        raise StoreError(msg)
    return number


def _read(file: Path) -> tuple[Content, Content]:
    engine = connect_reading(file)
    try:
        with transaction(engine, writes=False) as opened:
            return content_without(opened, *TABLES)
    except DBAPIError as wrong:
        msg = f"{file} is no backup: {wrong.orig}"
        raise StoreError(msg) from wrong
    finally:
        engine.dispose()
