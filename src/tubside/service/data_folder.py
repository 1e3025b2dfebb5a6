"""Where a shop's data lives: a folder of its own, or a PostgreSQL database."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.errors import StoreError
from tubside.store.naming import DATABASE, LAYERS, MODELS, address_of
from tubside.store.opening import Store
from tubside.store.upgrading import open_store


def default_folder() -> Path:
    """The folder used when none is named (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "tubside"


def open_data(place: str | Path, clock: Callable[[], datetime]) -> Store:
    """Open the data in a folder (made if absent), or at a ``postgresql://`` address.

    Brings an older database up to date; a SQLite one is backed up first. Close it
    with ``store.close()``.

    Raises
    ------
    StoreError
        When it cannot be opened, or was written by a newer program.
    """
    if is_address(place):
        return open_store(str(place), clock)
    file = database_in(Path(place))
    return open_store(address_of(file), clock)


def models_folder(place: str | Path) -> Path:
    """Where a shop's own models are: in its data folder, beside the database.

    With a database on a server they are in the default folder of this machine.
    """
    return home_folder(place) / MODELS


def layers_folder(place: str | Path) -> Path:
    """Where a shop's own changes on the packs are; beside its models."""
    return home_folder(place) / LAYERS


def home_folder(place: str | Path) -> Path:
    """Where a shop's files are: its data folder, or this machine's default one with a server."""
    return default_folder() if is_address(place) else Path(place)


def is_address(place: str | Path) -> bool:
    """Whether a place is the address of a server rather than a folder."""
    return isinstance(place, str) and "://" in place


def database_in(folder: Path) -> Path:
    """The database file of a data folder, both made for their owner only if absent.

    Raises
    ------
    StoreError
        When the folder cannot be made or written.
    """
    file = folder / DATABASE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        file.touch(mode=0o600)
    except OSError as wrong:
        msg = f"the data folder {folder} cannot be used: {wrong.strerror or wrong}"
        raise StoreError(msg) from wrong
    return file
