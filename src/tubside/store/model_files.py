"""The shop's own models inside a backup: the files of their folder, as rows of one table.

Only a backup has the table; a backup of before it had any is told by its absence.
Names are those that the program itself gives, so no row can lead out of the folder.
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from tubside.errors import StoreError
from tubside.store.naming import keep_names

TABLE = "model_files"
DRAFTS = "drafts"
MODEL_NAME = re.compile(r"(?=[^.]{1,60}\.)[a-z0-9]+(-[a-z0-9]+)*\.(yaml|jpg)")
"""A model or its photo: the id of a panel, as it is checked when a model is kept."""
DRAFT_NAME = re.compile(rf"{DRAFTS}/[0-9a-f]{{32}}\.(json|photo\.jpg|straight\.jpg)")
LARGEST = 64 * 2**20
"""How large one file may be [bytes]; a photo has 3 MiB at most when the program wrote it."""
TRIES = 5


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """Name below the folder -> content; and what else lies there, which is not taken."""

    files: dict[str, bytes]
    left_out: tuple[str, ...] = ()


def models_at(folder: Path) -> ModelFiles:
    """Read a folder of models, at a moment when nobody changes it.

    Raises
    ------
    StoreError
        When it changes all the time.
    OSError
        When a file cannot be read.
    """
    before = None
    for _ in range(TRIES):
        try:
            now = _read(folder)
        except FileNotFoundError:  # a file went away in the middle
            continue
        if now == before:
            return now
        before = now
    msg = f"the models in {folder} are being changed; try again in a moment"
    raise StoreError(msg)


def put_models(files: dict[str, bytes], backup: Path) -> None:
    """Write files of models into a backup that is being made, and read them again.

    Raises
    ------
    StoreError
        When it does not hold the same afterwards.
    """
    try:
        with closing(sqlite3.connect(backup)) as opened, opened:
            opened.execute(f"DROP TABLE IF EXISTS {TABLE}")
            opened.execute(
                f"CREATE TABLE {TABLE} (name TEXT NOT NULL PRIMARY KEY, content BLOB NOT NULL)"
            )
            opened.executemany(f"INSERT INTO {TABLE} VALUES (?, ?)", sorted(files.items()))  # noqa: S608  # a constant
    except sqlite3.Error as wrong:
        msg = f"the models cannot be written into {backup}: {wrong}"
        raise StoreError(msg) from wrong
    if models_in(backup) != files:
        msg = f"the backup {backup} does not hold the models that are there; it was thrown away"
        raise StoreError(msg)


def models_in(backup: Path) -> dict[str, bytes] | None:
    """The files of models in a backup; None when it was made without any.

    Raises
    ------
    StoreError
        When it is damaged, or holds a name that no file of a model has.
    """
    try:
        address = f"{backup.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True)) as opened:
            there = opened.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (TABLE,))
            if there.fetchone() is None:
                return None
            rows = opened.execute(f"SELECT name, content FROM {TABLE}").fetchall()  # noqa: S608  # a constant
    except sqlite3.Error as wrong:
        msg = f"the models in {backup} cannot be read: {wrong}; use another backup"
        raise StoreError(msg) from wrong
    for name, content in rows:
        if not isinstance(name, str) or not is_name(name) or not isinstance(content, bytes):
            msg = f"{backup} holds {name!a:.60}, which is no file of a model; use another backup"
            raise StoreError(msg)
    return dict(rows)


def drop_models(file: Path) -> None:
    """Take the files of models out of a copy of a backup, so that a plain store is left."""
    with closing(sqlite3.connect(file)) as opened:
        opened.execute(f"DROP TABLE IF EXISTS {TABLE}")
        opened.execute("VACUUM")


def lay_out(files: dict[str, bytes], folder: Path) -> None:
    """Write files of models into a new folder, for good, and read them again.

    Raises
    ------
    StoreError
        When they are not the same on the disk.
    """
    folder.mkdir(mode=0o700)
    for name, content in files.items():
        file = folder / name
        file.parent.mkdir(mode=0o700, exist_ok=True)
        with file.open("xb") as opened:
            opened.write(content)
            opened.flush()
            os.fsync(opened.fileno())
    for place in {folder, *((folder / name).parent for name in files)}:
        keep_names(place)
    if _read(folder) != ModelFiles(files):
        msg = "the models that were written are not those of the backup; nothing was changed"
        raise StoreError(msg)


def is_name(name: str) -> bool:
    """Whether a name below the folder is one that the program gives to a file there."""
    return any(kind.fullmatch(name) for kind in (MODEL_NAME, DRAFT_NAME))


def model_count(files: dict[str, bytes]) -> int:
    """How many models there are among files, without drafts."""
    return sum(name.endswith(".yaml") for name in files)


def _read(folder: Path) -> ModelFiles:
    files, left_out = {}, []
    for path in _paths(folder):
        name = path.relative_to(folder).as_posix()
        plain = path.is_file() and not path.is_symlink()
        if plain and is_name(name) and path.stat().st_size <= LARGEST:
            files[name] = path.read_bytes()
        else:
            left_out.append(name)
    return ModelFiles(files, tuple(left_out))


def _paths(folder: Path) -> list[Path]:
    """What lies in the folder and its drafts, without the hidden files of a write cut short."""
    found: list[Path] = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.name == DRAFTS and path.is_dir() and not path.is_symlink():
            found += (draft for draft in sorted(path.iterdir()) if draft.name[0] != ".")
        elif path.name[0] != ".":
            found.append(path)
    return found
