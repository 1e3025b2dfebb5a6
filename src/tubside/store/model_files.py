"""The shop's own models and layers inside a backup: files of a folder, as rows of a table.

Only a backup has these tables; a backup of before it had one is told by its absence.
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
from tubside.store.folders import LAYERS, MODELS
from tubside.store.naming import keep_names

TABLE = "model_files"
DRAFTS = "drafts"
MODEL_NAME = re.compile(r"(?=[^.]{1,60}\.)[a-z0-9]+(-[a-z0-9]+)*\.(yaml|jpg)")
"""A model or its photo: the id of a panel, as it is checked when a model is kept."""
DRAFT_NAME = re.compile(rf"{DRAFTS}/[0-9a-f]{{32}}\.(json|photo\.jpg|straight\.jpg)")
LAYER_NAME = re.compile(r"(?=[^.]{1,60}\.)[a-z0-9]+(_[a-z0-9]+)*\.yaml")
"""A layer: the id of the family whose pack it lies on."""
LARGEST = 64 * 2**20
"""How large one file may be [bytes]; a photo has 3 MiB at most when the program wrote it."""
TRIES = 5


@dataclass(frozen=True, slots=True)
class Kind:
    """Files of a shop that go into a backup.

    Parameters
    ----------
    word
        What one of them is called.
    folder, table
        Where they are in the data folder, and in a backup.
    names
        The names below the folder that the program gives.
    below
        The one folder inside that is looked into; None for none.
    """

    word: str
    folder: str
    table: str
    names: tuple[re.Pattern[str], ...]
    below: str | None = None


MODEL = Kind("model", MODELS, TABLE, (MODEL_NAME, DRAFT_NAME), DRAFTS)
LAYER = Kind("layer", LAYERS, "layer_files", (LAYER_NAME,))
KINDS = (MODEL, LAYER)


@dataclass(frozen=True, slots=True)
class ModelFiles:
    """Name below the folder -> content; and what else lies there, which is not taken."""

    files: dict[str, bytes]
    left_out: tuple[str, ...] = ()


def models_at(folder: Path, kind: Kind = MODEL) -> ModelFiles:
    """Read a folder of models or layers, at a moment when nobody changes it.

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
            now = _read(folder, kind)
        except FileNotFoundError:  # a file went away in the middle
            continue
        if now == before:
            return now
        before = now
    msg = f"the {kind.word}s in {folder} are being changed; try again in a moment"
    raise StoreError(msg)


def put_models(files: dict[str, bytes], backup: Path, kind: Kind = MODEL) -> None:
    """Write files of models or layers into a backup that is being made, and read them again.

    Raises
    ------
    StoreError
        When it does not hold the same afterwards.
    """
    table = kind.table
    try:
        with closing(sqlite3.connect(backup)) as opened, opened:
            opened.execute(f"DROP TABLE IF EXISTS {table}")
            opened.execute(
                f"CREATE TABLE {table} (name TEXT NOT NULL PRIMARY KEY, content BLOB NOT NULL)"
            )
            opened.executemany(f"INSERT INTO {table} VALUES (?, ?)", sorted(files.items()))  # noqa: S608  # a constant
    except sqlite3.Error as wrong:
        msg = f"the {kind.word}s cannot be written into {backup}: {wrong}"
        raise StoreError(msg) from wrong
    if models_in(backup, kind) != files:
        msg = (
            f"the backup {backup} does not hold the {kind.word}s that are there; it was thrown away"
        )
        raise StoreError(msg)


def models_in(backup: Path, kind: Kind = MODEL) -> dict[str, bytes] | None:
    """The files of models or layers in a backup; None when it was made without any.

    Raises
    ------
    StoreError
        When it is damaged, or holds a name that no such file has.
    """
    try:
        address = f"{backup.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True)) as opened:
            there = opened.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (kind.table,))
            if there.fetchone() is None:
                return None
            rows = opened.execute(f"SELECT name, content FROM {kind.table}").fetchall()  # noqa: S608  # a constant
    except sqlite3.Error as wrong:
        msg = f"the {kind.word}s in {backup} cannot be read: {wrong}; use another backup"
        raise StoreError(msg) from wrong
    for name, content in rows:
        if not isinstance(name, str) or not is_name(name, kind) or not isinstance(content, bytes):
            what = f"{name!a:.60}, which is no file of a {kind.word}"
            msg = f"{backup} holds {what}; use another backup"
            raise StoreError(msg)
    return dict(rows)


def drop_models(file: Path) -> None:
    """Take models and layers out of a copy of a backup, so that a plain store is left."""
    with closing(sqlite3.connect(file)) as opened:
        for kind in KINDS:
            opened.execute(f"DROP TABLE IF EXISTS {kind.table}")
        opened.execute("VACUUM")


def lay_out(files: dict[str, bytes], folder: Path, kind: Kind = MODEL) -> None:
    """Write files of models or layers into a new folder, for good, and read them again.

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
    if _read(folder, kind) != ModelFiles(files):
        msg = f"the {kind.word}s that were written are not those of the backup; nothing was changed"
        raise StoreError(msg)


def is_name(name: str, kind: Kind = MODEL) -> bool:
    """Whether a name below the folder is one that the program gives to a file there."""
    return any(form.fullmatch(name) for form in kind.names)


def model_count(files: dict[str, bytes]) -> int:
    """How many models there are among files, without drafts."""
    return sum(name.endswith(".yaml") for name in files)


def _read(folder: Path, kind: Kind) -> ModelFiles:
    files, left_out = {}, []
    for path in _paths(folder, kind):
        name = path.relative_to(folder).as_posix()
        plain = path.is_file() and not path.is_symlink()
        if plain and is_name(name, kind) and path.stat().st_size <= LARGEST:
            files[name] = path.read_bytes()
        else:
            left_out.append(name)
    return ModelFiles(files, tuple(left_out))


def _paths(folder: Path, kind: Kind) -> list[Path]:
    """What lies in the folder and the one below, without the hidden files of a write cut short."""
    found: list[Path] = []
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if path.name == kind.below and path.is_dir() and not path.is_symlink():
            found += (draft for draft in sorted(path.iterdir()) if draft.name[0] != ".")
        elif path.name[0] != ".":
            found.append(path)
    return found
