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
from tubside.store.model_files import drop_models, lay_out, models_at, models_in
from tubside.store.naming import DATABASE, MODELS, address_of, dated, keep_names
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
    """

    old_data: Path | None
    models: dict[str, bytes] | None
    old_models: Path | None


@dataclass(frozen=True, slots=True)
class _Ready:
    """A restored database and models in a folder aside, whole and up to date."""

    file: Path
    models: dict[str, bytes] | None

    def moves(self, models: Path, name: str) -> Moves:
        """The renames that put the models in place of those that are there."""
        if self.models is None or models_at(models).files == self.models:
            return []
        moves = []
        if models.exists():
            moves.append((models, models.with_name(f"{Path(name).stem}-{MODELS}")))
        if self.models:
            moves.append((self.file.with_name(MODELS), models))
        return moves

    def restored(self, old: Path | None, moves: Moves, models: Path) -> Restored:
        """What to tell once the renames were done."""
        kept = [aside for there, aside in moves if there == models]
        return Restored(old, self.models, kept[0] if kept else None)


def restore_file(backup: Path, file: Path, models: Path, clock: Callable[[], datetime]) -> Restored:
    """Put a backup in the place of a database file, and its models in that of a folder.

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
            moves, old = ready.moves(models, name), file.with_name(name)
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
    return ready.restored(old if there else None, moves, models)


def restore_server(backup: Path, url: str, models: Path, clock: Callable[[], datetime]) -> Restored:
    """Copy a backup into an empty PostgreSQL database, and its models into a folder here.

    Raises
    ------
    StoreError
        When the backup is damaged, or the database is not empty.
    """
    check_backup(backup)
    beside = models.parent if models_in(backup) else None
    name = dated("before-restore", clock())
    try:
        if beside is not None:
            beside.mkdir(parents=True, exist_ok=True, mode=0o700)
        with TemporaryDirectory(prefix=".restoring-", dir=beside) as folder:
            ready = _made_ready(backup, Path(folder), clock)
            moves = ready.moves(models, name)
            with _moved(moves):
                _fill_server(ready.file, url, backup, clock)
                if moves:
                    keep_names(models.parent)
    except OSError as wrong:
        msg = f"the models in {models} cannot be written: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    return ready.restored(None, moves, models)


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
    wanted, models = check_backup(file), models_in(file)
    if models:
        lay_out(models, folder / MODELS)
    if models is not None:
        drop_models(file)
    seal(file)
    _same(check_backup(file), wanted, backup)
    open_store(address_of(file), clock).close()
    seal(file)
    with file.open("rb") as written:
        os.fsync(written.fileno())
    return _Ready(file, models)


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
