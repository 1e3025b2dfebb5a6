"""Bring a backup back: checked before and after, the data it replaces kept beside it.

All is made ready in a folder aside. Only renames follow, which are taken back when one
of them fails, so that nothing is restored by half.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from tubside.errors import StoreError
from tubside.store.backup import check_backup, seal
from tubside.store.content import Content, content_of, copy_rows, is_empty
from tubside.store.folders import DATABASE
from tubside.store.model_files import (
    KINDS,
    LAYER,
    MODEL,
    Kind,
    drop_models,
    lay_out,
    models_at,
    models_in,
)
from tubside.store.naming import address_of, dated, keep_names
from tubside.store.upgrading import open_store

Moves = list[tuple[Path, Path]]


@dataclass(frozen=True, slots=True)
class Restored:
    """What came back, and where that is now which was there before.

    Parameters
    ----------
    old_data
        The database that was replaced; None if there was none.
    models
        The files of models by name; None when the backup was made without any, and
        those that are there were left alone.
    old_models
        The folder of models that was replaced; None if there was none, or the same.
    layers, old_layers
        The same of the shop's own changes on packs.
    """

    old_data: Path | None
    models: dict[str, bytes] | None
    old_models: Path | None
    layers: dict[str, bytes] | None
    old_layers: Path | None


@dataclass(frozen=True, slots=True)
class _Ready:
    """A restored database and folders in a folder aside, whole and up to date."""

    file: Path
    files: dict[Kind, dict[str, bytes] | None]

    def moves(self, home: Path, name: str) -> Moves:
        """The renames that put its folders in place of those that are there."""
        return [move for kind in KINDS for move in self._moves(kind, home / kind.folder, name)]

    def _moves(self, kind: Kind, place: Path, name: str) -> Moves:
        files = self.files[kind]
        if files is None or models_at(place, kind).files == files:
            return []
        moves = []
        if place.exists():
            moves.append((place, place.with_name(f"{Path(name).stem}-{kind.folder}")))
        if files:
            moves.append((self.file.with_name(kind.folder), place))
        return moves

    def restored(self, old: Path | None, moves: Moves, home: Path) -> Restored:
        """What to tell once the renames were done."""
        kept = dict(moves)
        models, layers = home / MODEL.folder, home / LAYER.folder
        return Restored(
            old, self.files[MODEL], kept.get(models), self.files[LAYER], kept.get(layers)
        )


def restore_file(backup: Path, file: Path, clock: Callable[[], datetime]) -> Restored:
    """Put a backup in the place of a database file, its models and layers beside that.

    Raises
    ------
    StoreError
        When the backup is damaged, or the old database is in use.
    """
    check_backup(backup)
    name = dated("before-restore", clock())
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with TemporaryDirectory(prefix=".restoring-", dir=file.parent) as folder:
            ready = _made_ready(backup, Path(folder), clock)
            moves, old = ready.moves(file.parent, name), file.with_name(name)
            there = file.exists()
            if there:
                _refuse_in_use(file)
            # a log of a damaged one is never to be taken for the new file's
            logs = [(_beside(file, log), _beside(old, log)) for log in ("-wal", "-shm")]
            rest = [(was, now) for was, now in [(file, old), *logs] if was.exists()]
            with _moved([*moves, *rest, (ready.file, file)]):
                keep_names(file.parent)
    except OSError as wrong:
        msg = f"{file} cannot be written: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    return ready.restored(old if there else None, moves, file.parent)


def restore_server(backup: Path, url: str, home: Path, clock: Callable[[], datetime]) -> Restored:
    """Copy a backup into an empty PostgreSQL database, its models and layers to a folder here.

    Raises
    ------
    StoreError
        When the backup is damaged, or the database is not empty.
    """
    check_backup(backup)
    beside = home if any(models_in(backup, kind) for kind in KINDS) else None
    name = dated("before-restore", clock())
    try:
        if beside is not None:
            beside.mkdir(parents=True, exist_ok=True, mode=0o700)
        with TemporaryDirectory(prefix=".restoring-", dir=beside) as folder:
            ready = _made_ready(backup, Path(folder), clock)
            moves = ready.moves(home, name)
            with _moved(moves):
                _fill_server(ready.file, url, backup, clock)
                if moves:
                    keep_names(home)
    except OSError as wrong:
        msg = f"the models and layers in {home} cannot be written: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    return ready.restored(None, moves, home)


def _fill_server(file: Path, url: str, backup: Path, clock: Callable[[], datetime]) -> None:
    source, target = open_store(address_of(file), clock), open_store(url, clock)
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


def _made_ready(backup: Path, folder: Path, clock: Callable[[], datetime]) -> _Ready:
    """Copy a backup into a folder, part it, check both parts, and bring it up to date."""
    file = folder / DATABASE
    file.touch(mode=0o600)
    shutil.copyfile(backup, file)
    wanted, files = check_backup(file), {kind: models_in(file, kind) for kind in KINDS}
    for kind, found in files.items():
        if found:
            lay_out(found, folder / kind.folder, kind)
    drop_models(file)
    seal(file)
    _same(check_backup(file), wanted, backup)
    open_store(address_of(file), clock).close()
    seal(file)
    with file.open("rb") as written:
        os.fsync(written.fileno())
    return _Ready(file, files)


@contextmanager
def _moved(moves: Moves) -> Iterator[None]:
    """Rename one after the other; back again if one fails, or what is done meanwhile."""
    done: Moves = []
    try:
        for there, place in moves:
            there.rename(place)
            done.append((there, place))
        yield
    except BaseException:
        for there, place in reversed(done):
            place.rename(there)
        raise


def _beside(file: Path, ending: str) -> Path:
    return file.with_name(file.name + ending)


def _same(found: Content, wanted: Content, backup: Path) -> None:
    if found != wanted:
        msg = f"what was restored from {backup} is not what it holds; nothing was changed"
        raise StoreError(msg)


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
