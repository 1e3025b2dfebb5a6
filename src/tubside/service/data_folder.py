"""Where a shop's data lives: a folder of its own, or a PostgreSQL database."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.errors import StoreError
from tubside.service.shop_folder import (
    default_folder,
    home_folder,
    is_address,
    layers_folder,
    models_folder,
)
from tubside.store.folders import DATABASE
from tubside.store.naming import address_of
from tubside.store.opening import Store
from tubside.store.upgrading import open_store

__all__ = [
    "database_in",
    "default_folder",
    "home_folder",
    "is_address",
    "layers_folder",
    "models_folder",
    "open_data",
]


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
