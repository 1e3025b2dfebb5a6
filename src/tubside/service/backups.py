"""Backups of a shop's data, and bringing one back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from tubside.errors import StoreError
from tubside.service.data_folder import home_folder, is_address, open_data
from tubside.store.backup import Backup, check_backup, write_backup
from tubside.store.content import Content
from tubside.store.folders import DATABASE
from tubside.store.naming import BACKUPS, dated
from tubside.store.restoring import Restored, restore_file, restore_server

__all__ = ["Backup", "Content", "Restored", "back_up", "check_backup", "restore"]


def back_up(place: str | Path, clock: Callable[[], datetime], file: Path | None = None) -> Backup:
    """Copy a shop's data, models and layers into one file while in use, and read it again.

    Without a file it goes into the folder ``backups`` of the data folder, or into the
    present folder when the data are on a server.

    Raises
    ------
    StoreError
        When there are no data, the file is there already, or the copy does not hold the
        same.
    """
    folder = Path() if is_address(place) else Path(place) / BACKUPS
    if not is_address(place) and not (Path(place) / DATABASE).is_file():
        msg = f"there are no data in {place}; name the folder that the server uses"
        raise StoreError(msg)
    store = open_data(place, clock)
    try:
        name = file or folder / dated("backup", clock())
        return write_backup(store.engine, name, home_folder(place))
    finally:
        store.close()


def restore(backup: Path, place: str | Path, clock: Callable[[], datetime]) -> Restored:
    """Bring a backup back, models, layers and all; what it replaces is kept under another name.

    Raises
    ------
    StoreError
        When the backup is damaged, the data are in use, or the server's database is not
        empty.
    """
    if is_address(place):
        return restore_server(backup, str(place), home_folder(place), clock)
    return restore_file(backup, Path(place) / DATABASE, clock)
